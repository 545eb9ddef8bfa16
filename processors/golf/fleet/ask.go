package fleet

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
)

// Version names the model: stored answers carry it, and it changes whenever an
// answer to the same question over the same trials would.
const Version = "fleet-4"

// Answer is what the fleet says to a question. It survives JSON: a stored answer
// gives the same effects and the same advice later. Only what needs the rows
// themselves (Fit.Own, so advice to PlayerState.Player) needs a fresh one.
type Answer struct {
	Version  string
	Question Question
	Outcome  Outcome `json:"-"`
	Design   *Design
	Noise    Noise
	Fit      *Fit
	Prior    *Prior   // the fit as later computations need it
	Codes    []string // of the fit's warnings
	Trials   int
	LeftOut  map[string]int // trials that do not count, by reason
	Notes    []Warning      // what was changed about the question, and why
	// Typical is the average of the trials asked about, which yards are shown for
	// where no player is named.
	Typical Typical
	// Tried and Varied count, by column of the model, the players who hit it at
	// two values within a level, and those levels.
	Tried, Varied map[string]int
	// Choices hold what was drawn by lot against what was chosen, by attribute; none
	// where too few players drew. See Choice.
	Choices []Contrast `json:",omitempty"`
}

// Typical is a middling trial: mean carry in m, and the outcome's standard
// deviation (of outcomes that are spreads) in its unit; 0: not known.
type Typical struct{ Carry, Spread float64 }

// Ask answers a question from trials in memory; the order does not matter. It
// returns a *ModelError of kind NotEnough where there is not enough to say.
func Ask(ctx context.Context, trials []Trial, q Question) (*Answer, error) {
	if len(trials) == 0 {
		return nil, &ModelError{Kind: NotEnough, Terms: []string{"not enough to say"}, Reason: "no trial matches", Try: "widen the filters"}
	}
	order := hitOrder(trials)
	var look Survey
	for _, i := range order {
		look.Add(&trials[i])
	}
	d, notes, err := look.Design(q)
	if err != nil {
		return nil, err
	}
	s, err := NewStream(q, d, look.Noise(q))
	if err != nil {
		return nil, err
	}
	for _, i := range order {
		if err := s.Add(&trials[i]); err != nil {
			return nil, err
		}
	}
	a, err := s.Answer(ctx)
	if err != nil {
		return nil, err
	}
	a.Notes = append(notes, a.Notes...)
	return a, nil
}

// Answer fits the streamed trials. Terms that the trials cannot carry (never
// varied within a level, or computable from others) are taken out one by one
// and named in Notes, so that one idle attribute does not silence the rest.
func (s *Stream) Answer(ctx context.Context) (*Answer, error) {
	d, err := s.data()
	if err != nil {
		return nil, err
	}
	q := s.question
	a := &Answer{Version: Version, Question: q, Outcome: s.outcome, Design: s.design, Noise: s.noise, Trials: s.trials, Typical: s.typical(),
		LeftOut: s.left, Notes: s.noise.notes(s.outcome), Tried: map[string]int{}, Varied: map[string]int{}}
	for c, name := range d.Columns {
		a.Tried[name], a.Varied[name] = s.tried[c], s.sessions[c]
	}
	for {
		a.Fit, err = d.Fit(ctx, Options{Test: q.Test, Level: q.Level, Workers: q.Workers, Progress: q.Progress})
		var m *ModelError
		if err == nil || !errors.As(err, &m) || (m.Kind != Idle && m.Kind != Collinear) || len(m.Terms) == 0 || len(d.Terms) == 1 {
			break
		}
		out := m.Terms[len(m.Terms)-1]
		a.Notes = append(a.Notes, Warning{"term_left_out", fmt.Sprintf("%s is left out: %s (%s)", out, m.Reason, strings.Join(m.Terms, ", "))})
		d = d.without(out)
	}
	if err != nil {
		return nil, err
	}
	a.Prior = a.Fit.Prior()
	for _, w := range a.Fit.Warnings {
		a.Codes = append(a.Codes, w.Code)
	}
	return a, nil
}

// UnmarshalJSON reads a stored answer.
func (a *Answer) UnmarshalJSON(b []byte) error {
	type plain Answer
	if err := json.Unmarshal(b, (*plain)(a)); err != nil {
		return fmt.Errorf("stored answer: %w", err)
	}
	if a.Fit == nil || a.Prior == nil || a.Design == nil {
		return fmt.Errorf("stored answer: fit, prior or design is missing")
	}
	var ok bool
	if a.Outcome, ok = FindOutcome(a.Question.Outcome); !ok {
		return fmt.Errorf("stored answer: outcome %q is not known to this version", a.Question.Outcome)
	}
	return nil
}

// critical is the half width of a term's intervals in standard errors, and tail its
// two-sided p of a standardised estimate.
func (a *Answer) critical(term string) (crit float64, tail func(float64) float64) {
	level := a.Question.Level
	if level == 0 {
		level = 0.95
	}
	return quantiles(a.degrees(term), level)
}

// degrees are the degrees of freedom of a term; 0: normal. An attribute's effect has
// those of its curvature if they are fewer, and the lot's where it is the lot's word.
func (a *Answer) degrees(term string) float64 {
	df := a.Fit.DF
	for _, t := range a.Fit.Terms {
		if (t.Name == term || t.Name == term+"_curve") && t.DF > 0 && (df == 0 || t.DF < df) {
			df = t.DF
		}
	}
	if c := a.chosenFor(term); c != nil && c.DF > 0 && (df == 0 || c.DF < df) {
		df = c.DF
	}
	return df
}

// without is the same data under a model that lacks a term; a column that no
// term uses any more has no slope by player either.
func (d *Data) without(name string) *Data {
	m := *d.Model
	m.Terms, m.Random = nil, nil
	used := map[int]bool{}
	for _, t := range d.Terms {
		if t.Name != name {
			m.Terms = append(m.Terms, t)
			used[t.Column] = true
		}
	}
	for _, c := range d.Random {
		if used[c] {
			m.Random = append(m.Random, c)
		}
	}
	m.Crossed = nil
	for _, c := range d.Crossed {
		if c.Column < 0 || used[c.Column] {
			m.Crossed = append(m.Crossed, c)
		}
	}
	out := *d
	out.plan = newPlan(&m)
	return &out
}
