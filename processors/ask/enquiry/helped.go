package enquiry

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/processors/ask/answers"
	"fairlead/processors/hub/store/question"
)

// SureOfGain is the chance of a gain from which on a player is asked back for it.
const SureOfGain = 0.9

// Helped is a player whom a step would help, by a kept answer to 'whom'.
type Helped struct {
	Player, Studio string
	Step           string  // kind of club, outcome and step, in words
	Chance         float64 // of a gain, 0 to 1
	Asked          time.Time
	Answer         string // its id
}

// HelpedMost lists the players of a studio whom the answers that were asked since an
// instant would help with a chance of SureOfGain or more: of each the step of which one
// may be surest, the surest players first. It computes nothing anew.
func HelpedMost(ctx context.Context, f *answers.Fleet, studio string, since time.Time) ([]Helped, error) {
	rows, err := f.Store().Conn().Query(ctx, question.Whom(), clickhouse.Named("b", fmt.Sprint(since.UnixMilli())))
	if err != nil {
		return nil, fmt.Errorf("whom kept answers would help: %w", err)
	}
	defer rows.Close()
	best := map[string]Helped{}
	for rows.Next() {
		var body string
		if err := rows.Scan(&body); err != nil {
			return nil, fmt.Errorf("whom kept answers would help: %w", err)
		}
		t := &Table{}
		if err := json.Unmarshal([]byte(body), t); err != nil {
			return nil, fmt.Errorf("whom kept answers would help: %w", err)
		}
		for _, h := range t.helped(studio) {
			if before, ok := best[h.Player]; !ok || h.Chance > before.Chance {
				best[h.Player] = h
			}
		}
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("whom kept answers would help: %w", err)
	}
	return slices.SortedFunc(maps.Values(best), func(a, b Helped) int {
		return cmp.Or(cmp.Compare(b.Chance, a.Chance), strings.Compare(a.Player, b.Player))
	}), nil
}

func (t *Table) helped(studio string) (out []Helped) {
	text := func(row int, column string) string {
		for i, c := range t.Columns {
			if c.Name == column && i < len(t.Rows[row]) {
				return t.Rows[row][i].Text
			}
		}
		return ""
	}
	for i := range t.Rows {
		h := Helped{Player: text(i, "player"), Studio: text(i, "studio"), Chance: t.Value(i, "chance"), Asked: t.Asked, Answer: t.ID}
		_, h.Step, _ = strings.Cut(t.Title, ", ")
		if h.Player != "" && h.Studio == studio && h.Chance >= SureOfGain {
			out = append(out, h)
		}
	}
	return out
}
