package evidence

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"
)

// bins collects statements of odds by tenths, with what turned out true.
type bins [10]struct{ n, stated, true float64 }

func (b *bins) add(odds float64, truth bool) {
	i := min(int(odds*10), 9)
	b[i].n++
	b[i].stated += odds
	if truth {
		b[i].true++
	}
}

// worst returns the largest gap between what was stated and what was true, and
// the largest excess of a gap over what is allowed: two points or three
// standard errors, whichever is larger. The small run has a hundred bins of
// some fifty statements, of which one may well lie three standard errors off; it
// allows four.
func (b *bins) worst() (gap, excess float64) {
	excess = -1
	errors := 4.0
	if proof.Wanted() {
		errors = 3
	}
	for _, c := range b {
		if c.n < 30 {
			continue
		}
		p := c.stated / c.n
		g := math.Abs(c.true/c.n - p)
		gap = max(gap, g)
		excess = max(excess, g-max(0.02, errors*math.Sqrt(p*(1-p)/c.n)))
	}
	return gap, excess
}

// table lists, per bin, how many statements, the mean stated, the share true.
func (b *bins) table() (out []string) {
	for _, c := range b {
		if c.n > 0 {
			out = append(out, fmt.Sprintf("%.0f: %.3f %.3f", c.n, c.stated/c.n, c.true/c.n))
		}
	}
	return out
}

// calibration is what a run of simulated sessions found.
type calibration struct {
	random, stopped bins    // odds at a random look; at the moment of the verdict, or the end
	covered         float64 // share of 95 % intervals that hold the truth
	same, sameTrue  float64 // verdicts "practically the same", and those within the margin
	said, wrong     float64 // verdicts better or worse, and those of the wrong sign
}

// calibrate simulates sessions whose effects come from truth, judged by a
// prior that may be another.
func calibrate(sessions int, n glossary.Name, truth, prior Prior, order layout, change func(*world)) calibration {
	r := rand.New(rand.NewPCG(11, uint64(len(n))))
	q := ask(n, prior)
	var out calibration
	for range sessions {
		w := drawWorld(r, map[glossary.Name]Prior{n: truth})
		if change != nil {
			change(&w)
		}
		effect := w.effect[n]
		at := 14 + r.IntN(32)
		var shots []placed
		verdict := CannotTell
		last := 0.5
		for i := range 46 {
			candidate, block := order(i)
			shots = append(shots, w.shot(r, candidate, i+1, block))
			if i < 13 || (i != at && (i%8 != 5 || verdict != CannotTell)) {
				continue
			}
			e, _, ok := q.taken(glossary.Driver, shots, w.ordered)
			if !ok {
				continue
			}
			d := e.posterior(q.prior)
			o := oddsOf(d, e, q.goal, q.margin, false)
			if i == at {
				out.random.add(o.better, q.truth(effect))
				if d.quantile(0.025) <= effect && effect <= d.quantile(0.975) {
					out.covered++
				}
			}
			if verdict == CannotTell {
				last = o.better
				verdict = judge(o, e.eValue(q.tau), q.alpha)
			}
			if i >= at && verdict != CannotTell {
				break
			}
		}
		out.stopped.add(last, q.truth(effect))
		switch verdict {
		case Same:
			out.same++
			if math.Abs(effect) <= q.margin {
				out.sameTrue++
			}
		case Better, Worse:
			out.said++
			if (verdict == Better) != q.truth(effect) {
				out.wrong++
			}
		}
	}
	out.covered /= float64(sessions)
	return out
}

func TestOddsAreCalibrated(t *testing.T) {
	// In the full proof every bin of a promised world holds enough statements
	// for the two points to bite: three standard errors are less from 5,600 on, and
	// a calibrated bin then fails by chance once in ten thousand, not once in 400.
	promised, others := 500, 300
	if proof.Wanted() {
		promised, others = 200000, 8000
	}
	weak := func(n glossary.Name) Prior { return WeakPrior(glossary.Driver, n) }
	shifted := func(mean, sd float64) func(glossary.Name) Prior {
		return func(n glossary.Name) Prior {
			p := weak(n)
			return Prior{Mean: mean * p.SD, SD: sd * p.SD}
		}
	}
	// As large as the fleets that were planted show them: four percent of a spread.
	small := func(glossary.Name) Prior { return Prior{SD: 0.04} }
	ordered := func(w *world) { w.ordered = true }
	for _, c := range []struct {
		what     string
		n        glossary.Name
		truth    func(glossary.Name) Prior // where effects come from; the weak prior judges them
		order    layout
		change   func(*world)
		promised bool
	}{
		{"normal shots, the prior is right", glossary.Carry, weak, abThenLong, nil, true},
		{"normal shots, the prior is right", glossary.Direction, weak, abThenLong, nil, true},
		{"normal shots, the prior is right", glossary.Area, weak, abThenLong, nil, true},
		{"blocks of five in turn", glossary.Carry, weak, alternating, ordered, true},
		{"blocks of five in turn", glossary.DistanceControl, weak, alternating, ordered, true},
		{"a player who does not wander between blocks", glossary.Carry, weak, alternating, func(w *world) { w.ordered, w.wander = true, 0 },
			false},
		{"a player who wanders twice as much between blocks", glossary.Carry, weak, alternating,
			func(w *world) { w.ordered, w.wander = true, 2*Wander }, false},
		{"scatter grows with carry", glossary.Carry, weak, abThenLong, func(w *world) { w.proportional = true }, false},
		{"effects half as large as the prior says", glossary.Carry, shifted(0, 0.5), abThenLong, nil, false},
		{"effects half as large as the prior says", glossary.Direction, shifted(0, 0.5), abThenLong, nil, false},
		{"effects twice as large as the prior says", glossary.Carry, shifted(0, 2), abThenLong, nil, false},
		{"effects worse by one prior sd on average", glossary.Carry, shifted(-1, 1), abThenLong, nil, false},
		{"effects worse by one prior sd on average", glossary.Direction, shifted(1, 1), abThenLong, nil, false},
		{"effects of four percent", glossary.Direction, small, abThenLong, nil, false},
		{"effects of four percent", glossary.DistanceControl, small, alternating, ordered, false},
		{"one shot in ten a mishit", glossary.Carry, weak, abThenLong, func(w *world) { w.mishits = 0.1 }, false},
		{"one shot in ten a mishit", glossary.Direction, weak, abThenLong, func(w *world) { w.mishits = 0.1 }, false},
		{"one shot in ten a mishit", glossary.DistanceControl, weak, abThenLong, func(w *world) { w.mishits = 0.1 }, false},
		{"one shot in ten a mishit", glossary.Area, weak, abThenLong, func(w *world) { w.mishits = 0.1 }, false},
		{"drift of one sd in 50 shots, order known, in turn", glossary.Carry, weak, alternating,
			func(w *world) { w.ordered, w.drift = true, 0.02 }, false},
		{"drift of one sd in 50 shots, order not known", glossary.Carry, weak, abThenLong, func(w *world) { w.drift = 0.02 }, false},
	} {
		sessions := others
		if c.promised {
			sessions = promised
		}
		got := calibrate(sessions, c.n, c.truth(c.n), weak(c.n), c.order, c.change)
		gap, excess := got.random.worst()
		gapStopped, excessStopped := got.stopped.worst()
		result := map[string]any{
			"promised": c.promised, "largest_gap": round(gap), "largest_gap_at_verdict": round(gapStopped),
			"interval_95_covers": round(got.covered), "bins_n_stated_true": got.random.table(),
		}
		if got.same > 0 {
			result["same_true"] = round(got.sameTrue / got.same)
		}
		if got.said > 0 {
			result["better_or_worse_wrong_sign"] = round(got.wrong / got.said)
		}
		record(t, "calibration", c.what, c.n, sessions, result)
		if !c.promised {
			continue
		}
		if excess > 0 || excessStopped > 0 {
			t.Errorf("%s, %s: stated and true odds differ by %.3f (%.3f at the verdict), more than allowed", c.what, c.n, gap, gapStopped)
		}
		if limit := 0.01 + 3*math.Sqrt(0.05*0.95/float64(sessions)); math.Abs(got.covered-0.95) > limit {
			t.Errorf("%s, %s: 95 %% intervals hold the truth in %.3f of sessions", c.what, c.n, got.covered)
		}
	}
}
