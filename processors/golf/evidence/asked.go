package evidence

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit/table"
	"fairlead/processors/golf/dispersion"
)

// Asked is what is asked of a baseline's file of shots and a candidate's.
type Asked struct {
	Category    glossary.Category
	Options     Options
	AreaPrior   *dispersion.AreaPrior
	Left        bool // a left-handed player: mirror across the target line
	Instruction bool // the player was told to change something between the two
}

// Told is the answer, with what to hit next and the account for scripts.
type Told struct {
	Report  Report
	Plan    Plan
	Account Account
}

// Check says what cannot be asked. WarmUp and Settle are as written: 0 is none.
func (a *Asked) Check(warmUp, settle int) error {
	if !(a.Options.Alpha > 0 && a.Options.Alpha < 0.5) || a.Options.Block < 1 || warmUp < 0 || settle < 0 {
		return errors.New("--alpha must lie between 0 and 0.5, --block be at least 1, --warm-up and --settle not below 0")
	}
	a.Options.WarmUp, a.Options.Settle = orNone(warmUp), orNone(settle)
	return nil
}

// orNone is what Options take for none, where 0 asks for the default.
func orNone(n int) int {
	if n == 0 {
		return -1
	}
	return n
}

// Tell compares two files.
func (a *Asked) Tell(baseline, candidate *table.Partial) (*Told, error) {
	base, cand := TrialsOf(baseline, a.Left), TrialsOf(candidate, a.Left)
	if a.Instruction {
		for i := range cand {
			cand[i].Instructions++
		}
	}
	report, err := Compare(a.Category, base, cand, a.Options)
	if err != nil {
		return nil, fmt.Errorf("compare %s with %s: %w", candidate.Name, baseline.Name, err)
	}
	plan := Next(a.Category, baseline.Name, []Candidate{{Name: candidate.Name, Report: report}}, a.Options.Block)
	out := Tell(report, plan)
	out.Rejected = slices.Concat([]table.Left{}, baseline.Out, candidate.Out)
	if a.AreaPrior != nil {
		if p, err := ProbTighter(*a.AreaPrior, base, cand); err == nil {
			out.ProbTighter = &p
		} else {
			out.Doubts = append(out.Doubts, "prob_tighter is not yet: "+err.Error())
		}
	}
	return &Told{report, plan, out}, nil
}

// WriteText writes the answer for people.
func (t *Told) WriteText(w io.Writer) error { return WriteText(w, t.Report, t.Plan, t.Account) }

// WrittenPriorError is a prior that is written wrongly.
type WrittenPriorError struct {
	Written string
	err     error
}

func (e *WrittenPriorError) Error() string { return fmt.Sprintf("--prior %q: %v", e.Written, e.err) }
func (e *WrittenPriorError) Unwrap() error { return e.err }

// WrongUse marks what another command line mends.
func (*WrittenPriorError) WrongUse() {}

// ParsePriors reads OUTCOME=MEAN:SD, or names of JSON files, which read gives.
func ParsePriors(list []string, read func(file string) ([]byte, error)) (map[glossary.Name]Prior, error) {
	out := map[glossary.Name]Prior{}
	for _, s := range list {
		if name, value, ok := strings.Cut(s, "="); ok {
			n, p, err := ParsePrior(name, value)
			if err != nil {
				return nil, &WrittenPriorError{s, err}
			}
			out[n] = p
			continue
		}
		text, err := read(s)
		if err != nil {
			return nil, fmt.Errorf("read priors: %w", err)
		}
		if err := ReadPriors(text, s, out); err != nil {
			return nil, err
		}
	}
	return out, nil
}
