package enquiry

import (
	"context"
	"math"
	"slices"
	"strings"

	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// places asks what one step does apart by studio, bay, fitter, ball and month.
func places(ctx context.Context, d *desk, t *Table) error {
	trials, err := d.trials(ctx, t, false)
	if err != nil {
		return err
	}
	a, _ := fleet.ParseAttribute(d.of.Attribute)
	base, err := fleet.Ask(ctx, trials, d.question(trials))
	if err != nil {
		return err
	}
	groups, kinds, err := fleet.ByGroup(ctx, base, trials, a)
	if err != nil {
		return err
	}
	s := d.shown()
	t.Columns = []Column{{"by", "by", "", Text}, {"name", "where", "", Text}, {"apart", "own trials alone", s.unit, Change},
		{"apart_low", "95 % from", s.unit, Change},
		{"apart_high", "to", s.unit, Change}, {"pooled", "to expect there", s.unit, Change}, {"pooled_low", "95 % from", s.unit, Change},
		{"pooled_high", "to", s.unit, Change}, {"q", "adjusted p of a difference", "", Odds}, {"players", "players", "", Count}, {"levels",
			"runs", "", Count}}
	t.Plot = &Plot{Group: "by", Label: "name", Value: "pooled", Low: "pooled_low", High: "pooled_high", Unit: s.unit, Better: s.o.Better,
		Margin: s.margin()}
	for _, k := range kinds {
		differ, with := "no sign that they differ", ""
		if k.P < 0.05 {
			differ = "they differ"
			var names []string
			for _, g := range groups {
				if g.Group == k.Group && g.Differs {
					names = append(names, g.Name)
				}
			}
			if len(names) > 0 {
				with = ", most of all " + strings.Join(names, ", ")
			}
		}
		t.say("%d %ss: %s%s (p %s; standard deviation between them %.1f %s).", k.Groups, k.Group, differ, with, odds(k.P),
			math.Abs(s.of(k.SD)), s.unit)
	}
	for _, g := range groups {
		t.Add(T(g.Group), T(g.Name), N(s.of(g.Apart)), N(s.of(g.Low)), N(s.of(g.High)), N(s.of(g.Pooled)), N(s.of(g.PooledLow)),
			N(s.of(g.PooledHigh)), N(g.Q),
			C(g.Players), C(g.Sessions))
	}
	if len(groups) == 0 {
		t.say("There is one of everything: nothing to hold against the rest.")
	}
	return nil
}

// zones are where on the face a player strikes on average, in m from the geometric
// centre, toe and up positive.
var zones = []struct {
	name string
	x, y float64
}{
	{"centre", 0, 0}, {"high on the toe", 0.010, 0.008}, {"low on the toe", 0.010, -0.008}, {"high on the heel", -0.010, 0.008},
	{"low on the heel", -0.010, -0.008},
}

// strike asks what each step does for players who strike in a zone of the face.
func strike(ctx context.Context, d *desk, t *Table) error {
	trials, err := d.trials(ctx, t, false)
	if err != nil {
		return err
	}
	q := d.question(trials)
	q.Traits = append(slices.Clone(fleet.StandardTraits), "strike_x_m", "strike_y_m")
	a, err := fleet.Ask(ctx, trials, q)
	if err != nil {
		return err
	}
	s := d.shown()
	t.Columns = []Column{{"step", "one step", "", Text}, {"zone", "struck", "", Text}, {"change", "change", s.unit, Change}, {"ci_low",
		"95 % from", s.unit, Change},
		{"ci_high", "to", s.unit, Change}, {"beside", "less that at the centre", s.unit, Change}, {"q", "adjusted p", "", Odds}}
	t.Plot = &Plot{Group: "step", Label: "zone", Value: "change", Low: "ci_low", High: "ci_high", Unit: s.unit, Better: s.o.Better,
		Margin: s.margin()}
	if !slices.Contains(a.Design.Traits, "strike_x_m") || !slices.Contains(a.Design.Traits, "strike_y_m") {
		return &fleet.ModelError{Kind: fleet.NotEnough, Terms: []string{"not enough to say"},
			Reason: "where players strike is not known of enough of them",
			Try:    "use devices that measure the strike"}
	}
	centre := map[string]fleet.Effect{}
	best := map[string]fleet.Effect{}
	what := map[string]map[string][]Cell{}
	bends := map[string]float64{}
	for _, e := range a.Fit.Terms {
		if name, ok := strings.CutSuffix(e.Name, "_curve"); ok {
			bends[name] = e.Value
		}
	}
	for _, z := range zones {
		at := map[string]float64{}
		for i, name := range a.Design.Traits {
			at[name] = a.Design.Center[i]
		}
		at["strike_x_m"], at["strike_y_m"] = z.x, z.y
		effects, err := a.Effects(fleet.Person{Traits: at})
		if err != nil {
			return err
		}
		for _, e := range effects {
			if e.Attribute == "" || e.Trait != "" {
				continue
			}
			if z.name == "centre" {
				centre[e.Attribute] = e
			}
			// A step the other way: the same, turned, about the bend.
			back := e
			bend := bends[e.Attribute]
			back.Step = "the other way of “" + e.Step + "”"
			back.Change, back.Low, back.High = 2*bend-e.Change, 2*bend-e.High, 2*bend-e.Low
			for _, x := range []fleet.Effect{e, back} {
				if old, ok := best[z.name]; !ok || x.Change*s.o.Better > old.Change*s.o.Better {
					best[z.name] = x
				}
			}
			if what[e.Attribute] == nil {
				what[e.Attribute] = map[string][]Cell{}
			}
			what[e.Attribute][z.name] = []Cell{T(e.Step), T(z.name), N(s.of(e.Change)), N(s.of(e.Low)), N(s.of(e.High)),
				N(s.of(e.Change - centre[e.Attribute].Change)), N(e.Q)}
		}
	}
	for _, x := range a.Design.Attributes {
		for _, z := range zones {
			if row := what[x.Name()][z.name]; row != nil {
				t.Add(row...)
			}
		}
	}
	for _, z := range zones[1:] {
		if e, ok := best[z.name]; ok {
			t.say("Struck %s, %s is the step to try first: %s (%s).", z.name, e.Step, s.does(e.Change), s.interval(e.Low, e.High))
		}
	}
	if d, err := a.Dependences(fleet.Person{}); err == nil {
		for _, x := range d {
			if strings.HasPrefix(x.Trait, "strike_x") || strings.HasPrefix(x.Trait, "strike_y") {
				if x.Evidence == fleet.Finding {
					p, _ := fleet.ParseAttribute(x.Attribute)
					t.say("That %s depends on where the ball is struck (%s) is a finding, adjusted p %s.", p.StepText(), answers.TraitTitle(x.Trait),
						odds(x.Q))
				}
			}
		}
	}
	t.note("zones are 10 mm beside and 8 mm above or below the centre; what depends on them is one slope for the whole face")
	return nil
}

// putters asks what each putter does to the start line and to the speed of putts.
func putters(ctx context.Context, d *desk, t *Table) error {
	o := "direction"
	where := d.of.Filter
	where.Category = "putter"
	trials, note, err := d.fleet.Trials(ctx, d.mark, answers.Question{Outcome: o, Filter: where}, true)
	if err != nil {
		return err
	}
	if note != nil {
		t.note("%s", note.Text)
	}
	count(t, trials)
	if len(trials) == 0 {
		return &fleet.ModelError{Kind: fleet.NotEnough, Terms: []string{"not enough to say"}, Reason: "no putter was hit",
			Try: "widen the filters"}
	}
	for i := range trials { // their swing is no swing
		trials[i].Traits = fleet.NoTraits()
	}
	t.Columns = []Column{{"outcome", "outcome", "", Text}, {"model", "head", "", Text}, {"change", "against the average putter", "%",
		Change}, {"ci_low", "95 % from", "%", Change},
		{"ci_high", "to", "%", Change}, {"players", "players", "", Count}}
	t.Plot = &Plot{Group: "outcome", Label: "model", Value: "change", Low: "ci_low", High: "ci_high", Unit: "%", Better: -1, Margin: 5}
	m := metBy(trials, partOf["head"])
	for _, of := range [][2]string{{"direction", "start line"}, {"carry_control", "speed"}} {
		outcome, title := of[0], of[1]
		d.of.Outcome = outcome
		q := fleet.Question{Outcome: outcome, Category: "putter", Attributes: puttersKnow(trials), Traits: []string{},
			Test: fleet.KnappHartung, NoCurvature: true,
			Also: []string{"head"}}
		a, err := fleet.Ask(ctx, trials, q)
		if err != nil {
			return err
		}
		effects, err := a.LevelEffects("head")
		if err != nil {
			return err
		}
		s := d.shown()
		order := ranked(len(effects), func(i int) float64 { return effects[i].Value })
		for n, i := range order {
			e := effects[i]
			if math.IsNaN(e.SD) && n == 0 {
				t.say("For the %s, as far as %d trials tell, putter heads do not differ.", title, len(trials))
			}
			t.Add(T(title), T(e.Level), N(s.of(e.Value)), N(s.of(e.Value-1.96*e.SD)), N(s.of(e.Value+1.96*e.SD)), C(m.players[e.Level]))
			if n == 0 && e.SD > 0 {
				t.say("For the %s %s is the best head: %s than the average putter (%s), tried by %d.", title, e.Level, s.does(e.Value),
					s.interval(e.Value-1.96*e.SD, e.Value+1.96*e.SD), m.players[e.Level])
			}
		}
	}
	d.of.Outcome = ""
	if len(t.Rows) == 0 {
		return &fleet.ModelError{Kind: fleet.NotEnough, Terms: []string{"not enough to say"},
			Reason: "fewer than two putter heads were hit by five players each",
			Try:    "record models on the build's sheet"}
	}
	return nil
}

// puttersKnow are the attributes that putters' sheets have and that vary.
func puttersKnow(trials []fleet.Trial) (out []fleet.Attribute) {
	for _, a := range fleet.AllAttributes() {
		low, high, n := math.Inf(1), math.Inf(-1), 0
		for i := range trials {
			if x := trials[i].Attributes[a]; !math.IsNaN(x) {
				low, high, n = min(low, x), max(high, x), n+1
			}
		}
		if 5*n >= 4*len(trials) && high-low > 1e-9 {
			out = append(out, a)
		}
	}
	return out
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
