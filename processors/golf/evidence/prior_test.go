package evidence

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"
)

// fleetPriors are what a fleet might expect of one change of build.
func fleetPriors() map[glossary.Name]Prior {
	return map[glossary.Name]Prior{glossary.Carry: {Mean: 2, SD: 2.5, Source: "fleet", Doubt: FleetDoubt},
		glossary.Direction: {Mean: -0.2, SD: 0.12, Source: "fleet", Doubt: FleetDoubt}}
}

// The posterior under a doubted prior against the integral written out.
func TestDoubtedPosterior(t *testing.T) {
	weak := WeakPrior(glossary.Driver, glossary.Carry)
	tight := WeakPrior(glossary.Driver, glossary.Direction)
	for _, c := range []struct {
		e       estimate
		p, weak Prior
	}{
		{estimate{change: 1, se: 1.5, df: 14, sd: 5, info: 11}, fleetPriors()[glossary.Carry], weak},
		{estimate{change: -14, se: 1.5, df: 14, sd: 5, info: 11}, fleetPriors()[glossary.Carry], weak},
		{estimate{change: 9, se: 0.4, df: 60, sd: 5, info: 160}, fleetPriors()[glossary.Carry], weak},
		{estimate{tight: true, kappa: 0.5, change: 0.35, d1: 12, d2: 9, se: math.Sqrt(trigamma(6)/4 + trigamma(4.5)/4)},
			fleetPriors()[glossary.Direction], tight},
	} {
		d, held, alone := c.e.believed(c.p, c.weak)
		one := func(z float64) float64 { return math.Exp(-z * z / 2) }
		normal := func(x float64, p Prior) float64 {
			f := (1 - p.Large) * one((x-p.Mean)/p.SD) / p.SD
			if p.Large > 0 {
				f += p.Large * one((x-p.Mean)/p.LargeSD) / p.LargeSD
			}
			return f
		}
		var mass, fleet, mean, below float64
		const step = 0.001
		for x := c.e.change - 60*c.e.se; x < c.e.change+60*c.e.se; x += step * c.e.se {
			l := math.Exp(c.e.logLikelihood(x) - c.e.logLikelihood(c.e.change))
			f, w := (1-c.p.Doubt)*l*normal(x, c.p), c.p.Doubt*l*normal(x, c.weak)
			mass, fleet, mean = mass+f+w, fleet+f, mean+x*(f+w)
			if x < 0 {
				below += f + w
			}
		}
		near(t, "held", held, fleet/mass, 2e-3)
		near(t, "mean", d.mean(), mean/mass, 5e-3*c.e.se+2e-3*math.Abs(mean/mass))
		near(t, "below 0", d.below(0), below/mass, 2e-3)
		for _, p := range []float64{0.025, 0.3, 0.975} {
			near(t, "quantile", d.below(d.quantile(p)), p, 1e-6)
		}
		near(t, "whole", d.cdf[len(d.cdf)-1], 1, 1e-9)
		if alone.mean() == d.mean() {
			t.Error("the doubted part is all there is")
		}
	}
}

// seen is what one look at a simulated session says.
type seen struct {
	effect   float64
	better   float64 // odds with the prior
	alone    float64 // and without
	held     float64
	surprise float64
	covered  bool
	verdict  Verdict
}

// look simulates a session with an effect and looks at it once.
func (q question) look(r *rand.Rand, effect float64) (s seen) {
	w := drawWorld(r, nil)
	w.effect[q.name] = effect
	var shots []placed
	for i := range 14 + r.IntN(32) {
		candidate, block := alternating(i)
		shots = append(shots, w.shot(r, candidate, i+1, block))
	}
	e, _, ok := q.taken(glossary.Driver, shots, false)
	if !ok {
		return look0
	}
	d, held, alone := e.believed(q.prior, q.weak)
	o := oddsOf(d, e, q.goal, q.margin, false)
	return seen{effect, o.better, oddsOf(alone, e, q.goal, q.margin, false).better, held, e.surprise(q.prior),
		d.quantile(0.025) <= effect && effect <= d.quantile(0.975), judge(o, e.eValue(q.tau), q.alpha)}
}

var look0 = seen{surprise: 1, better: 0.5, alone: 0.5}

// Effects drawn as they are believed (one in five from the weak default) give
// calibrated odds. From a prior that is right, shots seldom disagree; from one
// that is wrong by five of its own sds they mostly do, and the odds then lean on
// the shots: with no effect at all, no more verdicts of better or worse than
// were promised, whatever the prior said.
func TestARightAndAWrongPrior(t *testing.T) {
	sessions := 1500
	if proof.Wanted() {
		sessions = 40_000
	}
	for _, n := range []glossary.Name{glossary.Carry, glossary.Direction} {
		r := rand.New(rand.NewPCG(5, uint64(len(n))))
		p := fleetPriors()[n]
		q := ask(n, p)
		q.weak = WeakPrior(glossary.Driver, n)
		var odds bins
		covered := 0.0
		for range sessions {
			from := p
			if r.Float64() < p.Doubt {
				from = q.weak
			}
			s := q.look(r, from.draw(r))
			odds.add(s.better, q.truth(s.effect))
			if s.covered {
				covered++
			}
		}
		gap, excess := odds.worst()
		covered /= float64(sessions)
		if excess > 0 || math.Abs(covered-0.95) > 0.01+3*math.Sqrt(0.05*0.95/float64(sessions)) {
			t.Errorf("%s: odds off by %.3f, intervals hold %.3f: %v", n, gap, covered, odds.table())
		}
		right, wrong, said := 0.0, 0.0, 0.0
		var moved, held float64
		bad := q
		bad.prior.Mean = -6 * p.Mean
		for range sessions {
			if q.look(r, p.draw(r)).surprise < Disagreement {
				right++
			}
			s := bad.look(r, p.Mean)
			if s.surprise < Disagreement {
				wrong++
			}
			moved += math.Abs(s.better - s.alone)
			held += s.held
			if v := bad.look(r, 0).verdict; v == Better || v == Worse {
				said++
			}
		}
		k := float64(sessions)
		record(t, "prior", "odds drawn as believed; a prior wrong by many sds", n, sessions, map[string]any{
			"largest_gap": round(gap), "interval_95_covers": round(covered), "right_prior_disagrees": round(right / k),
			"wrong_prior_disagrees": round(wrong / k),
			"wrong_prior_holds":     round(held / k), "wrong_prior_moves_odds": round(moved / k), "no_effect_wrong_prior_verdicts": round(said / k)})
		if right/k > Disagreement+4*math.Sqrt(Disagreement/k) {
			t.Errorf("%s: a right prior disagrees in %.3f of sessions", n, right/k)
		}
		if said/k > 0.05 {
			t.Errorf("%s: a wrong prior gives a verdict in %.3f of sessions without an effect", n, said/k)
		}
		if n == glossary.Carry && (wrong/k < 0.7 || held/k > 0.25 || moved/k > 0.1) {
			t.Errorf("%s: a wrong prior disagrees in %.2f, keeps %.2f of its weight, moves the odds by %.2f", n, wrong/k, held/k, moved/k)
		}
	}
}

// What a report says of a doubted prior, and that 'practically the same' is
// never said on a prior's word.
func TestReportNamesThePrior(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	w := drawWorld(r, nil)
	side := func(name string, n int) Trial {
		out := Trial{Name: name}
		for range n {
			out.Shots = append(out.Shots, w.shot(r, false, 0, 0).Shot)
		}
		return out
	}
	a, b := side("own", 5), side("other", 4)
	sure := map[glossary.Name]Prior{glossary.Carry: {Mean: 0, SD: 0.3, Source: "sure", Doubt: 0.001},
		glossary.Direction: {Mean: -4, SD: 0.05, Source: "wrong", Doubt: FleetDoubt}}
	with, err := Compare(glossary.Driver, []Trial{a}, []Trial{b}, Options{Priors: sure})
	if err != nil {
		t.Fatal(err)
	}
	plain, err := Compare(glossary.Driver, []Trial{a}, []Trial{b}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	carry, _ := with.Outcome(glossary.Carry)
	if carry.ProbSame < 0.95 || carry.Verdict != CannotTell || carry.Why == "" || !carry.Against.Asked {
		t.Errorf("nine shots and a sure prior: %+v", carry)
	}
	direction, _ := with.Outcome(glossary.Direction)
	before, _ := plain.Outcome(glossary.Direction)
	if !direction.Against.Disagrees || direction.Against.Held > 0.01 || direction.EValue != before.EValue ||
		direction.Against.ProbBetter != before.ProbBetter {
		t.Errorf("a wrong prior: %+v, without it %+v", direction, before)
	}
	if before.Against.Asked {
		t.Error("the weak default stands against itself")
	}
	if _, err := Compare(glossary.Driver, []Trial{a}, []Trial{b},
		Options{Priors: map[glossary.Name]Prior{glossary.Carry: {SD: 1, Doubt: 1}}}); err == nil {
		t.Error("a prior of nothing but doubt is taken")
	}
}
