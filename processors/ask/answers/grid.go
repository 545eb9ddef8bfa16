package answers

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
)

// gridLine is one filter that is answered every night, for each category and
// each of its outcomes.
type gridLine struct {
	name string
	// filters makes the line's filters from what a snapshot holds of a category.
	filters func(h holding) []Filter
}

// grid is the declared grid. What is not in it is a job of its own.
var grid = []gridLine{
	{"all players", func(holding) []Filter { return []Filter{{}} }},
	{"the last year", func(h holding) []Filter {
		from := h.last.AddDate(-1, 0, 0)
		if h.first.After(from) {
			return nil // it is all of them
		}
		return []Filter{{From: from.Format(time.DateOnly)}}
	}},
	{"thirds by clubhead speed", func(h holding) []Filter {
		if !(h.slow < h.fast) || h.players < 3*fewestPlayers {
			return nil
		}
		slow, fast := h.slow, h.fast
		return []Filter{
			{Bands: []Band{{Trait: "speed_mps", High: &slow}}},
			{Bands: []Band{{Trait: "speed_mps", Low: &slow, High: &fast}}},
			{Bands: []Band{{Trait: "speed_mps", Low: &fast}}},
		}
	}},
	{"each studio", func(h holding) []Filter {
		// A group of a hundred studios would make the night too short.
		if len(h.studios) < 2 || len(h.studios) > 12 {
			return nil
		}
		var out []Filter
		for _, s := range h.studios {
			out = append(out, Filter{Studios: []string{s}})
		}
		return out
	}},
}

// fewestPlayers is how many players a part of the fleet must have to be asked
// about on its own, unasked.
const fewestPlayers = 40

// holding is what a snapshot has of a category.
type holding struct {
	category    string
	trials      uint64
	players     uint64
	first, last time.Time
	slow, fast  float64  // thirds of the players' clubhead speed
	studios     []string // with enough players
}

// holdings looks at what there is, by category.
func (f *Fleet) holdings(ctx context.Context, m Mark) ([]holding, error) {
	var out []holding
	for _, c := range glossary.AirborneNames() {
		h := holding{category: c}
		sql := question.Holding(Filter{Category: c}.where(m.Snapshot))
		if err := f.store.Conn().QueryRow(ctx, sql).Scan(&h.trials, &h.players, &h.first, &h.last); err != nil {
			return nil, fmt.Errorf("what the fleet holds: %w", err)
		}
		if h.trials == 0 {
			continue
		}
		sql = question.Speeds(fmt.Sprintf("snapshot = %d AND category = %s", m.Snapshot, quote(c)))
		if err := f.store.Conn().QueryRow(ctx, sql).Scan(&h.slow, &h.fast); err != nil {
			return nil, fmt.Errorf("what the fleet holds: %w", err)
		}
		// Rounded, so that a night's few new players do not move the bands.
		h.slow, h.fast = math.Round(h.slow), math.Round(h.fast)
		rows, err := f.store.Conn().Query(ctx, question.Studios(Filter{Category: c}.where(m.Snapshot), fewestPlayers))
		if err != nil {
			return nil, fmt.Errorf("what the fleet holds: %w", err)
		}
		for rows.Next() {
			var s string
			if err := rows.Scan(&s); err != nil {
				rows.Close()
				return nil, fmt.Errorf("what the fleet holds: %w", err)
			}
			h.studios = append(h.studios, s)
		}
		rows.Close()
		if err := rows.Err(); err != nil {
			return nil, fmt.Errorf("what the fleet holds: %w", err)
		}
		out = append(out, h)
	}
	return out, nil
}

// OutcomesOf are the outcomes of a category that the grid asks about: the
// primary ones first, then what is shown beside them.
func OutcomesOf(category string) []string {
	c := glossary.Category(category)
	out := fleet.Primary(c)
	for _, judged := range []bool{true, false} { // by something; what no category is judged by stands last
		for _, o := range glossary.FleetOutcomes() {
			if o.Asked(c) && len(o.First)+len(o.Second) > 0 == judged && !slices.Contains(out, o.Fleet.Name) {
				out = append(out, o.Fleet.Name)
			}
		}
	}
	return out
}

// Grid is tonight's questions for a snapshot, the most asked-for first.
func (f *Fleet) Grid(ctx context.Context, m Mark) ([]Question, error) {
	held, err := f.holdings(ctx, m)
	if err != nil {
		return nil, err
	}
	var out []Question
	for _, line := range grid {
		for _, h := range held {
			for _, filter := range line.filters(h) {
				filter.Category = h.category
				outcomes := OutcomesOf(h.category)
				if line.name == "each studio" {
					outcomes = fleet.Primary(glossary.Category(h.category))
				}
				for _, o := range outcomes {
					out = append(out, Question{Outcome: o, Filter: filter})
				}
			}
		}
	}
	return out, nil
}
