package group

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/nats-io/nats.go"

	"fairlead/processors/hub/store"
)

// Merge is what a studio's store and its head office's say of the studio's rows,
// by table and day.
type Merge struct {
	Studio string `json:"studio"`
	Days   []Both `json:"days"`
}

// Both is a table's day (UTC) on both sides; an absent side has no rows.
type Both struct {
	Table  string `json:"table"`
	Day    string `json:"day"`
	Here   Side   `json:"here"`
	Office Side   `json:"head_office"`
	Alike  bool   `json:"alike"`
}

// Side is what rows amount to.
type Side struct {
	Rows uint64 `json:"rows"`
	Sum  uint64 `json:"sum"`
}

// Compare holds both sides against each other.
func Compare(studio string, here, office []store.DaySum) Merge {
	type key struct{ table, day string }
	all := map[key]*Both{}
	at := func(d store.DaySum) *Both {
		k := key{d.Table, d.Day}
		if all[k] == nil {
			all[k] = &Both{Table: d.Table, Day: d.Day}
		}
		return all[k]
	}
	for _, d := range here {
		at(d).Here = Side{d.Rows, d.Sum}
	}
	for _, d := range office {
		at(d).Office = Side{d.Rows, d.Sum}
	}
	m := Merge{Studio: studio, Days: []Both{}}
	for _, b := range all {
		b.Alike = b.Here == b.Office
		m.Days = append(m.Days, *b)
	}
	slices.SortFunc(m.Days, func(a, b Both) int { return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Table, b.Table)) })
	return m
}

// Alike says whether both sides have the same rows.
func (m Merge) Alike() bool {
	return !slices.ContainsFunc(m.Days, func(b Both) bool { return !b.Alike })
}

// WriteText prints what differs, and how much is alike.
func (m Merge) WriteText(w io.Writer) error {
	alike, rows := 0, uint64(0)
	for _, b := range m.Days {
		if b.Alike {
			alike, rows = alike+1, rows+b.Here.Rows
			continue
		}
		word := "other content"
		switch here, there := b.Here.Rows, b.Office.Rows; {
		case here > there:
			word = fmt.Sprintf("%d not there yet", here-there)
		case here < there:
			word = fmt.Sprintf("%d not here any more: was this studio set back to an older copy?", there-here)
		}
		_, err := fmt.Fprintf(w, "%s  %-13s %8d here %8d at the head office: %s\n", b.Day, b.Table, b.Here.Rows, b.Office.Rows, word)
		if err != nil {
			return err
		}
	}
	end := "nothing differs"
	if !m.Alike() {
		end = "what was stored a moment ago may be on its way; see `fairlead forward show`, and ask again"
	}
	_, err := fmt.Fprintf(w, "studio %s: %d of %d days of tables are the same on both sides (%d rows); %s\n", m.Studio, alike,
		len(m.Days), rows, end)
	return err
}

// Check asks both sides and compares them.
func Check(ctx context.Context, office *nats.Conn, own *store.Store, studio string, wait time.Duration) (Merge, error) {
	asking, cancel := context.WithTimeout(ctx, wait)
	defer cancel()
	if err := office.FlushWithContext(asking); err != nil {
		return Merge{}, fmt.Errorf("the head office's broker can't be reached: %w", err)
	}
	there, err := Ask[[]store.DaySum](asking, office, studio, AskSums)
	if err != nil {
		return Merge{}, err
	}
	here, err := own.DaySums(ctx, studio)
	if err != nil {
		return Merge{}, err
	}
	return Compare(studio, here, there), nil
}
