package fleet

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"fairlead/ingest/contract/glossary"
)

// A device that adds noise of its own to each shot hides what a build does: of a step's
// effect on the spread there remains 1 − ρ, with ρ the share of the measured variance
// that is the device's. Levels are swept out of every effect, so noise that is the same
// all visit does not cancel: it bends the logarithm.
//
// How much a device adds is read from what players do with their own clubs in it. Noise
// widens all of them, and it draws their logarithms together, since the tight ones are
// widened most. Players of a studio who are wider by nature, juniors say, are not drawn
// together. So each device has a height of its own beside its noise:
//
//	η ~ N(μ + a, ω²),  a ~ N(0, κ²),  y ~ N(½ ln(e²ᵑ + σ²), v)
//
// for a player's ln spread y in device with height a and noise σ. What no device lacks
// cannot be told: noise that all share stays in the spreads.

// Quiet is what a device adds to each shot beyond the best of the fleet: deg, and percent of the carry.
type Quiet struct {
	Direction float64 `json:"direction_deg,omitempty"`
	Carry     float64 `json:"carry_percent,omitempty"`
}

const (
	devicePlayers = 15    // a device needs them to be told apart
	deviceP       = 0.001 // below it devices are looked at at all
	devicePrior   = 0.1   // of a device being noisy, before it is looked at
	mostNoise     = 0.8   // of a variance is taken to be the device's at most
	spreadBin     = 0.1   // of a player's ln spread
	spreadFrom    = -6.0
	spreadBins    = 120
)

// deviceOf names what measured a trial; empty: not known.
func deviceOf(t *Trial) string {
	if t.Device == "" && t.Bay == "" {
		return ""
	}
	return t.Studio + "/" + t.Bay + "/" + t.Device
}

// axes are what a device may add noise to.
var axes = [2]glossary.Name{glossary.Direction, glossary.DistanceControl}

// scatter is a player's sums of squares with his own clubs in a device, and their
// degrees of freedom: of directions (deg²) and of carries (percent²).
type scatter struct{ ss, df [2]float64 }

func (q *scatter) add(s *Summary) {
	if s.Directed > 1 && s.DirectionSS > 0 {
		q.ss[0] += s.DirectionSS
		q.df[0] += float64(s.Directed - 1)
	}
	if s.N > 1 && s.CarrySS > 0 && s.Carry > 0 {
		q.ss[1] += s.CarrySS * 1e4 / (s.Carry * s.Carry)
		q.df[1] += float64(s.N - 1)
	}
}

// spreads are the players of a device by their ln spread, with the sum of its variances.
type spreads struct {
	count    [spreadBins]float64
	n, v     float64
	sum, ssq float64
}

// heard gathers what devices add.
type heard struct {
	mine map[string]*scatter // of the player at hand
	of   map[string]*[2]spreads
}

func (h *heard) add(t *Trial) {
	name := deviceOf(t)
	if !t.Gamer || name == "" {
		return
	}
	if h.mine == nil {
		h.mine, h.of = map[string]*scatter{}, map[string]*[2]spreads{}
	}
	if h.mine[name] == nil {
		h.mine[name] = new(scatter)
	}
	h.mine[name].add(&t.Shots)
}

func (h *heard) closePlayer() {
	for name, q := range h.mine {
		if h.of[name] == nil {
			h.of[name] = new([2]spreads)
		}
		for axis := range axes {
			df := q.df[axis]
			if df < minSpread-1 {
				continue
			}
			psi, psi1 := polygamma(int(df))
			y := 0.5*math.Log(q.ss[axis]/2) - 0.5*psi
			at := int((y - spreadFrom) / spreadBin)
			if at < 0 || at >= spreadBins {
				continue
			}
			s := &h.of[name][axis]
			s.count[at]++
			s.n++
			s.v += 0.25 * psi1
			s.sum += y
			s.ssq += y * y
		}
	}
	clear(h.mine)
}

// quiet tells which devices add noise, and how much; nil: none.
func (h *heard) quiet(kurtosis [2]float64) map[string]Quiet {
	var out map[string]Quiet
	for axis := range axes {
		for name, variance := range h.noisy(axis, 1+0.5*kurtosis[axis]) {
			if out == nil {
				out = map[string]Quiet{}
			}
			q := out[name]
			if axis == 0 {
				q.Direction = math.Sqrt(variance)
			} else {
				q.Carry = math.Sqrt(variance)
			}
			out[name] = q
		}
	}
	return out
}

// noisy are the devices' added variances along an axis, of those that are likelier
// noisy than not. The unknowns are summed over on a grid.
func (h *heard) noisy(axis int, wider float64) map[string]float64 {
	var names []string
	for name, s := range h.of {
		if s[axis].n >= devicePlayers {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	if len(names) < 2 || !h.differ(axis, names) {
		return nil
	}
	low, high, all, n := math.Inf(1), math.Inf(-1), 0.0, 0.0
	for _, name := range names {
		s := &h.of[name][axis]
		low, high = min(low, s.sum/s.n), max(high, s.sum/s.n)
		all, n = all+s.sum, n+s.n
	}
	g := newNoiseGrid(low, high, math.Exp(all/n))
	var each []noiseTable
	for _, name := range names {
		each = append(each, g.table(&h.of[name][axis], wider))
	}
	out := map[string]float64{}
	for i, p := range g.posterior(each) {
		if p.noisy > 0.5 {
			out[names[i]] = p.variance
		}
	}
	return out
}

// differ tests whether devices' players differ at all, and by more than chance, before
// the costly question why.
func (h *heard) differ(axis int, names []string) bool {
	var total, sum, within float64
	for _, name := range names {
		s := &h.of[name][axis]
		total, sum = total+s.n, sum+s.sum
		within += s.ssq - s.sum*s.sum/s.n
	}
	between := -sum * sum / total
	for _, name := range names {
		s := &h.of[name][axis]
		between += s.sum * s.sum / s.n
	}
	d1, d2 := float64(len(names)-1), total-float64(len(names))
	return within > 0 && distuv.F{D1: d1, D2: d2}.Survival(between/d1/(within/d2)) < deviceP
}

// gauged is where the outcome of a trial and its variance stand.
type gauged struct {
	of   *Trial
	y, v *float64
}

// steady undoes what devices' noise does to the differences within one level: about the
// level's mean each outcome is stretched by 1/(1 − ρ), and its variance by the square.
func (k Noise) steady(o Outcome, level []gauged) {
	if len(k.Devices) == 0 || !o.Log || len(level) < 2 {
		return
	}
	q := k.Devices[deviceOf(level[0].of)]
	if q == (Quiet{}) {
		return
	}
	rho := 0.0
	switch o.Name {
	case fleetName(axes[0]):
		rho = share(q.Direction, level, k.direction)
	case fleetName(axes[1]):
		rho = share(q.Carry, level, k.control)
	default: // an area is the product of both
		rho = (share(q.Direction, level, k.direction) + share(q.Carry, level, k.control)) / 2
	}
	if rho == 0 {
		return
	}
	mean, w := 0.0, 0.0
	for _, g := range level {
		mean, w = mean + *g.y / *g.v, w + 1 / *g.v
	}
	mean /= w
	for _, g := range level {
		*g.y = mean + (*g.y-mean)/(1-rho)
		*g.v /= (1 - rho) * (1 - rho)
	}
}

// steadied are the outcomes and variances of trials whose levels stand together.
func (k Noise) steadied(o Outcome, trials []*Trial) (y, v []float64) {
	y, v = make([]float64, len(trials)), make([]float64, len(trials))
	var level []gauged
	for i, t := range trials {
		y[i], v[i], _ = o.Value(t, k)
		level = append(level, gauged{t, &y[i], &v[i]})
		last := i == len(trials)-1
		if last || trials[i+1].Player != t.Player || trials[i+1].Session != t.Session || trials[i+1].Level != t.Level {
			k.steady(o, level)
			level = level[:0]
		}
	}
	return y, v
}

// share is the part of a level's measured variance that the device adds.
func share(sigma float64, level []gauged, spread func(*Summary) (y, v float64, ok bool)) float64 {
	if sigma == 0 {
		return 0
	}
	mean, w := 0.0, 0.0
	for _, g := range level {
		if y, v, ok := spread(&g.of.Shots); ok {
			mean, w = mean+y/v, w+1/v
		}
	}
	if w == 0 {
		return 0
	}
	return min(sigma*sigma/math.Exp(2*mean/w), mostNoise)
}

func fleetName(name glossary.Name) string {
	o, ok := glossary.Find(string(name))
	if !ok || o.Fleet == nil {
		return ""
	}
	return cmp.Or(o.Fleet.Name, string(name))
}

// notes say what of the shots' noise was taken out of an outcome.
func (k Noise) notes(o Outcome) []Warning {
	out := []Warning{}
	if !o.Log {
		return out
	}
	says := func(axis string, name glossary.Name, m Mishits, q func(Quiet) float64, unit string) {
		if o.Name != fleetName(name) && (o.Name == fleetName(axes[0]) || o.Name == fleetName(axes[1])) {
			return
		}
		if m != (Mishits{}) {
			out = append(out, Warning{"mishits", fmt.Sprintf("about one shot in %.0f is a mishit in %s, %.2g times as wide as the others: "+
				"the spread asked about is that of the others, and --as-measured asks with them in", 1/m.Share, axis, m.Wide)})
		}
		for _, device := range sortedKeys(k.Devices) {
			if sigma := q(k.Devices[device]); sigma > 0 {
				out = append(out, Warning{"noisy_device", fmt.Sprintf("%s adds about %.2g%s of its own to each "+
					"shot's %s, beyond what other devices do: "+
					"what builds change there is stretched by what that hides, and the device should be looked at",
					device, sigma, unit, axis)})
			}
		}
	}
	says("direction", axes[0], k.DirectionMishits, func(q Quiet) float64 { return q.Direction }, "°")
	says("carry", axes[1], k.CarryMishits, func(q Quiet) float64 { return q.Carry }, " %")
	return out
}
