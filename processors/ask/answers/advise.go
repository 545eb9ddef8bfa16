package answers

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/fleet"
)

// Counsel is advice for one player, with everything that it rests on.
type Counsel struct {
	Player    string             `json:"player"`
	Category  string             `json:"category"`
	Outcome   string             `json:"outcome"`
	Answer    string             `json:"answer"` // id of the kept answer: the same advice can be given later
	Carry     string             `json:"carry_answer,omitempty"`
	Fleet     uint64             `json:"fleet_players"`
	Traits    map[string]float64 `json:"traits"`
	Shots     int                `json:"profile_shots"`
	Own       int                `json:"own_trials"`
	CarryNow  float64            `json:"carry_m"`
	Advice    []Suggestion       `json:"advice"`
	Notes     []string           `json:"notes,omitempty"`
	Refused   string             `json:"refused,omitempty"`
	Incumbent string             `json:"incumbent"`
}

// Suggestion is one candidate, ranked, with its name and why it stands there.
type Suggestion struct {
	Name string `json:"name"`
	fleet.Advice
	Why string `json:"why"`
}

// TryNext is what is worth hitting first, in the order to hit it.
func (c *Counsel) TryNext() []Suggestion {
	var out []Suggestion
	for _, s := range c.Advice {
		if s.Try > 0 {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b Suggestion) int { return a.Try - b.Try })
	return out
}

// Advising says how to advise. The zero value asks for the category's most
// important outcome and takes the builds that the fleet has tried.
type Advising struct {
	Outcome string
	Stock   []Build // candidates; nil: the fleet's
	Shots   int     // of a trial; 0: 10
	// Kept takes answers that are kept only, so that a page need not wait for a
	// fit; ErrNoAnswer where there is none yet.
	Kept   bool
	Asking Asking
}

// Of the fleet's builds those near the own club are weighed: a fitting changes a
// thing or two at a time, and far from it the model only extrapolates.
const (
	mostCandidates = 40
	mostSteps      = 4.0 // of all attributes together
)

// near picks the builds nearest to the incumbent: within mostSteps, or the ten
// nearest where there are fewer. Builds without a known attribute count as if
// they had the incumbent's.
func near(builds []Build, incumbent [fleet.AttributeCount]float64, d *fleet.Design) []Build {
	type far struct {
		Build
		steps float64
	}
	var all []far
	for _, b := range builds {
		steps := 0.0
		for _, a := range d.Attributes {
			if x := math.Abs(b.Attributes[a]-incumbent[a]) / a.Step(); !math.IsNaN(x) {
				steps += x
			}
		}
		if steps > 0.01 {
			all = append(all, far{b, steps})
		}
	}
	// Those that more players tried come first among equally near ones.
	slices.SortStableFunc(all, func(a, b far) int { return cmp.Compare(math.Round(a.steps*100), math.Round(b.steps*100)) })
	var out []Build
	for i, b := range all {
		if i >= mostCandidates || b.steps > mostSteps && i >= 10 {
			break
		}
		out = append(out, b.Build)
	}
	return out
}

// Advise ranks builds for one player by what the fleet says of their profile
// and by their own trials. An UnknownPlayerError says what is missing of the
// player; Refused that the fleet has not enough to say.
func (f *Fleet) Advise(ctx context.Context, player, category string, o Advising) (*Counsel, error) {
	if o.Outcome == "" {
		if p := fleet.Primary(glossary.Category(category)); len(p) > 0 {
			o.Outcome = p[0]
		}
	}
	if err := (Question{Outcome: o.Outcome, Filter: Filter{Category: category}}).Check(); err != nil {
		return nil, err
	}
	p, err := f.Player(ctx, player, category)
	if err != nil {
		return nil, err
	}
	main, err := f.about(ctx, o.Outcome, category, o)
	if err != nil {
		return nil, err
	}
	c := &Counsel{Player: player, Category: category, Outcome: o.Outcome, Answer: main.ID, Fleet: main.Players, Traits: p.Traits,
		Shots: p.Shots, Own: len(p.Trials), CarryNow: p.Carry, Incumbent: p.Own, Advice: []Suggestion{}}
	if main.Refused != "" {
		c.Refused = main.Refused
		return c, nil
	}
	var carry *fleet.Answer
	if o.Outcome != "carry" {
		if s, err := f.about(ctx, "carry", category, o); err == nil && s.Answer != nil {
			carry, c.Carry = s.Answer, s.ID
		} else if err != nil && !errors.Is(err, ErrNoAnswer) {
			return nil, err
		}
	}
	state, notes := p.state(main.Answer.Design)
	c.Notes = notes
	if carry != nil {
		// One reading of the incumbent for both answers.
		if _, more := p.state(carry.Design); len(more) > len(notes) {
			c.Notes = more
		}
	}
	if o := main.HeadOffice; o != nil {
		c.Notes = append(c.Notes, fmt.Sprintf("what is expected is the head office's answer: %s", main.Whose()))
	}
	if main.Players < 50 && len(p.Trials) > 0 {
		c.Notes = append(c.Notes, "the fleet is small, and this player's own trials are in it: they count twice in the mean")
	}
	stock := o.Stock
	if stock == nil {
		if stock, err = f.tried(ctx, main, category); err != nil {
			return nil, err
		}
		stock = near(stock, state.Incumbent, main.Answer.Design)
	}
	var candidates []fleet.Candidate
	names := map[string]string{}
	for _, b := range stock {
		names[b.Key] = b.Name
		for i, x := range b.Attributes {
			if math.IsNaN(x) {
				b.Attributes[i] = state.Incumbent[i]
			}
		}
		candidates = append(candidates, fleet.Candidate{Build: b.Key, Attributes: b.Attributes})
	}
	if len(candidates) == 0 {
		c.Refused = "the fleet has tried no build beside players' own clubs: name candidates with a list of stock"
		return c, nil
	}
	advice, err := fleet.Advise(main.Answer, carry, state, candidates, fleet.AdviceOptions{Shots: o.Shots})
	if err != nil {
		return nil, fmt.Errorf("advice for player %s: %w", player, err)
	}
	for _, a := range advice {
		c.Advice = append(c.Advice, Suggestion{Name: names[a.Build], Advice: a, Why: why(main.Answer.Outcome, a)})
	}
	return c, nil
}

// about is the answer that advice rests on: the fleet's own or the head office's,
// whichever more players stand behind.
func (f *Fleet) about(ctx context.Context, outcome, category string, o Advising) (*Stored, error) {
	q := Question{Outcome: outcome, Filter: Filter{Category: category}}
	theirs, err := f.officeBefore(ctx, q, f.now().Add(time.Hour))
	if err != nil && !errors.Is(err, ErrNoAnswer) {
		return nil, err
	}
	var own *Stored
	if o.Kept {
		own, err = f.Newest(ctx, q)
	} else {
		own, err = f.Ask(ctx, q, o.Asking)
	}
	if err != nil && !(theirs != nil && (errors.Is(err, ErrNoAnswer) || errors.Is(err, ErrNoSnapshot))) {
		return nil, err
	}
	return more(own, theirs), nil
}

// tried are the builds that a studio's own players tried: of the head office's it
// knows the figures of an answer, and no club.
func (f *Fleet) tried(ctx context.Context, s *Stored, category string) ([]Build, error) {
	mark := s.Mark
	if s.HeadOffice != nil {
		var err error
		if mark, err = f.Latest(ctx); errors.Is(err, ErrNoSnapshot) {
			return nil, nil
		} else if err != nil {
			return nil, err
		}
	}
	return f.Builds(ctx, mark.Snapshot, category, 2000)
}

// state is the player as advice takes them. What is not known of the own club,
// or of the swing, is taken as the fleet's middle, and said.
func (p *Player) state(d *fleet.Design) (fleet.PlayerState, []string) {
	s := fleet.PlayerState{Traits: map[string]float64{}, Incumbent: p.Incumbent}
	var notes []string
	for _, a := range d.Attributes {
		if math.IsNaN(s.Incumbent[a]) {
			s.Incumbent[a] = d.Reference[a]
			notes = append(notes, fmt.Sprintf("the %s of the own club is not known: the fleet's middle was taken; measure it", a.Name()))
		}
	}
	for i, name := range d.Traits {
		x, ok := p.Traits[name]
		if !ok {
			x = d.Center[i]
			notes = append(notes, fmt.Sprintf("%s of the swing is not known: the fleet's middle was taken", name))
		}
		s.Traits[name] = x
	}
	for _, t := range p.Trials {
		known := true
		for _, a := range d.Attributes {
			known = known && !math.IsNaN(t.Attributes[a])
		}
		if !known && t.Gamer {
			t.Attributes, known = s.Incumbent, true
		}
		if known {
			s.Trials = append(s.Trials, t)
		}
	}
	return s, notes
}

// why says in words why a candidate stands where it does.
func why(o fleet.Outcome, a fleet.Advice) string {
	size := fmt.Sprintf("%+.3g %s", a.Gain*o.Better, o.Unit)
	if a.Percent != nil {
		size = fmt.Sprintf("%+.0f %% of the spread", math.Round(*a.Percent)+0) // + 0: no minus zero
	}
	text := fmt.Sprintf("%s expected, better with a chance of %.0f %%", size, 100*a.Better)
	switch {
	case a.Same:
		text = "practically the same as the own club"
	case a.Try > 0 && a.Gain <= 0:
		text += "; worth hitting for what it would tell"
	}
	if a.Carry != nil && math.Abs(*a.Carry) >= 1 {
		text += fmt.Sprintf("; carry %+.0f m", *a.Carry)
	}
	return text
}
