package evidence

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"
)

// TestShotsNeeded lets sessions go on in balanced shots after the forecast and
// counts how many are decided by its p50 and by its p90.
func TestShotsNeeded(t *testing.T) {
	sessions := 150
	if proof.Wanted() {
		sessions = 2500
	}
	for _, n := range []glossary.Name{glossary.Carry, glossary.Direction} {
		r := rand.New(rand.NewPCG(5, uint64(len(n))))
		q := ask(n, WeakPrior(glossary.Driver, n))
		var in50, of50, in90, of90 float64
		for range sessions {
			w := drawWorld(r, map[glossary.Name]Prior{n: q.prior})
			var shots []placed
			hit := func() {
				i := len(shots)
				candidate, block := alternating(i)
				shots = append(shots, w.shot(r, candidate, i+1, block))
			}
			for range 20 {
				hit()
			}
			e, _, ok := q.taken(glossary.Driver, shots, false)
			if !ok || q.verdictOf(e, e.eValue(q.tau)) != CannotTell {
				continue
			}
			forecast := q.needed(e, e.posterior(q.prior))
			last := max(forecast.P50, forecast.P90)
			if forecast.P90 < 0 || last > 400 {
				last = forecast.P50 // p90 lies too far off to wait for
			}
			if last < 0 || last > 400 {
				continue
			}
			decided := math.MaxInt
			for _, k := range looks {
				if 2*k > last {
					break
				}
				for len(shots) < 20+2*k {
					hit()
				}
				e, _, _ := q.taken(glossary.Driver, shots, false)
				if q.verdictOf(e, e.eValue(q.tau)) != CannotTell {
					decided = 2 * k
					break
				}
			}
			of50++
			if decided <= forecast.P50 {
				in50++
			}
			if last == forecast.P90 {
				of90++
				if decided <= forecast.P90 {
					in90++
				}
			}
		}
		record(t, "shots needed", "20 shots, then balanced", n, sessions, map[string]any{
			"decided_by_p50": round(in50 / max(of50, 1)), "decided_by_p90": round(in90 / max(of90, 1)), "forecasts_p50": of50,
			"forecasts_p90": of90})
		// A forecast on a grid of looks is a little late by design: its quantile
		// is the first look with at least that share, so more may be decided.
		if s := in50 / of50; of50 >= 20 && (s < 0.5-0.05-3*math.Sqrt(0.25/of50) || s > 0.62+3*math.Sqrt(0.25/of50)) {
			t.Errorf("%s: %.3f of %g sessions decided by p50", n, s, of50)
		}
		if s := in90 / of90; of90 >= 20 && math.Abs(s-0.91) > 0.05+3*math.Sqrt(0.09/of90) {
			t.Errorf("%s: %.3f of %g sessions decided by p90", n, s, of90)
		}
	}
}
