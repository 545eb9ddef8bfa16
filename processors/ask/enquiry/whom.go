package enquiry

import (
	"context"
	"math"
	"time"

	"fairlead/processors/golf/fleet"
)

// mostNamed are listed, by pseudonym.
const mostNamed = 50

// whom asks which players a step would help most, from their own club as it is: by
// their swing, by what they did when they hit it, and by where their club stands on the
// way to the optimum.
func whom(ctx context.Context, d *desk, t *Table) error {
	trials, err := d.trials(ctx, t, true)
	if err != nil {
		return err
	}
	judged := trials[:0:0]
	own, last := map[string]*fleet.Trial{}, map[string]string{}
	for i := range trials {
		x := &trials[i]
		if x.Gamer && own[x.Player] == nil {
			own[x.Player] = x
		}
		last[x.Player] = max(last[x.Player], x.Month)
		if x.TraitsFrom != fleet.SameShots {
			judged = append(judged, *x)
		}
	}
	count(t, judged)
	a, err := fleet.Ask(ctx, judged, d.question(judged))
	if err != nil {
		return err
	}
	x, _ := fleet.ParseAttribute(d.of.Attribute)
	at, bend := -1, -1
	for i, c := range a.Design.Attributes {
		if c == x {
			at = i
		}
	}
	for i, c := range a.Design.Curved {
		if c == x {
			bend = len(a.Design.Attributes) + i
		}
	}
	if at < 0 {
		return &fleet.ModelError{Kind: fleet.Idle, Terms: []string{x.Name()}, Reason: "it never varies between trials that may be compared",
			Try: "ask about another attribute"}
	}
	s := d.shown()
	type one struct {
		player, when, studio string
		change, sd, gain     float64
		club                 float64
	}
	var all []one
	seen := map[string]bool{}
	for i := range judged {
		p := judged[i].Player
		if seen[p] {
			continue
		}
		seen[p] = true
		b, err := a.Fit.Own(p)
		if err != nil || own[p] == nil {
			continue
		}
		o := one{player: p, when: last[p], studio: judged[i].Studio, change: b.Mean[at], sd: math.Sqrt(max(b.Cov[at][at], 0)),
			club: own[p].Attributes[x]}
		if from := (o.club - a.Design.Reference[x]) / x.Step(); bend >= 0 && !math.IsNaN(from) {
			f := 2*from + 1
			o.change += b.Mean[bend] * f
			o.sd = math.Sqrt(max(b.Cov[at][at]+f*f*b.Cov[bend][bend]+2*f*b.Cov[at][bend], 0))
		}
		o.gain = 0.5 * math.Erfc(-o.change*s.o.Better/max(o.sd, 1e-12)/math.Sqrt2)
		all = append(all, o)
	}
	if len(all) == 0 {
		return &fleet.ModelError{Kind: fleet.NotEnough, Terms: []string{"not enough to say"}, Reason: "no player's own club is known",
			Try: "have own clubs measured"}
	}
	newest := time.Time{}
	for _, o := range all {
		if m, err := time.Parse("2006-01", o.when); err == nil && m.After(newest) {
			newest = m
		}
	}
	t.Columns = []Column{{"player", "player", "", Text}, {"studio", "studio", "", Text}, {"change", "own change", s.unit, Change},
		{"ci_low", "95 % from", s.unit, Change},
		{"ci_high", "to", s.unit, Change}, {"chance", "chance of a gain", "", Share}, {"months", "months before the newest visit", "",
			Count}, {"last", "last visit", "", Text}}
	t.Plot = &Plot{Label: "player", Value: "change", Low: "ci_low", High: "ci_high", Unit: s.unit, Better: s.o.Better, Margin: s.margin()}
	order := ranked(len(all), func(i int) float64 { return -all[i].change * s.o.Better })
	sure, mean := 0, 0.0
	for _, o := range all {
		mean += o.change / float64(len(all))
		if o.gain >= 0.9 {
			sure++
		}
	}
	for n, i := range order {
		if n == mostNamed {
			t.note("%d more players are not listed", len(order)-mostNamed)
			break
		}
		o := all[i]
		t.Add(T(o.player), T(o.studio), N(s.of(o.change)), N(s.of(o.change-1.96*o.sd)), N(s.of(o.change+1.96*o.sd)), N(o.gain),
			N(between(o.when, newest)), T(o.when))
	}
	best := all[order[0]]
	t.say("%s: of %d players %d would gain with a chance of nine in ten or more; the average player becomes %s.", upper(x.StepText()),
		len(all), sure, s.does(mean))
	t.say("Most of all %s (%s, last seen %s): %s (%s).", best.player, best.studio, best.when, s.does(best.change),
		s.interval(best.change-1.96*best.sd, best.change+1.96*best.sd))
	t.note("from each player's own club as it is; of players whose own club is not known nothing can be said, and pseudonyms " +
		"lead to names in the studio alone")
	return nil
}

// between are the whole months from one (2026-01) to an instant; NaN of none.
func between(month string, now time.Time) float64 {
	m, err := time.Parse("2006-01", month)
	if err != nil {
		return math.NaN()
	}
	return float64((now.Year()-m.Year())*12 + int(now.Month()) - int(m.Month()))
}
