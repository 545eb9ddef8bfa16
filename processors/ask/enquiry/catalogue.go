package enquiry

import (
	"context"
	"math"

	"fairlead/processors/golf/fleet"
)

// near is how far a build may be from another, in steps of every attribute, to count
// as one like it: half of what a shop would change.
const near = 0.5

// kin says whether two trials' builds are alike: the same models where both are known,
// and no attribute more than half a step apart.
func kin(a, b *fleet.Trial) bool {
	if a.Head != "" && b.Head != "" && a.Head != b.Head || a.Shaft != "" && b.Shaft != "" && a.Shaft != b.Shaft {
		return false
	}
	for i := range a.Attributes {
		x := math.Abs(a.Attributes[i]-b.Attributes[i]) / fleet.Attribute(i).Step()
		if x > near+1e-9 { // not where one is unknown
			return false
		}
	}
	return true
}

// mostBuilds are listed.
const mostBuilds = 60

// builds compares what the catalogue's builds do for the average player, by their
// figures, their models and what each does beyond both; exact counts those who met the
// build itself, near those who met one like it.
func builds(ctx context.Context, d *desk, t *Table) error {
	trials, err := d.trials(ctx, t, false)
	if err != nil {
		return err
	}
	q := d.question(trials)
	q.Also = []string{"grip"}
	a, err := fleet.Ask(ctx, trials, q)
	if err != nil {
		return err
	}
	names, err := d.fleet.Builds(ctx, d.mark.Snapshot, d.of.Filter.Category, 5000)
	if err != nil {
		return err
	}
	named := map[string]string{}
	for _, b := range names {
		named[b.Key] = b.Name
	}
	first := map[string]*fleet.Trial{}
	for i := range trials {
		if x := &trials[i]; !x.Gamer && first[x.Build] == nil {
			first[x.Build] = x
		}
	}
	exact := metBy(trials, func(x *fleet.Trial) string { return x.Build })
	type row struct {
		key        string
		change, se float64
		near       int
	}
	var rows []row
	for key, x := range first {
		r := row{key: key}
		if r.change, r.se, err = a.Whole(x.Attributes, map[string]string{"build": key, "head": x.Head, "shaft": x.Shaft,
			"grip": x.Grip}); err != nil {
			continue // an attribute that the question knows is not known of it
		}
		for other, y := range first {
			if kin(x, y) {
				r.near += exact.players[other]
			}
		}
		rows = append(rows, r)
	}
	if len(rows) == 0 {
		return &fleet.ModelError{Kind: fleet.NotEnough, Terms: []string{"not enough to say"},
			Reason: "no build beside players' own was hit", Try: "widen the filters"}
	}
	s := d.shown()
	order := ranked(len(rows), func(i int) float64 { return -rows[i].change * s.o.Better })
	t.Columns = []Column{{"build", "build", "", Text}, {"change", "against the average build", s.unit, Change}, {"ci_low", "95 % from",
		s.unit, Change},
		{"ci_high", "to", s.unit, Change}, {"exact", "players, exact", "", Count}, {"near", "players, exact or near", "", Count}, {"key",
			"key", "", Key}}
	t.Plot = &Plot{Label: "build", Value: "change", Low: "ci_low", High: "ci_high", Unit: s.unit, Better: s.o.Better, Margin: s.margin()}
	for n, i := range order {
		if n >= mostBuilds {
			t.note("%d more builds are not listed", len(order)-mostBuilds)
			break
		}
		r := rows[i]
		name := named[r.key]
		if name == "" {
			name = r.key
		}
		t.Add(T(name), N(s.of(r.change)), N(s.of(r.change-1.96*r.se)), N(s.of(r.change+1.96*r.se)), C(exact.players[r.key]), C(r.near),
			T(r.key))
	}
	best := rows[order[0]]
	t.say("For the average player %s is %s than the average build (%s); %d players hit it, %d hit it or one like it.", t.Rows[0][0].Text,
		s.does(best.change),
		s.interval(best.change-1.96*best.se, best.change+1.96*best.se), exact.players[best.key], best.near)
	t.note("near: the same models, and no attribute more than half a step away; a build that few met is judged by what it is, " +
		"and its interval says so")
	return nil
}

// pairs asks which two attributes do more together than apart.
func pairs(ctx context.Context, d *desk, t *Table) error {
	trials, err := d.trials(ctx, t, true)
	if err != nil {
		return err
	}
	found, err := fleet.Pairs(ctx, trials, d.question(trials))
	if err != nil {
		return err
	}
	if len(found) == 0 {
		return &fleet.ModelError{Kind: fleet.NotEnough, Terms: []string{"not enough to say"},
			Reason: "no two attributes vary together in a session",
			Try:    "change two things now and then"}
	}
	s := d.shown()
	t.Columns = []Column{{"pair", "both by one step", "", Text}, {"change", "beyond each alone", s.unit, Change}, {"ci_low", "95 % from",
		s.unit, Change},
		{"ci_high", "to", s.unit, Change}, {"p", "p", "", Odds}, {"q", "adjusted p", "", Odds}, {"levels", "runs with both", "", Count}}
	t.Plot = &Plot{Label: "pair", Value: "change", Low: "ci_low", High: "ci_high", Unit: s.unit, Better: s.o.Better, Margin: s.margin()}
	stands := 0
	for _, p := range found {
		t.Add(T(p.A.StepText()+" and "+p.B.StepText()), N(s.of(p.Change)), N(s.of(p.Low)), N(s.of(p.High)), N(p.P), N(p.Q), C(p.Levels))
		if p.Q <= fleet.FalseDiscovery {
			stands++
			t.say("%s, taken together, are %s than the two apart (%s; adjusted p %s, %d runs).", upper(p.A.StepText()+" and "+p.B.StepText()),
				s.does(p.Change),
				s.interval(p.Low, p.High), odds(p.Q), p.Levels)
		}
	}
	if stands == 0 {
		t.say("No pair stands out: as far as %d runs tell, changes add up.", found[0].Levels)
	}
	return nil
}
