package fleet

import (
	"fmt"
	"io"

	"fairlead/dashboards/draw"
	"fairlead/dashboards/figure"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// Effects is a kept answer with its effects; over a trait of the swing too, where
// one was named.
type Effects struct {
	*answers.Stored
	Effects     []fleet.Effect     `json:"effects"`
	Dependences []fleet.Dependence `json:"dependences"`
	Findings    []fleet.Said       `json:"findings"`
	Map         []fleet.Cell       `json:"map,omitempty"`

	over  string
	units figure.Units
}

// OverError says that an answer has nothing over a trait.
type OverError struct {
	Over string
	err  error
}

func (e *OverError) Error() string { return fmt.Sprintf("--over %s: %v", e.Over, e.err) }
func (e *OverError) Unwrap() error { return e.err }

// WrongUse marks what another command line mends.
func (*OverError) WrongUse() {}

// TellEffects computes what an answer says.
func TellEffects(s *answers.Stored, over string, u figure.Units) (Effects, error) {
	out := Effects{Stored: s, Effects: []fleet.Effect{}, Dependences: []fleet.Dependence{}, Findings: []fleet.Said{}, over: over, units: u}
	if s.Answer == nil {
		return out, nil
	}
	var err error
	if out.Effects, err = s.Answer.Effects(fleet.Person{}); err != nil {
		return out, err
	}
	if out.Dependences, err = s.Answer.Dependences(fleet.Person{}); err != nil {
		return out, err
	}
	if out.Findings, err = s.Answer.Findings(fleet.Person{}); err != nil {
		return out, err
	}
	if over != "" {
		if out.Map, err = s.Cells(over, answers.MapAt); err != nil {
			return out, &OverError{over, err}
		}
	}
	return out, nil
}

// Picture draws a forest plot, or the map over the trait; nil of an answer that
// does not have enough to say.
func (e Effects) Picture(forest bool) (*draw.Picture, error) {
	if e.Answer == nil {
		return nil, nil
	}
	picture := draw.Effects
	if e.over != "" && !forest {
		picture = draw.EffectsOver
	}
	return picture(e.Stored, e.over, nil)
}

// WriteCSV writes a row for each effect.
func (e Effects) WriteCSV(w io.Writer) error { return answers.EffectsCSV(w, e.Stored, e.Effects) }

// WriteText says what was found, and how sure that is.
func (e Effects) WriteText(w io.Writer) error { return WriteEffects(w, e.Stored, e.over, e.units) }
