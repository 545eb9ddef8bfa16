package fleet

import (
	"math"
	"slices"
)

// noiseGrid holds the values that are summed over: places of a device's players, their
// spread about it, and the device's noise, with 0 the first.
type noiseGrid struct {
	place, omega, noise []float64
	kappa, mu           []float64
}

func newNoiseGrid(low, high, typical float64) *noiseGrid {
	g := &noiseGrid{omega: []float64{0.1, 0.15, 0.2, 0.25, 0.3, 0.36, 0.45, 0.6}, kappa: []float64{0.01, 0.04, 0.08, 0.15, 0.25},
		noise: []float64{0}}
	for m := low - 1; m <= high+0.35; m += 0.06 {
		g.place = append(g.place, m)
	}
	g.mu = g.place
	for r := 0.25; r < 3; r *= 1.15 {
		g.noise = append(g.noise, r*typical)
	}
	return g
}

// noiseTable is a device's likelihood by ω, noise and place, over the greatest of its ω
// and with that one's logarithm apart.
type noiseTable struct {
	of  [][][]float64
	top []float64
}

// hermite are the nodes and weights of a nine point Gauss–Hermite rule for a standard
// normal (Abramowitz & Stegun 1964, table 25.10, with x·√2 and w/√π).
var hermite = [9][2]float64{
	{0, 0.40634920634920635}, {1.0232556637891326, 0.24409750289493909}, {-1.0232556637891326, 0.24409750289493909},
	{2.0768479786778302, 0.049916406765217876}, {-2.0768479786778302, 0.049916406765217876},
	{3.2054290028564703, 0.0027891413212317675}, {-3.2054290028564703, 0.0027891413212317675},
	{4.5127458633997826, 0.000022345844007746563}, {-4.5127458633997826, 0.000022345844007746563},
}

func (g *noiseGrid) table(s *spreads, wider float64) noiseTable {
	v := s.v/s.n*max(wider, 0.5) + spreadBin*spreadBin/12
	from, to := 0, spreadBins
	for s.count[from] == 0 {
		from++
	}
	for s.count[to-1] == 0 {
		to--
	}
	out := noiseTable{make([][][]float64, len(g.omega)), make([]float64, len(g.omega))}
	density := make([]float64, to-from)
	for o, omega := range g.omega {
		out.of[o] = make([][]float64, len(g.noise))
		for k, sigma := range g.noise {
			out.of[o][k] = make([]float64, len(g.place))
			for m, place := range g.place {
				zero(density)
				for _, node := range hermite {
					f := place + omega*node[0]
					if sigma > 0 {
						f = 0.5 * math.Log(math.Exp(2*f)+sigma*sigma)
					}
					for b := range density {
						z := spreadFrom + (float64(from+b)+0.5)*spreadBin - f
						if z = z * z / v; z < 60 {
							density[b] += node[1] * math.Exp(-z/2)
						}
					}
				}
				sum := -0.5 * s.n * math.Log(v)
				for b, p := range density {
					// One player in a hundred may be anything at all.
					sum += s.count[from+b] * math.Log(0.99*p+0.01*0.05)
				}
				out.of[o][k][m] = sum
			}
		}
		out.top[o] = math.Inf(-1)
		for _, places := range out.of[o] {
			out.top[o] = max(out.top[o], slices.Max(places))
		}
		for _, places := range out.of[o] {
			for m := range places {
				places[m] = math.Exp(places[m] - out.top[o])
			}
		}
	}
	return out
}

// judged is what is believed of a device.
type judged struct{ noisy, variance float64 }

func (g *noiseGrid) posterior(each []noiseTable) []judged {
	type cell struct {
		log   float64
		noisy []float64 // by device: chance of noise, and mean added variance
		added []float64
	}
	var cells []cell
	best := math.Inf(-1)
	weight := make([]float64, len(g.place))
	chance := make([]float64, len(g.noise))
	for o := range g.omega {
		for _, kappa := range g.kappa {
			for _, mu := range g.mu {
				c := cell{log: -0.5 * kappa * kappa / (0.15 * 0.15)}
				sum := 0.0
				for m, place := range g.place {
					z := (place - mu) / max(kappa, 0.03)
					weight[m] = math.Exp(-z * z / 2)
					sum += weight[m]
				}
				for _, t := range each {
					all := 0.0
					for k := range g.noise {
						chance[k] = dot(weight, t.of[o][k]) / sum
						if k == 0 {
							chance[k] *= 1 - devicePrior
						} else {
							chance[k] *= devicePrior / float64(len(g.noise)-1)
						}
						all += chance[k]
					}
					c.log += t.top[o] + math.Log(max(all, 1e-300))
					noisy, added := 0.0, 0.0
					for k, p := range chance {
						if k > 0 && all > 0 {
							noisy += p / all
							added += p / all * g.noise[k] * g.noise[k]
						}
					}
					c.noisy, c.added = append(c.noisy, noisy), append(c.added, added)
				}
				best = max(best, c.log)
				cells = append(cells, c)
			}
		}
	}
	out := make([]judged, len(each))
	total := 0.0
	for _, c := range cells {
		w := math.Exp(c.log - best)
		total += w
		for i := range out {
			out[i].noisy += w * c.noisy[i]
			out[i].variance += w * c.added[i]
		}
	}
	for i := range out {
		out[i].noisy /= total
		out[i].variance /= total
	}
	return out
}
