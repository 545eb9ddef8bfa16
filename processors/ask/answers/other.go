package answers

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store"
	"fairlead/processors/hub/store/question"
)

// Other is an answer of another kind than effects, as it is kept: its body is its own.
type Other struct {
	ID, Kind, Hash, Label string
	Category, Outcome     string
	Mark                  Mark
	Asked                 time.Time
	Seconds               float64
	Trials, Players       uint64
	Refused               string
	Body                  []byte
}

// Identity names an answer of another kind: the same question of the same data has one.
func Identity(kind, hash string, m Mark) string {
	return digest(kind, hash, fleet.Version, snapshotVersion, m.Inserted.UnixMilli(), m.Version, m.Flight)
}

// HashOf names a question of another kind.
func HashOf(kind string, question []byte) string { return digest(kind, string(question)) }

// KeepOther keeps it.
func (f *Fleet) KeepOther(ctx context.Context, o Other) error {
	return f.put(ctx, "keep an answer", question.KeepAnswer(), []any{o.ID, o.Hash, o.Kind, fleet.Version, o.Category, o.Outcome, o.Label,
		o.Asked, o.Seconds, o.Mark.Snapshot, o.Mark.Inserted, o.Mark.Version, o.Trials, o.Players, o.Refused, string(o.Body)})
}

// OtherBody is the body of a kept answer, of whatever kind, or ErrNoAnswer.
func (f *Fleet) OtherBody(ctx context.Context, id string) (string, error) {
	rows, err := f.store.Conn().Query(ctx, question.Answer(), clickhouse.Named("v", id))
	if err != nil {
		return "", fmt.Errorf("kept answers: %w", err)
	}
	defer rows.Close()
	if !rows.Next() {
		return "", errors.Join(rows.Err(), ErrNoAnswer)
	}
	var body string
	if err := rows.Scan(&body); err != nil {
		return "", fmt.Errorf("kept answers: %w", err)
	}
	return body, nil
}

// Of is the snapshot that a question is to be asked of.
func (f *Fleet) Of(ctx context.Context, a Asking) (Mark, error) { return f.snapshot(ctx, a) }

// Now is the clock.
func (f *Fleet) Now() time.Time { return f.now() }

// Store is where the trials stand.
func (f *Fleet) Store() *store.Store { return f.store }

// Trials loads the trials that a question is about, those that describe players with
// describing; of more than are held at once one player in so many, and says so.
func (f *Fleet) Trials(ctx context.Context, m Mark, q Question, describing bool) ([]fleet.Trial, *fleet.Warning, error) {
	want, err := f.want(q)
	if err != nil {
		return nil, nil, err
	}
	want.describing = describing
	if err := want.know(ctx, f, m.Snapshot, q); err != nil {
		return nil, nil, err
	}
	return f.sample(ctx, m.Snapshot, q.Filter, want, mostTrials/3)
}

// Told is the attributes of a question of a category that can be told apart, over
// trials in the order hit, with what was left out.
func Told(trials []fleet.Trial) ([]fleet.Attribute, []fleet.Warning) {
	var near nearness
	for i := range trials {
		near.add(&trials[i])
	}
	var known []fleet.Attribute
	for _, a := range fleet.AllAttributes() {
		n := 0
		for i := range trials {
			if x := trials[i].Attributes[a]; x == x {
				n++
			}
		}
		if 5*n >= 4*len(trials) {
			known = append(known, a)
		}
	}
	return near.keep(known)
}

// Refusal is why there is not enough to say, if that is what an error says.
func Refusal(err error) (string, bool) { return refusal(err) }
