package enquiry

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// shown turns changes of an outcome into the unit that people read: percent of a
// spread, or the outcome's own.
type shown struct {
	o    fleet.Outcome
	unit string
}

func (d *desk) shown() shown {
	o, _ := fleet.FindOutcome(d.of.Outcome)
	if o.Log {
		return shown{o, "%"}
	}
	return shown{o, o.Unit}
}

func (s shown) of(x float64) float64 {
	if s.o.Log {
		return 100 * math.Expm1(min(x, 5))
	}
	return x
}

func (s shown) margin() float64 { return s.of(s.o.Margin) }

// does says a change: 3.1 % tighter.
func (s shown) does(x float64) string {
	pair := [2]string{"more", "less"}
	switch {
	case s.o.Log:
		pair = [2]string{"wider", "tighter"}
	case s.o.Name == "carry":
		pair = [2]string{"longer", "shorter"}
	}
	word := pair[0]
	if x < 0 {
		word = pair[1]
	}
	return fmt.Sprintf("%.1f %s %s", math.Abs(s.of(x)), s.unit, word)
}

func (s shown) interval(low, high float64) string {
	return strings.ReplaceAll(fmt.Sprintf("95 %% interval %+.1f to %+.1f %s", s.of(low), s.of(high), s.unit), "-", "−")
}

// question is what the fleet's model is asked, of the attributes that can be told apart.
func (d *desk) question(trials []fleet.Trial) fleet.Question {
	attributes, _ := answers.Told(trials)
	return fleet.Question{Outcome: d.of.Outcome, Category: d.of.Filter.Category, Attributes: attributes, Test: fleet.KnappHartung}
}

// trials loads those that the enquiry is about, and says in the table how many.
func (d *desk) trials(ctx context.Context, t *Table, describing bool) ([]fleet.Trial, error) {
	outcome := d.of.Outcome
	if outcome == "" {
		outcome = "direction"
	}
	trials, note, err := d.fleet.Trials(ctx, d.mark, answers.Question{Outcome: outcome, Filter: d.of.Filter}, describing)
	if err != nil {
		return nil, err
	}
	if note != nil {
		t.note("%s", note.Text)
	}
	count(t, trials)
	return trials, nil
}

func count(t *Table, trials []fleet.Trial) {
	players := map[string]bool{}
	for i := range trials {
		players[trials[i].Player] = true
	}
	t.Trials, t.Players = len(trials), len(players)
}

// met counts the players and trials that hit each level of a factor.
type met struct{ players, trials map[string]int }

func metBy(trials []fleet.Trial, of func(*fleet.Trial) string) met {
	out, seen := met{map[string]int{}, map[string]int{}}, map[[2]string]bool{}
	for i := range trials {
		level := of(&trials[i])
		out.trials[level]++
		if key := [2]string{level, trials[i].Player}; !seen[key] {
			seen[key] = true
			out.players[level]++
		}
	}
	return out
}

var partOf = map[string]func(*fleet.Trial) string{
	"head": func(t *fleet.Trial) string { return t.Head }, "shaft": func(t *fleet.Trial) string { return t.Shaft },
	"grip": func(t *fleet.Trial) string { return t.Grip }, "ball": func(t *fleet.Trial) string { return t.Ball },
}

// models asks what each model of a part does beyond the figures of the builds it is
// in, drawn toward none by as much as its trials leave open.
func models(part string) func(context.Context, *desk, *Table) error {
	return func(ctx context.Context, d *desk, t *Table) error {
		trials, err := d.trials(ctx, t, false)
		if err != nil {
			return err
		}
		return d.levels(ctx, t, trials, part)
	}
}

// levels fits with a factor and lists its levels.
func (d *desk) levels(ctx context.Context, t *Table, trials []fleet.Trial, part string) error {
	q := d.question(trials)
	q.Also = []string{part}
	if part != "grip" {
		q.Also = append(q.Also, "grip") // what grips do is no part of the build's figures either
	}
	a, err := fleet.Ask(ctx, trials, q)
	if err != nil {
		return err
	}
	effects, err := a.LevelEffects(part)
	if err != nil {
		return err
	}
	if len(effects) == 0 {
		return &fleet.ModelError{Kind: fleet.NotEnough, Terms: []string{"not enough to say"},
			Reason: fmt.Sprintf("fewer than two models of a %s were hit by five players each", part), Try: "record models on the build's sheet"}
	}
	s, m := d.shown(), metBy(trials, partOf[part])
	if math.IsNaN(effects[0].SD) {
		t.say("As far as %d trials tell, %ss do not differ beyond their figures.", len(trials), part)
	}
	var p []float64
	for _, e := range effects {
		x := 1.0
		if e.SD > 0 {
			x = twoSided(e.Value / e.SD)
		}
		p = append(p, x)
	}
	adjusted := fleet.BenjaminiHochberg(p)
	order := ranked(len(effects), func(i int) float64 { return -effects[i].Value * s.o.Better })
	t.Columns = []Column{{"model", part, "", Text}, {"change", "beyond its figures", s.unit, Change}, {"ci_low", "95 % from", s.unit,
		Change},
		{"ci_high", "to", s.unit, Change}, {"q", "adjusted p", "", Odds}, {"players", "players", "", Count}, {"trials", "trials", "", Count}}
	t.Plot = &Plot{Label: "model", Value: "change", Low: "ci_low", High: "ci_high", Unit: s.unit, Better: s.o.Better, Margin: s.margin()}
	found := 0
	for _, i := range order {
		e := effects[i]
		low, high := e.Value-1.96*e.SD, e.Value+1.96*e.SD
		t.Add(T(e.Level), N(s.of(e.Value)), N(s.of(low)), N(s.of(high)), N(adjusted[i]), C(m.players[e.Level]), C(m.trials[e.Level]))
		if adjusted[i] <= fleet.FalseDiscovery {
			found++
		}
	}
	if math.IsNaN(effects[0].SD) {
		return nil
	}
	best, worst := effects[order[0]], effects[order[len(order)-1]]
	t.say("With the %s %s players are %s than its figures say (%s), tried by %d; with %s %s, tried by %d.", best.Level, part,
		s.does(best.Value),
		s.interval(best.Value-1.96*best.SD, best.Value+1.96*best.SD), m.players[best.Level], worst.Level, s.does(worst.Value),
		m.players[worst.Level])
	t.say("%d of %d models stand out of all that were looked at (of those, one in ten at most is expected to be chance).", found,
		len(effects))
	for _, c := range a.Fit.Crossed {
		if c.Name == part {
			t.note("models of a %s differ by a standard deviation of %.1f %s beyond their figures; each is drawn toward none by as "+
				"much as its trials leave open",
				part, s.of(c.SD), s.unit)
		}
	}
	return nil
}

// balls asks what another ball does with the same build: trials of a session that
// differ in the ball are put into one level, which otherwise keeps them apart.
func balls(ctx context.Context, d *desk, t *Table) error {
	trials, err := d.trials(ctx, t, false)
	if err != nil {
		return err
	}
	type place struct{ session, surface, device, instruction string }
	levels := map[string]map[place]int{}
	for i := range trials {
		x := &trials[i]
		key := place{x.Session, x.Surface, x.Device, x.Instruction}
		if levels[x.Session] == nil {
			levels[x.Session] = map[place]int{}
		}
		if levels[x.Session][key] == 0 {
			levels[x.Session][key] = len(levels[x.Session]) + 1
		}
		x.Level = levels[x.Session][key]
	}
	t.note("what order in the session does is taken out, but a ball that is always hit last still carries some of it")
	return d.levels(ctx, t, trials, "ball")
}

// ranked are the places 0 to n−1, the smallest value first.
func ranked(n int, of func(int) float64) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(of(a), of(b)) })
	return out
}

func twoSided(z float64) float64 { return math.Erfc(math.Abs(z) / math.Sqrt2) }
