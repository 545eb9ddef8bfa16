package world

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/gauge"
)

// checks are a studio's mornings with a swing that drifts from day to day, of a trait.
func checks(seed uint64, trait string, off []float64) (out []gauge.Sample) {
	r := rand.New(rand.NewPCG(seed, 3))
	f := people[trait]
	sd := 0.15 * f[1]
	day := 0.0
	for morning := range 25 {
		day = 0.7*day + 0.3*sd*r.NormFloat64()
		for bay, x := range off {
			if r.IntN(6) == 0 {
				continue
			}
			out = append(out, gauge.Sample{Bay: fmt.Sprintf("bay-%d", bay), Device: "d", Reference: "REF", At: int64(morning) * 24 * 3600e9,
				Reading: gauge.Reading{N: 10, SD: sd, Mean: f[0] + day + f[1]*x + 0.25*sd*r.NormFloat64() + sd/math.Sqrt(10)*r.NormFloat64()}})
		}
	}
	return out
}

// What devices read off hides how far an effect depends on the swing; taken off by what
// the morning checks say of them, with the variance of that among the traits' errors,
// the intervals hold again.
func TestChecksOfBaysMendWhatTheirDevicesReadOff(t *testing.T) {
	fleets := uint64(12)
	if proof.Wanted() {
		fleets = 200
	}
	w := World{Name: "devices read off", Players: 1200, Studios: 8, Off: 0.8}
	figures := map[string]string{"speed_mps": "clubhead_speed_mps", "attack_deg": "attack_angle_deg"}
	var held, offBy [2]float64
	for seed := range fleets {
		raw := w.Make(seed)
		mended := append([]fleet.Trial(nil), raw...)
		for trait, figure := range figures {
			var studios [][]gauge.Sample
			for s, off := range w.Offsets(seed) {
				studios = append(studios, checks(seed*100+uint64(s), trait, off))
			}
			last := map[string]gauge.Offset{}
			got, _ := gauge.Offsets(figure, studios)
			for s, list := range got {
				for _, o := range list {
					last[fmt.Sprintf("studio-%02d-%s", s, o.Bay)] = o
				}
			}
			for k, name := range fleet.TraitNames {
				for i := range mended {
					if o, ok := last[mended[i].Device]; ok && name == trait {
						mended[i].Traits[k] -= o.Bias
						mended[i].TraitErrors[k] += o.Variance
					}
				}
			}
		}
		for n, trials := range [][]fleet.Trial{raw, mended} {
			a, err := fleet.Ask(t.Context(), trials, fleet.Question{Outcome: "direction", Attributes: Attributes, Traits: Traits})
			if err != nil {
				t.Fatal(err)
			}
			for _, e := range a.Fit.Terms {
				if e.Name != "length:speed_mps" {
					continue
				}
				// A step by one sd of the true trait, whatever the measured ones' spread is.
				scale := people["speed_mps"][1] / a.Design.Spread[0]
				truth := bySpd[fleet.Length]
				offBy[n] += (e.Value*scale - truth) / float64(fleets)
				if e.CILow*scale <= truth && truth <= e.CIHigh*scale {
					held[n] += 1 / float64(fleets)
				}
			}
		}
	}
	t.Logf("dependence of %.3f on speed: as measured off by %+.4f, held in %.2f; with checks %+.4f, %.2f", bySpd[fleet.Length], offBy[0],
		held[0], offBy[1], held[1])
	if limit := 0.95 - 3*math.Sqrt(0.95*0.05/float64(fleets)); held[1] < limit {
		t.Errorf("with checks intervals hold %.2f, not %.2f", held[1], limit)
	}
	if math.Abs(offBy[1]) > math.Abs(offBy[0])/2 {
		t.Errorf("with checks it is off by %+.4f, as measured by %+.4f", offBy[1], offBy[0])
	}
}
