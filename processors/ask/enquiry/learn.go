package enquiry

import (
	"context"
	"fmt"
	"math"
	"strings"

	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// hundred players are what the question is about.
const hundred = 100.0

// learn asks where a hundred more players who hit a step would teach most: by how much
// an interval would shrink, and what that is worth. Worth is the expected value of the
// information: what those players' answer may gain by turning the choice of whether to
// take the step, in the outcome's unit (Raiffa & Schlaifer, Applied Statistical Decision
// Theory, 1961, for a normal prior and two acts). A player's contrast of one step has
// variance σ² + 2(v + τ²), as fleet.PlayersNeeded has it.
func learn(ctx context.Context, d *desk, t *Table) error {
	trials, err := d.trials(ctx, t, false)
	if err != nil {
		return err
	}
	a, err := fleet.Ask(ctx, trials, d.question(trials))
	if err != nil {
		return err
	}
	s := d.shown()
	v, n := 0.0, 0.0
	for i := range trials {
		if _, x, ok := s.o.Value(&trials[i], a.Noise); ok {
			v, n = v+x, n+1
		}
	}
	if n == 0 {
		return &fleet.ModelError{Kind: fleet.NotEnough, Terms: []string{"not enough to say"}, Reason: "no trial has the outcome",
			Try: "ask about another"}
	}
	v /= n
	slope := map[string]float64{}
	for _, r := range a.Fit.Random {
		slope[r.Name] = r.SD
	}
	type place struct {
		step, whom           string
		change, se, then, is float64
		players              int
	}
	var all []place
	add := func(attribute, whom string, change, se float64, players int) {
		one := slope[attribute]*slope[attribute] + 2*(v+a.Fit.Tau2)
		then := math.Sqrt(1 / (1/(se*se) + hundred/one))
		x, _ := fleet.ParseAttribute(attribute)
		all = append(all, place{x.StepText(), whom, change, se, then, worth(change*s.o.Better, se, then), players})
	}
	effects, err := a.Effects(fleet.Person{})
	if err != nil {
		return err
	}
	for _, e := range effects {
		if e.Attribute != "" && e.Trait == "" {
			add(e.Attribute, "the average player", e.Change, e.SE, e.Players)
		}
	}
	bends, err := a.Dependences(fleet.Person{})
	if err != nil {
		return err
	}
	for _, b := range bends {
		for i, end := range []int{0, 2} {
			word := [2]string{"low", "high"}[i]
			at := strings.ReplaceAll(answers.TraitText(b.Trait, b.Ends[end].At), "-", "−")
			add(b.Attribute, fmt.Sprintf("%s %s (%s)", word, answers.TraitTitle(b.Trait), at),
				b.Ends[end].Effect.Change, b.Ends[end].Effect.SE, b.Players)
		}
	}
	t.Columns = []Column{{"step", "one step", "", Text}, {"whom", "for whom", "", Text}, {"worth", "worth of a hundred more", s.unit,
		Number},
		{"change", "change as known", s.unit, Change}, {"se", "standard error now", s.unit, Number}, {"then", "with a hundred more", s.unit,
			Number},
		{"players", "tried by", "", Count}}
	order := ranked(len(all), func(i int) float64 { return -all[i].is })
	unit := func(x float64) float64 { // small amounts: a logarithm is a percent
		if s.o.Log {
			return 100 * x
		}
		return x
	}
	for _, i := range order {
		p := all[i]
		t.Add(T(p.step), T(p.whom), N(unit(p.is)), N(s.of(p.change)), N(unit(p.se)), N(unit(p.then)), C(p.players))
	}
	if len(order) > 0 {
		p := all[order[0]]
		t.say("A hundred more players would teach most by hitting %s, of %s: the change is known as %s with a standard error of "+
			"%.1f %s, and would be to %.1f.",
			p.step, p.whom, s.does(p.change), unit(p.se), s.unit, unit(p.then))
		least := all[order[len(order)-1]]
		t.say("They would teach least with %s, of %s: tried by %d, and no answer of theirs would turn what is chosen.", least.step,
			least.whom, least.players)
	}
	t.note("worth: by how much the expected outcome of choosing well rises, for the next player of that sort; %.3g %s is the "+
		"variance of one player's contrast beside the slopes'",
		2*(v+a.Fit.Tau2), "(ln² or unit²)")
	return nil
}

// worth is the expected gain of choosing between a step and none after the answer that
// takes the standard error from se to then; change is positive where the step is better.
func worth(change, se, then float64) float64 {
	shift := math.Sqrt(max(se*se-then*then, 0))
	if !(shift > 0) {
		return 0
	}
	z := math.Abs(change) / shift
	return shift * (math.Exp(-z*z/2)/math.Sqrt(2*math.Pi) - z*0.5*math.Erfc(z/math.Sqrt2))
}
