package gauge

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// bays is a world of studios that is not as Offsets believes: the swing drifts from
// day to day instead of being drawn anew, shots have tails, devices' offsets are flat
// or of two sorts, one in six is moved in mid-year, some bays are skipped.
type bays struct {
	name  string
	off   func(r *rand.Rand) float64
	moved bool
	bays  int
}

// truth is how far a device is off on a day, less the mean of its studio's devices:
// what all of them read off alike no check can see.
func (b bays) make(seed uint64) (checks [][]Sample, truth func(studio int, bay string, at int64) float64) {
	r := rand.New(rand.NewPCG(seed, 17))
	const studios, days, shots, sd = 6, 40, 10, 0.7
	type device struct{ before, after float64 }
	all := make([][]device, studios)
	for s := range all {
		for range b.bays {
			d := device{before: b.off(r)}
			d.after = d.before
			if b.moved && r.IntN(6) == 0 {
				d.after = b.off(r)
			}
			all[s] = append(all[s], d)
		}
	}
	at := func(d device, day int64) float64 {
		if day < days/2 {
			return d.before
		}
		return d.after
	}
	for s := range studios {
		var mine []Sample
		swing := 0.0
		for day := range days {
			swing = 0.7*swing + 0.2*r.NormFloat64()
			for i, d := range all[s] {
				if r.IntN(5) == 0 {
					continue
				}
				level := 52 + swing + at(d, int64(day)) + 0.15*r.NormFloat64()
				var sum, squares float64
				for range shots {
					// t with five degrees, of that sd
					w := 0.0
					for range 5 {
						z := r.NormFloat64()
						w += z * z
					}
					x := level + sd*math.Sqrt(3./5)*r.NormFloat64()/math.Sqrt(w/5)
					sum, squares = sum+x, squares+x*x
				}
				m := sum / shots
				mine = append(mine, Sample{Bay: fmt.Sprint(i), Device: "d", Reference: "REF", At: int64(day)*oneDay + int64(i)*600e9,
					Reading: Reading{N: shots, Mean: m, SD: math.Sqrt((squares - shots*m*m) / (shots - 1))}})
			}
		}
		checks = append(checks, mine)
	}
	return checks, func(s int, bay string, t int64) float64 {
		mean, own := 0.0, 0.0
		for i, d := range all[s] {
			x := at(d, t/oneDay)
			mean += x / float64(len(all[s]))
			if fmt.Sprint(i) == bay {
				own = x
			}
		}
		return own - mean
	}
}

// What is taken off brings bays of one studio nearer together, its interval holds what
// is left to be told, and where devices do not differ next to nothing is taken off.
func TestOffsetsBringBaysTogether(t *testing.T) {
	flat := func(r *rand.Rand) float64 { return 3 * (r.Float64() - 0.5) }
	for _, c := range []struct {
		bays
		most  float64 // root mean square of what is left, of what there was
		least float64 // of intervals that hold
	}{
		{bays{"flat", flat, false, 5}, 0.35, 0.9},
		{bays{"flat, some moved in mid-year", flat, true, 5}, 0.5, 0.88},
		{bays{"one in four off by two", func(r *rand.Rand) float64 { return 2 * float64(r.IntN(4)/3) }, false, 4}, 0.4, 0.9},
		{bays{"two bays", flat, false, 2}, 0.6, 0.9},
	} {
		var raw, left, n, held float64
		for seed := range uint64(2) {
			checks, truth := c.make(seed)
			got, drift := Offsets("ball_speed_mps", checks)
			if drift.Between == 0 {
				t.Fatalf("%s: no device is said to differ", c.name)
			}
			for s := range got {
				mean := map[int64][]float64{} // of a morning's bays: what they share cannot be seen
				for _, o := range got[s] {
					mean[o.At/oneDay] = append(mean[o.At/oneDay], o.Bias)
				}
				for _, o := range got[s] {
					if o.At < 5*oneDay || len(mean[o.At/oneDay]) < c.bays.bays {
						continue
					}
					shared := 0.0
					for _, b := range mean[o.At/oneDay] {
						shared += b / float64(c.bays.bays)
					}
					want, have := truth(s, o.Bay, o.At), o.Bias-shared
					raw, left, n = raw+want*want, left+(want-have)*(want-have), n+1
					if math.Abs(want-have) < 1.96*math.Sqrt(o.Variance) {
						held++
					}
				}
			}
		}
		t.Logf("%s: off by %.2f, then by %.2f (%.0f checks), held %.3f", c.name, math.Sqrt(raw/n), math.Sqrt(left/n), n, held/n)
		if ratio := math.Sqrt(left / raw); n < 100 || ratio > c.most || held/n < c.least {
			t.Errorf("%s: %.0f checks, %.2f of what there was is left, intervals hold %.3f", c.name, n, ratio, held/n)
		}
	}
	for seed := range uint64(2) {
		checks, _ := bays{"alike", func(*rand.Rand) float64 { return 0 }, false, 5}.make(seed)
		got, drift := Offsets("ball_speed_mps", checks)
		for _, s := range got {
			for _, o := range s {
				if math.Abs(o.Bias) > 0.15 {
					t.Fatalf("seed %d: devices that are alike have %.2f taken off (%+v)", seed, o.Bias, drift)
				}
			}
		}
	}
}

func TestWhatHasNoOffset(t *testing.T) {
	if got, d := Offsets("ball_speed_mps", [][]Sample{nil, {{Bay: "a", Reading: Reading{N: 3, Mean: 1, SD: 1}}}}); len(got) != 2 ||
		len(got[0])+len(got[1]) != 0 || d != (Drift{}) {
		t.Errorf("of nothing that can be judged: %v, %+v", got, d)
	}
	one := Sample{Bay: "a", Device: "d", Reading: Reading{N: 10, Mean: 50, SD: 1}}
	got, _ := Offsets("ball_speed_mps", [][]Sample{{one}})
	for _, o := range got[0] {
		if o.Bias != 0 {
			t.Errorf("one check of one bay tells nothing of it: %+v", o)
		}
	}
}
