package answers

import (
	"context"
	"fmt"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
)

// Against is build against build, with what it was asked of.
type Against struct {
	Mark       Mark              `json:"mark"`
	Filter     Filter            `json:"filter"`
	Comparison *fleet.Comparison `json:"comparison,omitempty"`
	Refused    string            `json:"refused,omitempty"`
	Notes      []fleet.Warning   `json:"notes,omitempty"`
}

// Compare asks what build b does where a was hit too. Builds are named by
// their keys; UnknownBuildError names one that the fleet never hit.
func (f *Fleet) Compare(ctx context.Context, outcome string, filter Filter, a, b string, how Asking) (*Against, error) {
	if err := (Question{Outcome: outcome, Filter: filter}).Check(); err != nil {
		return nil, err
	}
	mark, err := f.snapshot(ctx, how)
	if err != nil {
		return nil, err
	}
	for _, build := range []string{a, b} {
		var n uint64
		sql := question.Count(Filter{Category: filter.Category}.where(mark.Snapshot) + " AND build = " + quote(build))
		if err := f.store.Conn().QueryRow(ctx, sql).Scan(&n); err != nil {
			return nil, fmt.Errorf("look for build %s: %w", build, err)
		}
		if n == 0 {
			return nil, &UnknownBuildError{Build: build, Category: filter.Category}
		}
	}
	out := &Against{Mark: mark, Filter: filter}
	// Only sessions that hit both can say anything; traits play no part, so the
	// trials that describe players count.
	both := filter
	both.both = [2]string{a, b}
	want, err := f.want(Question{Outcome: outcome, Filter: filter})
	if err != nil {
		return nil, err
	}
	want.describing = true
	trials, note, err := f.sample(ctx, mark.Snapshot, both, want, mostTrials)
	if err != nil {
		return nil, err
	}
	if note != nil {
		out.Notes = append(out.Notes, *note)
	}
	out.Comparison, err = fleet.Compare(ctx, trials, outcome, a, b)
	if m, ok := refusal(err); ok {
		out.Refused, err = m, nil
	}
	return out, err
}

// UnknownBuildError says that no trial of the fleet was hit with a build.
type UnknownBuildError struct{ Build, Category string }

// WrongUse marks what another command line mends.
func (*UnknownBuildError) WrongUse() {}

func (e *UnknownBuildError) Error() string {
	return fmt.Sprintf("build %q: no %s trial of the fleet was hit with it; list builds with `fairlead fleet compare --list`", e.Build,
		e.Category)
}

// Sheet is the answer to one attribute under every reasonable choice.
type Sheet struct {
	Mark       Mark                  `json:"mark"`
	Question   Question              `json:"question"`
	Attribute  string                `json:"attribute"`
	Rows       []fleet.SheetRow      `json:"rows"`
	Groups     []fleet.GroupEffect   `json:"groups"`
	Kinds      []fleet.Heterogeneity `json:"heterogeneity"`
	Exceptions []fleet.Exception     `json:"exceptions"`
	Notes      []fleet.Warning       `json:"notes,omitempty"`
}

// sheetTrials bounds a robustness sheet, which fits dozens of times.
const sheetTrials = 60_000

// Robustness asks about one attribute under every reasonable choice.
func (f *Fleet) Robustness(ctx context.Context, q Question, attribute string, how Asking) (*Sheet, error) {
	if err := q.Check(); err != nil {
		return nil, err
	}
	a, ok := fleet.ParseAttribute(attribute)
	if !ok {
		return nil, Question{Outcome: q.Outcome, Attributes: []string{attribute}}.Check()
	}
	mark, err := f.snapshot(ctx, how)
	if err != nil {
		return nil, err
	}
	if err := f.CheckNames(ctx, mark, q.Filter); err != nil {
		return nil, err
	}
	want, err := f.want(q)
	if err != nil {
		return nil, err
	}
	trials, note, err := f.sample(ctx, mark.Snapshot, q.Filter, want, sheetTrials)
	if err != nil {
		return nil, err
	}
	out := &Sheet{Mark: mark, Question: q, Attribute: attribute}
	if note != nil {
		out.Notes = append(out.Notes, *note)
	}
	m := q.model()
	m.Workers = f.workers
	if q.Attributes == nil {
		var near nearness
		for i := range trials {
			near.add(&trials[i])
		}
		kept, notes := near.keep(fleet.AllAttributes())
		out.Notes = append(out.Notes, notes...)
		if len(notes) > 0 {
			m.Attributes = kept
		}
	}
	variations := fleet.Variations()
	how.say("asking %d times over %d trials, and leaving everyone out in turn", len(variations)+1, len(trials))
	if out.Rows, err = fleet.Robustness(ctx, trials, m, a, variations); err != nil {
		return nil, err
	}
	return out, out.apart(ctx, trials, m, a)
}

// mostExceptions are named at either end.
const mostExceptions = 10

// apart adds the effect by studio, bay, fitter, ball and month, and the players
// who gain and lose most.
func (s *Sheet) apart(ctx context.Context, trials []fleet.Trial, m fleet.Question, a fleet.Attribute) error {
	base, err := fleet.Ask(ctx, trials, m)
	if _, ok := refusal(err); ok {
		return nil // the first row says so
	}
	if err != nil {
		return err
	}
	if s.Groups, s.Kinds, err = fleet.ByGroup(ctx, base, trials, a); err != nil {
		if _, ok := refusal(err); ok {
			return nil
		}
		return err
	}
	s.Exceptions, err = base.Exceptions(a, mostExceptions)
	return err
}
