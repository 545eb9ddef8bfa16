package gauge

import (
	"cmp"
	"math"
	"slices"

	"fairlead/processors/golf/evidence"
)

// Sample is one check's reading of one figure, with what it was read by.
type Sample struct {
	Bay, Device string
	Reference   string // the club and ball that were hit
	At          int64  // Unix ns
	Reading
}

// Offset is how far a bay's device reads off from a time on: what is taken off a
// figure that it measured. Of several of one bay and device the latest holds.
type Offset struct {
	Bay, Device string
	At          int64   // Unix ns
	Bias        float64 // in the figure's unit, positive: it reads more
	Variance    float64 // of the bias's error
}

// Drift says how devices of a figure differ and move, as the checks themselves show.
type Drift struct {
	Between float64 // sd between devices
	Daily   float64 // sd by which one moves in a day
	Level   float64 // how much further the swing's level moves than evidence.Wander says
}

const (
	oneDay     = 24 * 3600e9
	oneMorning = int64(12 * 3600e9)
	stepped    = 3.8  // standard errors beyond which a device was set up anew
	stepOdds   = 1e-3 // of that, on a day
	mostTried  = 20   // studios that the drift is learnt from
)

// Offsets says of one figure how far each bay's device reads off, from each of its
// checks on; studios are those whose checks are given, and the answers stand in their
// order. A reading is the reference club's own level, the device's offset, the swing
// of the day, which all bays share, and the run's own wander:
//
//	y = μ(reference) + o(device) + day + run + e,  o ~ N(0, κ²), moving by q a day
//
// followed by a Kalman filter, so that an offset rests on what was known by then. κ, q
// and the swing's wander are those that make the checks likeliest, out of a few; where
// the checks show no more than a swing explains, κ is 0 and nothing is taken off. What
// all devices of a studio read off alike cannot be seen, and stays in the variance.
func Offsets(figure string, studios [][]Sample) ([][]Offset, Drift) {
	var usable [][]Sample
	var squares, degrees, mean, n float64
	for _, s := range studios {
		var keep []Sample
		for _, x := range s {
			if x.N >= LeastShots && x.SD > 0 && !math.IsInf(x.SD, 0) && !math.IsNaN(x.Mean) && !math.IsInf(x.Mean, 0) {
				keep = append(keep, x)
				squares, degrees = squares+x.SD*x.SD*float64(x.N-1), degrees+float64(x.N-1)
				mean, n = mean+x.Mean, n+1
			}
		}
		slices.SortFunc(keep, func(a, b Sample) int {
			return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Bay, b.Bay), cmp.Compare(a.Device, b.Device), cmp.Compare(a.Mean, b.Mean))
		})
		usable = append(usable, keep)
	}
	out := make([][]Offset, len(studios))
	if n == 0 {
		return out, Drift{}
	}
	sd, step := math.Sqrt(squares/degrees), margin(figure, mean/n)
	var best Drift
	most := math.Inf(-1)
	for _, between := range []float64{0, 0.25, 0.5, 1, 2, 4} {
		for _, daily := range []float64{0, 0.03, 0.1, 0.3} {
			for _, level := range []float64{0.5, 1, 1.5, 2.5} {
				d := Drift{Between: between * step, Daily: daily * step, Level: level}
				if between == 0 && daily > 0 {
					continue
				}
				l := 0.0
				for _, s := range spread(usable, mostTried) {
					_, one := follow(s, d, sd, step)
					l += one
				}
				if l > most+1e-9 {
					most, best = l, d
				}
			}
		}
	}
	for i, s := range usable {
		if best.Between > 0 {
			out[i], _ = follow(s, best, sd, step)
		}
	}
	return out, best
}

// spread are at most so many, evenly apart.
func spread[T any](all []T, most int) (out []T) {
	for i := range min(len(all), most) {
		out = append(out, all[i*len(all)/min(len(all), most)])
	}
	return out
}

// filter is what is known of a studio: the day's swing first, then references and
// devices as they turn up, with their covariance.
type filter struct {
	mean []float64
	cov  [][]float64
	at   map[string]int
}

func (f *filter) place(name string, mean, variance float64) int {
	if i, ok := f.at[name]; ok {
		return i
	}
	i := len(f.mean)
	f.mean = append(f.mean, mean)
	for k := range f.cov {
		f.cov[k] = append(f.cov[k], 0)
	}
	f.cov = append(f.cov, make([]float64, i+1))
	f.cov[i][i] = variance
	f.at[name] = i
	return i
}

// reset makes a state as it is before anything is known of it.
func (f *filter) reset(i int, variance float64) {
	f.mean[i] = 0
	for k := range f.cov {
		f.cov[i][k], f.cov[k][i] = 0, 0
	}
	f.cov[i][i] = variance
}

// expect returns how far off what was expected it is that the sum of some states was
// read as y, and the variance of that.
func (f *filter) expect(y, noise float64, of []int) (off, variance float64) {
	off, variance = y, noise
	for _, i := range of {
		off -= f.mean[i]
		for _, k := range of {
			variance += f.cov[i][k]
		}
	}
	return off, variance
}

// see takes in that it was read as y.
func (f *filter) see(y, noise float64, of []int) {
	off, variance := f.expect(y, noise, of)
	gain := make([]float64, len(f.mean))
	for k := range gain {
		for _, i := range of {
			gain[k] += f.cov[k][i]
		}
	}
	for k := range gain {
		f.mean[k] += gain[k] * off / variance
		for l := range gain {
			f.cov[k][l] -= gain[k] * gain[l] / variance
		}
	}
}

// follow goes through a studio's checks in time; loglik is that of the readings.
func follow(all []Sample, d Drift, sd, step float64) (out []Offset, loglik float64) {
	run := d.Level * evidence.Wander * sd
	day := 2 * run
	f := &filter{at: map[string]int{}}
	f.place("", 0, day*day)
	last := map[string]int64{}
	begun := int64(math.MinInt64 / 2)
	said := 0
	// What a morning says of a bay is whole once all bays were checked.
	tell := func() {
		for i := said; i < len(out); i++ {
			device := f.at["d"+out[i].Bay+"\x00"+out[i].Device]
			out[i].Bias, out[i].Variance = f.mean[device], f.cov[device][device]
		}
		said = len(out)
	}
	for _, x := range all {
		if x.At-begun > oneMorning {
			tell()
			begun = x.At
			f.reset(0, day*day)
		}
		name := "d" + x.Bay + "\x00" + x.Device
		level := f.place("r"+x.Reference, x.Mean, 1e4*(sd*sd+step*step))
		device := f.place(name, 0, d.Between*d.Between)
		if t, ok := last[name]; ok {
			f.cov[device][device] += d.Daily * d.Daily * float64(x.At-t) / oneDay
		}
		last[name] = x.At
		of, noise := []int{0, level, device}, x.SD*x.SD/float64(x.N)+run*run
		off, variance := f.expect(x.Mean, noise, of)
		if d.Between > 0 && off*off > stepped*stepped*variance {
			// The device was moved or set up anew: what was known of it is worth nothing.
			f.cov[device][device] += off * off
			off, variance = f.expect(x.Mean, noise, of)
			loglik += math.Log(stepOdds)
		}
		loglik -= (math.Log(variance) + off*off/variance) / 2
		f.see(x.Mean, noise, of)
		out = append(out, Offset{Bay: x.Bay, Device: x.Device, At: x.At})
	}
	tell()
	return out, loglik
}
