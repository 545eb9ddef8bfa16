package answers

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/flight"
	"fairlead/processors/hub/store/question"
)

// What a studio has of its head office's answers.

// priorBefore is the answer that a visit which began at an instant is judged with: the
// studio's own or its head office's, whichever more players stand behind, and never a
// mixture. The head office's fit has the studio's own trials in it, each once, as one
// studio among others; to weigh its answer and the studio's own together would count
// them twice.
func (f *Fleet) priorBefore(ctx context.Context, q Question, before time.Time) (*Stored, error) {
	own, theirs, why, err := f.bothBefore(ctx, q, before)
	if err != nil {
		return nil, err
	}
	if s := more(own, theirs); s != nil {
		return s, nil
	}
	return nil, why
}

// bothBefore are the studio's own answer and its head office's, nil where there is
// none; why says why there is no own one.
func (f *Fleet) bothBefore(ctx context.Context, q Question, before time.Time) (own, theirs *Stored, why *NoPriorError, err error) {
	own, err = f.newestBefore(ctx, q, before)
	if err != nil && !errors.As(err, &why) {
		return nil, nil, nil, err
	}
	theirs, err = f.officeBefore(ctx, q, before)
	if err != nil && !errors.Is(err, ErrNoAnswer) {
		return nil, nil, nil, err
	}
	return own, theirs, why, nil
}

// more is the answer that more players stand behind; of two alike the studio's own.
func more(own, theirs *Stored) *Stored {
	switch {
	case theirs == nil:
		return own
	case own == nil || own.Answer == nil || own.Players < theirs.Players:
		return theirs
	}
	return own
}

// officeBefore is the head office's newest answer to a question that was here before
// an instant, by the studio's own clock: what was here can't know of what was hit
// after, whatever the time at the head office. ErrNoAnswer: none was.
func (f *Fleet) officeBefore(ctx context.Context, q Question, before time.Time) (*Stored, error) {
	return f.ofOffice(ctx, question.PriorBefore(), clickhouse.Named("v", q.Hash()), clickhouse.Named("m", fleet.Version),
		clickhouse.Named("b", fmt.Sprint(before.UnixMilli())), clickhouse.Named("f", flight.Stamp()))
}

// ofOffice reads one of the head office's answers.
func (f *Fleet) ofOffice(ctx context.Context, sql string, args ...any) (*Stored, error) {
	rows, err := f.store.Conn().Query(ctx, sql, args...)
	if err != nil {
		return nil, fmt.Errorf("answers of the head office: %w", err)
	}
	defer rows.Close()
	if !rows.Next() {
		return nil, cmp.Or(rows.Err(), ErrNoAnswer)
	}
	var body string
	var studios uint64
	o := &Origin{}
	if err := rows.Scan(&body, &o.Name, &studios, &o.Received, &o.Signed); err != nil {
		return nil, fmt.Errorf("answers of the head office: %w", err)
	}
	s := &Stored{}
	if err := json.Unmarshal([]byte(body), s); err != nil {
		return nil, fmt.Errorf("an answer of the head office: %w", err)
	}
	s.HeadOffice, s.Studios = o, studios
	return s, rows.Err()
}

// keepPrior keeps what a head office gave, from now on.
func (f *Fleet) keepPrior(ctx context.Context, s *Sent, signed string) error {
	a := *s.Answer
	a.HeadOffice = nil
	body, err := json.Marshal(a)
	if err != nil {
		return fmt.Errorf("keep an answer of the head office: %w", err)
	}
	now := f.now().UTC()
	err = f.putPrior(ctx, a.ID, a.QuestionHash, a.Model, a.Question.Filter.Category, a.Question.Outcome, s.Office, a.Players, a.Studios,
		a.Asked.UTC(), a.Mark.Inserted.UTC(), now, signed, string(body))
	if err != nil {
		return err
	}
	err = f.store.Conn().Exec(ctx, question.OldPriors(), clickhouse.Named("v", a.QuestionHash), clickhouse.Named("id", a.ID),
		clickhouse.Named("b", fmt.Sprint(now.Add(-priorsFor).UnixMilli())))
	if err != nil {
		f.log.Warn("old answers of the head office stay", "error", err)
	}
	return nil
}

// priorsFor is how long an answer stays after a newer one came: longer than a visit.
const priorsFor = 14 * 24 * time.Hour

func (f *Fleet) putPrior(ctx context.Context, row ...any) error {
	return f.put(ctx, "keep an answer of the head office", question.KeepPrior(), row)
}

// havePriors are the ids of the head office's answers that are here.
func (f *Fleet) havePriors(ctx context.Context) (map[string]bool, error) {
	rows, err := f.store.Conn().Query(ctx, question.PriorIDs())
	if err != nil {
		return nil, fmt.Errorf("answers of the head office: %w", err)
	}
	defer rows.Close()
	out := map[string]bool{}
	for rows.Next() {
		var id string
		if err := rows.Scan(&id); err != nil {
			return nil, fmt.Errorf("answers of the head office: %w", err)
		}
		out[id] = true
	}
	return out, rows.Err()
}

// OfficeAsked is how it went when the head office was asked for answers.
type OfficeAsked struct {
	At      time.Time `json:"at,omitzero"`    // when it was last asked
	Heard   time.Time `json:"heard,omitzero"` // when it last answered
	Trouble string    `json:"trouble,omitempty"`
	Refused []string  `json:"refused,omitempty"` // why answers that it gave are not used
}

// stateRow names the row of fleet_priors that holds an OfficeAsked.
const stateRow = "state"

func (f *Fleet) keepAsked(ctx context.Context, a OfficeAsked) error {
	body, err := json.Marshal(a)
	if err != nil {
		return err
	}
	return f.putPrior(ctx, stateRow, stateRow, "", "", "", "", uint64(0), uint64(0), a.At, a.At, f.now().UTC(), "", string(body))
}

// asked is what keepAsked kept last.
func (f *Fleet) asked(ctx context.Context) (a OfficeAsked, err error) {
	rows, err := f.store.Conn().Query(ctx, question.PriorOne(), clickhouse.Named("v", stateRow))
	if err != nil {
		return a, fmt.Errorf("answers of the head office: %w", err)
	}
	defer rows.Close()
	if !rows.Next() {
		return a, rows.Err()
	}
	var body, office, signed string
	var studios uint64
	var at time.Time
	if err := rows.Scan(&body, &office, &studios, &at, &signed); err != nil {
		return a, fmt.Errorf("answers of the head office: %w", err)
	}
	return a, json.Unmarshal([]byte(body), &a)
}
