package fleet_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/fleet/planted"
)

// catalogue are the builds that a studio could hand a player: the incumbent
// with one or two attributes a step or two away.
func catalogue(incumbent [fleet.AttributeCount]float64, attrs []fleet.Attribute) []fleet.Candidate {
	var out []fleet.Candidate
	add := func(name string, change map[fleet.Attribute]float64) {
		c := fleet.Candidate{Build: name, Attributes: incumbent}
		for a, s := range change {
			c.Attributes[a] += s * a.Step()
		}
		out = append(out, c)
	}
	for _, a := range attrs {
		for _, s := range []float64{-2, -1, 1, 2} {
			add(a.Name(), map[fleet.Attribute]float64{a: s})
		}
	}
	add("shorter and more upright", map[fleet.Attribute]float64{fleet.Length: -1, fleet.Lie: 1})
	add("longer and flatter", map[fleet.Attribute]float64{fleet.Length: 1, fleet.Lie: -1})
	return out
}

// TestAdviceBeatsTheAverageAndTheUnprofiled follows the advice on players that
// the fleet never saw, whose true answer is known.
func TestAdviceBeatsTheAverageAndTheUnprofiled(t *testing.T) {
	o := planted.Options{Players: 250, Sessions: 2, Trials: 7, Shots: 10, Seed: 11, Order: true,
		Attributes: []fleet.Attribute{fleet.Length, fleet.Lie, fleet.ShaftWeight}, Traits: []string{"speed_mps", "path_deg"}}
	unseen := 60
	if proof.Wanted() {
		o.Players, unseen = 1500, 1000
	}
	o.Players += unseen
	trials, truth := planted.Fleet(o)
	players := map[string][]fleet.Trial{}
	var ids []string
	for _, tr := range trials {
		if players[tr.Player] == nil {
			ids = append(ids, tr.Player)
		}
		players[tr.Player] = append(players[tr.Player], tr)
	}
	var train []fleet.Trial
	for _, id := range ids[unseen:] {
		train = append(train, players[id]...)
	}
	a, err := fleet.Ask(context.Background(), train, question(o))
	if err != nil {
		t.Fatal(err)
	}
	plain := question(o)
	plain.Traits = []string{}
	unprofiled, err := fleet.Ask(context.Background(), train, plain)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(9, 9))
	sum := map[string]float64{}
	inside, intervals := 0.0, 0.0
	for _, id := range ids[:unseen] {
		own := players[id]
		incumbent := own[0].Attributes
		// A truth of the player's own: traits plus slopes never seen.
		slope := map[fleet.Attribute]float64{}
		traits := map[string]float64{}
		for _, at := range o.Attributes {
			slope[at] = truth.Terms[at.Name()] + truth.SlopeSD[at.Name()]*rng.NormFloat64()
		}
		for i, n := range fleet.TraitNames {
			for _, have := range o.Traits {
				if n == have {
					traits[n] = own[0].Traits[i]
					z := (traits[n] - truth.Center[n]) / truth.Spread[n]
					for _, at := range o.Attributes {
						slope[at] += truth.Terms[at.Name()+":"+n] * z
					}
				}
			}
		}
		gain := func(b [fleet.AttributeCount]float64) float64 {
			g := 0.0
			for _, at := range o.Attributes {
				x0 := (incumbent[at] - truth.Reference[at]) / at.Step()
				x := (b[at] - truth.Reference[at]) / at.Step()
				g -= slope[at]*(x-x0) + truth.Terms[at.Name()+"_curve"]*(x*x-x0*x0)
			}
			return g
		}
		list := catalogue(incumbent, o.Attributes)
		best, mean := 0.0, 0.0
		for _, c := range list {
			best = math.Max(best, gain(c.Attributes))
			mean += gain(c.Attributes) / float64(len(list))
		}
		// Names are not unique in the catalogue: make them so.
		index := map[string]int{}
		for i := range list {
			list[i].Build = string(rune('a' + i))
			index[list[i].Build] = i
		}
		follow := func(ans *fleet.Answer, own []fleet.Trial) float64 {
			adv, err := fleet.Advise(ans, nil, fleet.PlayerState{Traits: traits, Incumbent: incumbent, Trials: own}, list, fleet.AdviceOptions{})
			if err != nil {
				t.Fatal(err)
			}
			if ans == a {
				for _, v := range adv {
					intervals++
					if g := gain(list[index[v.Build]].Attributes); v.GainLow <= g && g <= v.GainHigh {
						inside++
					}
				}
			}
			if adv[0].Gain <= 0 {
				return 0
			}
			return gain(list[index[adv[0].Build]].Attributes)
		}
		sum["profiled"] += follow(a, nil)
		sum["unprofiled"] += follow(unprofiled, nil)
		sum["average of builds"] += mean
		sum["best"] += best
	}
	for k := range sum {
		sum[k] /= float64(unseen)
	}
	cover := inside / intervals
	t.Logf("mean gain in ln spread over %d unseen players: profiled advice %.3f, unprofiled %.3f, average build %.3f, best build %.3f "+
		"(regret %.3f); intervals hold the true gain in %.1f %%",
		unseen, sum["profiled"], sum["unprofiled"], sum["average of builds"], sum["best"], sum["best"]-sum["profiled"], 100*cover)
	if sum["profiled"] <= sum["unprofiled"] || sum["profiled"] <= sum["average of builds"] {
		t.Error("following the advice is no better than not asking")
	}
	// Gains of one player's builds hang together, so the share is uncertain by
	// far more than its builds suggest: count players.
	if se := math.Sqrt(0.95 * 0.05 / float64(unseen)); cover < 0.95-3*se {
		t.Errorf("intervals hold the true gain in %.1f %%", 100*cover)
	}
}

func TestOwnTrialsSharpenAdvice(t *testing.T) {
	trials, _ := planted.Fleet(small)
	a := ask(t, trials, question(small))
	own := trials[:7]
	traits := map[string]float64{}
	for i, n := range fleet.TraitNames {
		traits[n] = own[0].Traits[i]
	}
	list := catalogue(own[0].Attributes, small.Attributes)
	state := fleet.PlayerState{Traits: traits, Incumbent: own[0].Attributes}
	before, err := fleet.Advise(a, nil, state, list, fleet.AdviceOptions{})
	if err != nil {
		t.Fatal(err)
	}
	state.Trials = own
	after, err := fleet.Advise(a, nil, state, list, fleet.AdviceOptions{})
	if err != nil {
		t.Fatal(err)
	}
	width := func(adv []fleet.Advice) (w float64) {
		for _, x := range adv {
			w += x.GainHigh - x.GainLow
		}
		return w
	}
	if width(after) >= width(before) {
		t.Error("a player's own trials did not narrow the intervals")
	}
	tries := map[int]int{}
	for i, x := range after {
		tries[x.Try]++
		if i > 0 && x.Gain > after[i-1].Gain {
			t.Error("candidates are not in the order of their gain")
		}
		if x.Learn < 0 || math.IsNaN(x.Learn) || len(x.Evidence) == 0 {
			t.Errorf("%+v", x)
		}
	}
	if tries[1] != 1 || tries[2] != 1 || tries[3] != 1 {
		t.Errorf("trials worth hitting first: %v", tries)
	}
	state.Traits = nil
	if _, err := fleet.Advise(a, nil, state, list, fleet.AdviceOptions{}); err == nil {
		t.Error("advice without the traits that the model needs")
	}
}

func TestPlayersNeededHoldsItsPromise(t *testing.T) {
	q := fleet.PowerQuestion{Effect: 0.08, Variance: 0.06, Tau2: 0.01, SlopeSD: 0.06}
	got, err := fleet.PlayersNeeded(q)
	if err != nil {
		t.Fatal(err)
	}
	// Simulate the contrast of each player and test the mean.
	rng := rand.New(rand.NewPCG(2, 3))
	const runs = 4000
	hit := 0.0
	for range runs {
		s, ss := 0.0, 0.0
		for range got.Players {
			x := q.Effect + math.Sqrt(q.SlopeSD*q.SlopeSD+2*(q.Variance+q.Tau2))*rng.NormFloat64()
			s += x
			ss += x * x
		}
		n := float64(got.Players)
		se := math.Sqrt((ss - s*s/n) / (n - 1) / n)
		if math.Abs(s/n/se) > 1.97 {
			hit++
		}
	}
	if p := hit / runs; math.Abs(p-0.8) > 0.03 {
		t.Errorf("%d players find the effect in %.1f %%, promised 80", got.Players, 100*p)
	}
	more, _ := fleet.PlayersNeeded(fleet.PowerQuestion{Effect: 0.08, Variance: 0.06, Tau2: 0.01, SlopeSD: 0.06, Pairs: 4})
	if more.Players >= got.Players {
		t.Error("more pairs a player do not help")
	}
	for _, bad := range []fleet.PowerQuestion{{}, {Effect: math.NaN(), Variance: 1}, {Effect: 1, Variance: -1}, {Effect: 1},
		{Effect: 1e-9, Variance: 1}} {
		if a, err := fleet.PlayersNeeded(bad); err == nil {
			t.Errorf("%+v: %+v", bad, a)
		}
	}
}
