package answers

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
)

// wanderOf says by which measure of the fleet's rows a mean's wander is known: what a
// ball does late goes with what it did early.
var wanderOf = []struct {
	outcome, measure glossary.Name
}{
	{glossary.Carry, "carry"}, {glossary.BallSpeed, "carry"}, {glossary.Launch, "launch"}, {glossary.Landing, "launch"},
	{glossary.Spin, "spin"}, {glossary.Start, "direction"}, {glossary.Curve, "direction"}, {glossary.Offline, "direction"},
}

// leastWander is the least that is taken for a player's, whatever the fleet's say: one
// who wanders more than others do gets false verdicts, one who wanders less needs some
// more runs.
const leastWander = evidence.Wander / 2

// Wander is how far players' levels move from run to run with one club, as a share of
// their shot-to-shot spread, and of how many players that was learnt.
type Wander struct {
	Outcome string  `json:"outcome"`
	Share   float64 `json:"share"`
	Players uint64  `json:"players"`
}

// wrong says what of a wander that was given can't be.
func (w Wander) wrong() bool {
	return !slices.ContainsFunc(wanderOf, func(o struct{ outcome, measure glossary.Name }) bool { return string(o.outcome) == w.Outcome }) ||
		!(w.Share >= leastWander && w.Share <= evidence.MostWander) || w.Players == 0
}

// wanderWith is the outcome whose answer takes what a head office's fleet says of wander
// along to its studios.
const wanderWith = "carry"

// wander is how far players' levels move, of what was known before an instant: by the
// studio's own players or by the head office's, whichever are more, outcome by outcome,
// and never by both, for the studio's are among the head office's.
func (f *Fleet) wander(ctx context.Context, category string, before time.Time) (out []*event.RunWander, err error) {
	own, err := f.wandered(ctx, category, before)
	if err != nil {
		return nil, err
	}
	s, err := f.officeBefore(ctx, Question{Outcome: wanderWith, Filter: Filter{Category: category}}, before)
	if err != nil && !errors.Is(err, ErrNoAnswer) {
		return nil, err
	}
	best := map[string]Wander{}
	for _, w := range own {
		best[w.Outcome] = w
	}
	if s != nil {
		for _, w := range s.Wanders {
			if _, judged := evidence.Margin(glossary.Category(category), glossary.Name(w.Outcome)); judged && w.Players > best[w.Outcome].Players {
				best[w.Outcome] = w
			}
		}
	}
	for _, o := range wanderOf {
		if w, ok := best[string(o.outcome)]; ok {
			out = append(out, &event.RunWander{Outcome: w.Outcome, Share: w.Share, Players: w.Players})
		}
	}
	return out, nil
}

// wandered learns it from the newest snapshot, of rows from before an instant; nothing
// where too few came back to a club.
func (f *Fleet) wandered(ctx context.Context, category string, before time.Time) ([]Wander, error) {
	mark, err := f.Latest(ctx)
	if errors.Is(err, ErrNoSnapshot) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	rows, err := f.store.Conn().Query(ctx, question.Repeats(mark.Snapshot),
		clickhouse.Named("c", category), clickhouse.Named("b", fmt.Sprint(before.UnixMilli())))
	if err != nil {
		return nil, fmt.Errorf("clubs that were hit in several runs: %w", err)
	}
	defer rows.Close()
	of := map[glossary.Name][]fleet.Repeats{}
	for rows.Next() {
		var r fleet.Repeats
		var measure string
		var runs uint64
		if err := rows.Scan(&r.Player, &measure, &runs, &r.Shots, &r.SquaredRuns, &r.Between, &r.Within, &r.Degrees); err != nil {
			return nil, fmt.Errorf("clubs that were hit in several runs: %w", err)
		}
		r.Runs = int(runs)
		of[glossary.Name(measure)] = append(of[glossary.Name(measure)], r)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("clubs that were hit in several runs: %w", err)
	}
	var out []Wander
	for _, w := range wanderOf {
		if _, judged := evidence.Margin(glossary.Category(category), w.outcome); !judged {
			continue
		}
		if learnt, ok := fleet.LearnWander(of[w.measure], evidence.Wander); ok {
			out = append(out, Wander{Outcome: string(w.outcome), Players: uint64(learnt.Players),
				Share: min(max(learnt.Share, leastWander), evidence.MostWander)})
		}
	}
	return out, nil
}
