package evidence

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"
)

// falseVerdicts is the share of sessions without an effect in which "better"
// or "worse" was said at any of the looks, one after each shot, up to 60.
func falseVerdicts(sessions int, n glossary.Name, prior Prior, order layout, w func(*rand.Rand) world) float64 {
	r := rand.New(rand.NewPCG(7, uint64(len(n))))
	q := ask(n, prior)
	wrong := 0
	for range sessions {
		session := w(r)
		var shots []placed
		for i := range 60 {
			candidate, block := order(i)
			shots = append(shots, session.shot(r, candidate, i+1, block))
			if i < 5 {
				continue
			}
			e, _, ok := q.taken(glossary.Driver, shots, session.ordered)
			if !ok {
				continue
			}
			ev := e.eValue(q.tau)
			if ev < 1/q.alpha {
				continue
			}
			if v := q.verdictOf(e, ev); v == CannotTell || v == Same {
				continue
			}
			wrong++
			break
		}
	}
	return float64(wrong) / float64(sessions)
}

func (q question) verdictOf(e estimate, ev float64) Verdict {
	return judge(oddsOf(e.posterior(q.prior), e, q.goal, q.margin, false), ev, q.alpha)
}

func TestErrorAtAnyLook(t *testing.T) {
	clean := func(r *rand.Rand) world { return drawWorld(r, nil) }
	with := func(change func(*world)) func(*rand.Rand) world {
		return func(r *rand.Rand) world {
			w := drawWorld(r, nil)
			change(&w)
			return w
		}
	}
	ordered := with(func(w *world) { w.ordered = true })
	drifting := with(func(w *world) { w.ordered, w.drift = true, 0.02 })
	unseen := with(func(w *world) { w.drift = 0.02 })
	wild := with(func(w *world) { w.mishits = 0.1 })
	unequal := with(func(w *world) { w.unequal = 1.5 })
	wrongPrior := func(n glossary.Name) Prior {
		p := WeakPrior(glossary.Driver, n)
		p.Mean, p.SD = 2*p.SD, p.SD/2
		return p
	}
	sessions := 150
	if proof.Wanted() {
		sessions = 4000
	}
	for _, c := range []struct {
		what     string
		n        glossary.Name
		order    layout
		world    func(*rand.Rand) world
		prior    func(glossary.Name) Prior
		promised bool
	}{
		{"normal shots", glossary.Carry, abThenLong, clean, nil, true},
		{"normal shots", glossary.Direction, abThenLong, clean, nil, true},
		{"normal shots", glossary.Area, abThenLong, clean, nil, true},
		{"blocks of five in turn", glossary.Carry, alternating, ordered, nil, true},
		{"blocks of five in turn", glossary.Direction, alternating, ordered, nil, true},
		{"blocks of five in turn", glossary.Area, alternating, ordered, nil, true},
		{"prior wrong by two sd", glossary.Carry, abThenLong, clean, wrongPrior, true},
		{"prior wrong by two sd", glossary.Area, abThenLong, clean, wrongPrior, true},
		{"drift of one sd in 50 shots, order known, in turn", glossary.Carry, alternating, drifting, nil, true},
		{"drift of one sd in 50 shots, order known, one after the other", glossary.Carry, abThenLong, drifting, nil, false},
		{"drift of one sd in 50 shots, order not known", glossary.Carry, abThenLong, unseen, nil, false},
		{"a player who does not wander between blocks", glossary.Carry, alternating, with(func(w *world) { w.ordered, w.wander = true, 0 }), nil,
			true},
		{"a player who wanders twice as much between blocks", glossary.Carry, alternating,
			with(func(w *world) { w.ordered, w.wander = true, 2*Wander }), nil, false},
		{"candidate scatters 1.5 times as wide", glossary.Carry, abThenLong, unequal, nil, false},
		{"one shot in ten a mishit", glossary.Carry, abThenLong, wild, nil, false},
		{"one shot in ten a mishit", glossary.Direction, abThenLong, wild, nil, true},
		{"one shot in ten a mishit", glossary.DistanceControl, abThenLong, wild, nil, true},
		{"one shot in ten a mishit", glossary.Area, abThenLong, wild, nil, true},
	} {
		prior := WeakPrior(glossary.Driver, c.n)
		if c.prior != nil {
			prior = c.prior(c.n)
		}
		share := falseVerdicts(sessions, c.n, prior, c.order, c.world)
		record(t, "anytime", c.what, c.n, sessions, map[string]any{"alpha": 0.05, "share_false_verdict": round(share), "promised": c.promised})
		if limit := 0.05 + 3*math.Sqrt(0.05*0.95/float64(sessions)); c.promised && share > limit {
			t.Errorf("%s, %s: a false verdict in %.3f of sessions, promised 0.05 (limit %.3f)", c.what, c.n, share, limit)
		}
	}
}

// TestErrorCheckCanFail shows that the test above has teeth: judging by the
// usual p-value at every look errs far more often than promised.
func TestErrorCheckCanFail(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	q := ask(glossary.Carry, WeakPrior(glossary.Driver, glossary.Carry))
	wrong := 0
	const sessions = 400
	for range sessions {
		w := drawWorld(r, nil)
		var shots []placed
		for i := range 60 {
			candidate, block := abThenLong(i)
			shots = append(shots, w.shot(r, candidate, i+1, block))
			if e, _, ok := q.taken(glossary.Driver, shots, false); ok && math.Abs(e.change/e.se) > 2.05 {
				wrong++
				break
			}
		}
	}
	if share := float64(wrong) / sessions; share < 0.1 {
		t.Errorf("peeking at p < 0.05 erred in %.3f of sessions only; the simulation cannot tell good from bad", share)
	}
}
