package answers

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"time"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/flight"
)

// What a head office gives to its studios: the answers of its fleet to the questions
// of every night, as priors. They name no player, no studio, no build and no bay.

// sentFormat grows with what a program of before would read wrongly.
const sentFormat = 1

// Origin says where an answer came from that is not the studio's own.
type Origin struct {
	Name     string    `json:"name"` // of the head office
	Received time.Time `json:"received"`
	// Signed is the fingerprint of the authority that signed it; empty: the way to the
	// head office is in clear, and nobody vouches for it.
	Signed string `json:"signed,omitempty"`
}

// Offer is an answer that may be asked for.
type Offer struct {
	ID       string    `json:"id"`
	Category string    `json:"category"`
	Outcome  string    `json:"outcome"`
	Answered time.Time `json:"answered"`
}

// Sealed is a Sent as it travels: the bytes that were signed.
type Sealed struct {
	Text []byte `json:"text"`
	Sign []byte `json:"sign,omitempty"`
}

// Sent is an answer as a head office gives it.
type Sent struct {
	Format int     `json:"format"`
	Office string  `json:"office"`
	Scale  string  `json:"scale"` // units of all numbers, see scaleOf
	Answer *Stored `json:"answer"`
}

// Giver gives a head office's answers to its studios.
type Giver struct {
	fleet  *Fleet
	office string
	sign   func([]byte) ([]byte, error)

	mu     sync.Mutex
	looked time.Time
	offers []Offer
}

// lookAgain is how long a list of offers holds: forty studios ask for it.
const lookAgain = 20 * time.Second

// NewGiver makes the giver of a head office; sign may be nil.
func NewGiver(f *Fleet, office string, sign func([]byte) ([]byte, error)) *Giver {
	return &Giver{fleet: f, office: office, sign: sign}
}

// Offers lists the newest answer to each of the night's questions about all players.
func (g *Giver) Offers(ctx context.Context) ([]Offer, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.offers != nil && g.fleet.now().Sub(g.looked) < lookAgain {
		return g.offers, nil
	}
	offers := []Offer{}
	for _, q := range shared() {
		s, err := g.fleet.Newest(ctx, q)
		if errors.Is(err, ErrNoAnswer) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if s.Answer != nil && s.Players >= leastPriorPlayers {
			offers = append(offers, Offer{s.ID, q.Filter.Category, q.Outcome, s.Asked})
		}
	}
	g.offers, g.looked = offers, g.fleet.now()
	return offers, nil
}

// shared are the questions whose answers are given: all players, each outcome.
func shared() (out []Question) {
	for _, c := range glossary.AirborneNames() {
		for _, o := range OutcomesOf(c) {
			out = append(out, Question{Outcome: o, Filter: Filter{Category: c}})
		}
	}
	return out
}

// Give is the answer with an id, signed.
func (g *Giver) Give(ctx context.Context, id string) (Sealed, error) {
	s, err := g.fleet.Answer(ctx, id)
	if err != nil {
		return Sealed{}, err
	}
	// A head office of head offices gives its own answers, and no question that it was
	// asked by somebody is told to others.
	if s.HeadOffice != nil || !slices.ContainsFunc(shared(), func(q Question) bool { return q.Hash() == s.QuestionHash }) || s.Answer == nil {
		return Sealed{}, ErrNoAnswer
	}
	given := leaves(s)
	if s.Question.Outcome == wanderWith {
		if given.Wanders, err = g.fleet.wandered(ctx, s.Question.Filter.Category, g.fleet.now()); err != nil {
			return Sealed{}, fmt.Errorf("give an answer: %w", err)
		}
	}
	text, err := json.Marshal(Sent{Format: sentFormat, Office: g.office, Scale: scaleOf(s.Question), Answer: given})
	if err != nil {
		return Sealed{}, fmt.Errorf("give an answer: %w", err)
	}
	out := Sealed{Text: text}
	if g.sign != nil {
		if out.Sign, err = g.sign(text); err != nil {
			return Sealed{}, fmt.Errorf("give an answer: %w", err)
		}
	}
	return out, nil
}

// leaves is what of an answer leaves the head office: the estimates, and which
// diagnostics fired. What is said in words can name a studio, a bay or a build.
func leaves(s *Stored) *Stored {
	out, a, d := *s, *s.Answer, *s.Answer.Design
	d.Shared, a.Design, a.Notes = nil, &d, nil
	fit := *a.Fit
	fit.Warnings = nil
	a.Fit, out.Answer, out.Diagnostics = &fit, &a, nil
	for _, g := range s.Diagnostics {
		out.Diagnostics = append(out.Diagnostics, fleet.Diagnostic{Code: g.Code, Title: g.Title, Fired: g.Fired, Threshold: g.Threshold,
			Value: g.Value})
	}
	return &out
}

// scaleOf says in what units the numbers of an answer are: two programs that say the
// same mean the same by them.
func scaleOf(q Question) string {
	o, ok := fleet.FindOutcome(q.Outcome)
	if !ok {
		return ""
	}
	out := fmt.Sprintf("%s in %s", o.Name, o.Unit)
	if o.Log {
		out += " (logarithm)"
	}
	for _, a := range fleet.AllAttributes() {
		out += fmt.Sprintf("; %s by %g %s", a.Name(), a.Step(), a.Unit())
	}
	return out + "; " + strings.Join(fleet.TraitNames[:], ", ")
}

// UnfitError says why a head office's answer is not used. What was used before is
// used on.
type UnfitError struct{ Reason, Try string }

func (e *UnfitError) Error() string { return e.Reason + ": " + e.Try }

// sameProgram is what to do about answers that this program does not understand.
const sameProgram = "install the same release here and there; until then the last answer that fits is used"

// readSent reads what a head office gave, and refuses what would be read wrongly.
func readSent(text []byte) (*Sent, error) {
	var begin struct {
		Format int
		Answer struct {
			Model    string
			Question Question
			Mark     Mark
		}
		Scale string
	}
	if err := json.Unmarshal(text, &begin); err != nil {
		return nil, &UnfitError{fmt.Sprintf("the head office's answer can't be read (%v)", err), sameProgram}
	}
	switch {
	case begin.Format != sentFormat:
		return nil, &UnfitError{fmt.Sprintf("the head office gives answers in format %d, and this program reads format %d", begin.Format,
			sentFormat), sameProgram}
	case begin.Answer.Model != fleet.Version:
		return nil, &UnfitError{fmt.Sprintf("the head office's answer is of model %q, and this program's is %q", begin.Answer.Model,
			fleet.Version), sameProgram}
	case begin.Answer.Mark.Flight != flight.Stamp():
		return nil, &UnfitError{fmt.Sprintf("flights in the head office's answer are computed by model %q, and here by %q",
			begin.Answer.Mark.Flight, flight.Stamp()), sameProgram}
	case begin.Scale != scaleOf(begin.Answer.Question):
		return nil, &UnfitError{fmt.Sprintf("the head office's answer is in other units than this program's: %q there, %q here", begin.Scale,
			scaleOf(begin.Answer.Question)), sameProgram}
	}
	s := &Sent{}
	if err := json.Unmarshal(text, s); err != nil {
		return nil, &UnfitError{fmt.Sprintf("the head office's answer can't be read (%v)", err), sameProgram}
	}
	if why := s.wrong(); why != "" {
		return nil, &UnfitError{"the head office's answer does not hold together: " + why, sameProgram}
	}
	return s, nil
}

// wrong says what of an answer contradicts itself.
func (s *Sent) wrong() string {
	a := s.Answer
	if a.Answer == nil || a.Refused != "" {
		return "there is none in it"
	}
	m, d, p := &a.Answer.Prior.Model, a.Answer.Design, a.Answer.Prior
	unknown := func(n string) bool { return !slices.Contains(fleet.TraitNames[:], n) }
	strange := func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) }
	square := func(c [][]float64, n int) bool {
		return len(c) == n && !slices.ContainsFunc(c, func(r []float64) bool { return len(r) != n || slices.ContainsFunc(r, strange) })
	}
	columns := func(i int) bool { return i < 0 || i >= len(m.Columns) }
	switch {
	case s.Office == "":
		return "it does not say of which head office it is"
	case a.QuestionHash != a.Question.Hash() || a.Question.Check() != nil:
		return "its question is another one than it says"
	case a.Asked.IsZero() || a.Studios == 0 || a.Players < leastPriorPlayers:
		return fmt.Sprintf("%d players of %d studios on %s", a.Players, a.Studios, a.Asked.Format(time.DateOnly))
	case len(p.Beta) != len(m.Terms) || slices.ContainsFunc(p.Beta, strange) || !square(p.Cov, len(m.Terms)) || !square(p.G, len(m.Random)):
		return "coefficients and their covariances have other lengths than the model"
	case slices.ContainsFunc(a.Wanders, Wander.wrong):
		return "a wander that can't be"
	case strange(p.Tau2) || p.Tau2 < 0:
		return fmt.Sprintf("a variance between trials of %g", p.Tau2)
	case slices.ContainsFunc(m.Terms, func(t fleet.Term) bool {
		return columns(t.Column) || t.Moderator >= len(m.Moderators)
	}) || slices.ContainsFunc(m.Random, columns):
		return "a coefficient is of no column of the model"
	case slices.ContainsFunc(d.Attributes, func(x fleet.Attribute) bool { return x < 0 || x >= fleet.AttributeCount }):
		return "an attribute of a build that is not known here"
	case slices.ContainsFunc(d.Traits, unknown) || len(m.Moderators) != len(d.Traits) || len(d.Center) != len(d.Traits) ||
		len(d.Spread) != len(d.Traits):
		return "traits of the swing that are not known here"
	case slices.ContainsFunc(d.Spread, func(x float64) bool { return strange(x) || x <= 0 }):
		return "a trait that does not vary"
	}
	if row, err := d.Columns(d.Reference); err != nil || len(row) != len(m.Columns) {
		return "its design has other columns than its model"
	}
	for i := range p.Cov {
		if p.Cov[i][i] < 0 {
			return "a variance below 0"
		}
	}
	return ""
}
