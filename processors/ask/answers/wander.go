package answers

import (
	"context"
	"errors"
	"fmt"
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
	outcome glossary.Name
	measure string
}{
	{glossary.Carry, "carry"}, {glossary.BallSpeed, "carry"}, {glossary.Launch, "launch"}, {glossary.Landing, "launch"},
	{glossary.Spin, "spin"}, {glossary.Start, "direction"}, {glossary.Curve, "direction"}, {glossary.Offline, "direction"},
}

// leastWander is the least that is taken for a player's, whatever the fleet's say: one
// who wanders more than others do gets false verdicts, one who wanders less needs some
// more runs.
const leastWander = evidence.Wander / 2

// wander learns from the newest snapshot how far players' levels move from run to run
// with one club, of rows from before an instant; nothing where too few came back to one.
func (f *Fleet) wander(ctx context.Context, category string, before time.Time) ([]*event.RunWander, error) {
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
	of := map[string][]fleet.Repeats{}
	for rows.Next() {
		var r fleet.Repeats
		var measure string
		var runs uint64
		if err := rows.Scan(&r.Player, &measure, &runs, &r.Shots, &r.SquaredRuns, &r.Between, &r.Within, &r.Degrees); err != nil {
			return nil, fmt.Errorf("clubs that were hit in several runs: %w", err)
		}
		r.Runs = int(runs)
		of[measure] = append(of[measure], r)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("clubs that were hit in several runs: %w", err)
	}
	var out []*event.RunWander
	for _, w := range wanderOf {
		if _, judged := evidence.Margin(glossary.Category(category), w.outcome); !judged {
			continue
		}
		if learnt, ok := fleet.LearnWander(of[w.measure], evidence.Wander); ok {
			out = append(out, &event.RunWander{Outcome: string(w.outcome), Players: uint64(learnt.Players),
				Share: min(max(learnt.Share, leastWander), evidence.MostWander)})
		}
	}
	return out, nil
}
