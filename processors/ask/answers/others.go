package answers

import (
	"context"
	"fmt"

	"fairlead/processors/golf/fleet"
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
		sql := fmt.Sprintf("SELECT count() FROM fleet_trials WHERE %s AND build = %s", Filter{Category: filter.Category}.where(mark.Snapshot), quote(build))
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

func (e *UnknownBuildError) Error() string {
	return fmt.Sprintf("build %q: no %s trial of the fleet was hit with it; list builds with `fairlead fleet compare --list`", e.Build, e.Category)
}

// Sheet is the answer to one attribute under every reasonable choice.
type Sheet struct {
	Mark      Mark             `json:"mark"`
	Question  Question         `json:"question"`
	Attribute string           `json:"attribute"`
	Rows      []fleet.SheetRow `json:"rows"`
	Notes     []fleet.Warning  `json:"notes,omitempty"`
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
	variations := fleet.Variations(trials)
	// Dozens of studios left out one by one say little that ten do not.
	variations, dropped := thin(variations, 12)
	if dropped != "" {
		out.Notes = append(out.Notes, fleet.Warning{Code: "thinned", Text: dropped})
	}
	how.say("asking %d times over %d trials", len(variations)+1, len(trials))
	out.Rows, err = fleet.Robustness(ctx, trials, m, a, variations)
	return out, err
}

// thin keeps the first most variations of a group.
func thin(all []fleet.Variation, most int) ([]fleet.Variation, string) {
	seen, dropped := map[string]int{}, map[string]int{}
	var out []fleet.Variation
	text := ""
	for _, v := range all {
		if seen[v.Group]++; seen[v.Group] > most {
			dropped[v.Group]++
			continue
		}
		out = append(out, v)
	}
	for _, g := range []string{"ball", "bay", "studio", "fitter"} {
		if n := dropped[g]; n > 0 {
			if text != "" {
				text += "; "
			}
			text += fmt.Sprintf("%d more %ss were not left out in turn", n, g)
		}
	}
	return out, text
}
