package answers

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/ingest/contract/cell"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
)

// GoneError says that the trials which an answer was made of are no longer kept.
type GoneError struct{ Answer string }

// WrongUse marks what another command line mends.
func (*GoneError) WrongUse() {}

func (e *GoneError) Error() string {
	return fmt.Sprintf("answer %s: the trials it was made of were swept with newer data; ask the same again, and freeze that", e.Answer)
}

// holds says how many trials an answer's snapshot still has, describing ones included.
func (f *Fleet) holds(ctx context.Context, s *Stored) (trials uint64, err error) {
	sql := question.Count(fmt.Sprintf("snapshot = %d", s.Mark.Snapshot))
	if err := f.store.Conn().QueryRow(ctx, sql).Scan(&trials); err != nil {
		return 0, fmt.Errorf("trials of an answer: %w", err)
	}
	if trials == 0 {
		return 0, &GoneError{s.ID}
	}
	return trials, nil
}

// Freeze keeps the data of an answer: its snapshot is not swept any more, so that the
// answer can be refitted. Who is forgotten leaves it all the same.
func (f *Fleet) Freeze(ctx context.Context, id string) (trials uint64, err error) {
	s, err := f.Answer(ctx, id)
	if err != nil {
		return 0, err
	}
	if trials, err = f.holds(ctx, s); err != nil {
		return 0, err
	}
	if err := f.put(ctx, "freeze an answer", question.Freeze(), []any{s.Mark.Snapshot, id, trials}); err != nil {
		return 0, err
	}
	return trials, nil
}

// frozen is how many trials a frozen answer had; ok is false where it is not frozen.
func (f *Fleet) frozen(ctx context.Context, id string) (trials uint64, ok bool, err error) {
	rows, err := f.store.Conn().Query(ctx, question.Frozen(), clickhouse.Named("v", id))
	if err != nil {
		return 0, false, fmt.Errorf("frozen answers: %w", err)
	}
	defer rows.Close()
	if rows.Next() {
		ok, err = true, rows.Scan(&trials)
	}
	return trials, ok, errors.Join(err, rows.Err())
}

// Refitted is an answer that was computed again from the data it was made of.
type Refitted struct {
	ID     string `json:"id"`
	Frozen bool   `json:"frozen"`
	// Trials of the data then and now: fewer where players were forgotten.
	Then  uint64 `json:"trials_then"`
	Now   uint64 `json:"trials_now"`
	Model string `json:"model"` // of the program now
	Was   string `json:"model_then"`
	// Most is by how many standard errors a term moved at most, and which.
	Most  float64 `json:"most_standard_errors"`
	Term  string  `json:"term"`
	Terms int     `json:"terms"`
	Same  bool    `json:"same"` // to a millionth of a standard error
}

// Refit computes a kept answer anew from its own snapshot and holds it against what
// was answered. What is kept stays as it is.
func (f *Fleet) Refit(ctx context.Context, id string, how Asking) (*Refitted, error) {
	s, err := f.Answer(ctx, id)
	if err != nil {
		return nil, err
	}
	if s.Answer == nil {
		return nil, fmt.Errorf("answer %s did not have enough to say: there is nothing to refit: %w", id, ErrNoAnswer)
	}
	r := &Refitted{ID: id, Model: fleet.Version, Was: s.Model}
	if r.Now, err = f.holds(ctx, s); err != nil {
		return nil, err
	}
	if r.Then, r.Frozen, err = f.frozen(ctx, id); err != nil {
		return nil, err
	}
	if !r.Frozen {
		r.Then = s.Mark.Trials
	}
	again, err := f.fit(ctx, s.Mark, s.Question, how)
	if err != nil {
		return nil, err
	}
	for _, e := range s.Answer.Fit.Terms {
		for _, n := range again.Fit.Terms {
			if n.Name != e.Name || !(e.SE > 0) {
				continue
			}
			r.Terms++
			if d := math.Abs(n.Value-e.Value) / e.SE; d > r.Most {
				r.Most, r.Term = d, e.Name
			}
		}
	}
	r.Same = r.Terms == len(s.Answer.Fit.Terms) && r.Most < 1e-6
	return r, nil
}

// WriteText says whether it came out the same.
func (r *Refitted) WriteText(w io.Writer) error {
	_, err := fmt.Fprintf(w, "answer %s, model %s then, %s now; %d trials then, %d now\n", r.ID, r.Was, r.Model, r.Then, r.Now)
	if r.Same {
		_, e := fmt.Fprintf(w, "refitted: all %d terms came out the same\n", r.Terms)
		return errors.Join(err, e)
	}
	_, e := fmt.Fprintf(w, "refitted: %s moved most, by %.3g standard errors\n", r.Term, r.Most)
	if r.Now < r.Then {
		_, more := fmt.Fprintf(w, "%d trials are gone: players were forgotten, or took their consent back\n", r.Then-r.Now)
		e = errors.Join(e, more)
	}
	return errors.Join(err, e)
}

// RowsCSV writes the rows that an answer's model saw, so that anybody can refit it: the
// outcome y with its sampling variance v, what may be compared (player, session, level),
// attributes in steps from the reference build, order, and traits as the model takes
// them. It returns how many there are.
func (f *Fleet) RowsCSV(ctx context.Context, w io.Writer, id string) (rows int, err error) {
	s, err := f.Answer(ctx, id)
	if err != nil {
		return 0, err
	}
	if s.Answer == nil {
		return 0, ErrNoAnswer
	}
	if _, err := f.holds(ctx, s); err != nil {
		return 0, err
	}
	d, o := s.Answer.Design, s.Answer.Outcome
	want, err := f.want(s.Question)
	if err != nil {
		return 0, err
	}
	want.wide = true
	out := csv.NewWriter(w)
	head := []string{"player", "session", "level", "studio", "build", "head", "shaft", "y", "v"}
	for _, a := range d.Attributes {
		head = append(head, a.Name())
	}
	for _, a := range d.Curved {
		head = append(head, a.Name()+"_curve")
	}
	if d.Order {
		head = append(head, "warm_up", "fatigue", "swap")
	}
	if err := out.Write(append(head, d.Traits...)); err != nil {
		return 0, err
	}
	var before *fleet.Trial
	err = f.each(ctx, s.Mark.Snapshot, s.Question.Filter, want, func(t *fleet.Trial) error {
		from := before
		if from != nil && (from.Player != t.Player || from.Session != t.Session) {
			from = nil
		}
		copied := *t
		before = &copied
		y, v, ok := o.Value(t, s.Answer.Noise)
		columns, bad := d.Columns(t.Attributes)
		traits := map[string]float64{}
		for i, name := range fleet.TraitNames {
			traits[name] = t.Traits[i]
		}
		z, unknown := d.Standard(traits)
		if !ok || bad != nil || unknown != nil {
			return nil // does not count in the model either
		}
		if d.Order {
			order := d.OrderColumns(t, from)
			copy(columns[len(columns)-3:], order[:])
		}
		row := []string{t.Player, t.Session, strconv.Itoa(t.Level), t.Studio, t.Build, t.Head, t.Shaft}
		for _, x := range slices.Concat([]float64{y, v}, columns, z) {
			row = append(row, strconv.FormatFloat(x, 'g', 12, 64))
		}
		rows++
		cell.Row(row)
		return out.Write(row)
	})
	out.Flush()
	return rows, errors.Join(err, out.Error())
}
