package fleet

import (
	"math"
	"math/rand/v2"
	"sync"
)

// Mishits says how the shots of a fleet are mixed: a share of them scatters so many
// times as wide as the others, in the same trial about the same aim. The zero value has
// none.
//
// A standard deviation of such shots is mostly one of the mishits. What a build does
// to the others shows in it by half where one in ten is three times as wide, and what
// it does comes out too small with intervals that do not hold it. So the outcome of a
// trial is then the spread of the shots that are none.
type Mishits struct {
	Share float64 `json:"share"`
	Wide  float64 `json:"wide"`
}

// The mixtures that a fleet's are looked for among.
var (
	mishitShares = []float64{0.02, 0.035, 0.05, 0.075, 0.1, 0.125, 0.15, 0.2, 0.25, 0.3}
	mishitWidths = []float64{2, 2.5, 3, 3.5, 4, 5, 7}
)

const (
	// peakBins are the steps in which a trial's peakedness is told.
	peakBins = 32
	// mishitShots is up to how many shots a trial tells its mishits by; of more, it is read as of so many.
	mishitShots = 60
	// mishitTrials is how many trials of a length are told apart from how they were
	// simulated: more say no more of the mixture.
	mishitTrials = 4000
	// mishitGain is the gain in log likelihood over normal shots from which on mishits
	// are believed: chance brings it in fewer than one fleet of 10,000.
	mishitGain = 12
	// mishitKurtosis is the excess kurtosis from which on they are looked for.
	mishitKurtosis = 0.5
)

// peak is where a trial's peakedness m₄/m₂² lies between that of two heaps (1) and that
// of one shot away from all others (n), as a logarithm's share, and its step. It is free
// of the trial's width.
func peak(n int, ss, s4 float64) (at float64, ok bool) {
	g := float64(n) * s4 / (ss * ss)
	if n < minSpread || !(ss > 0) || !(s4 > 0) || !finite(g) {
		return 0, false
	}
	return peakBins * min(max(math.Log(g)/math.Log(float64(n)), 0), 0.999999), true
}

// peaks counts the trials of each number of shots by their peakedness.
type peaks [mishitShots + 1]*[peakBins]float64

func (p *peaks) add(n int, ss, s4 float64) {
	at, ok := peak(n, ss, s4)
	if !ok || n > mishitShots {
		return
	}
	if p[n] == nil {
		p[n] = new([peakBins]float64)
	}
	p[n][int(at)]++
}

// mishits finds the mixture under which the trials' peakednesses are likeliest. Lengths
// that few trials have say nothing; the eight that most have are looked at.
func (p *peaks) mishits() Mishits {
	type length struct {
		n    int
		seen []float64
		of   float64
	}
	var most []length
	for n, seen := range p {
		if seen == nil {
			continue
		}
		l := length{n: n, seen: seen[:]}
		for _, c := range seen {
			l.of += c
		}
		if l.of < 20 {
			continue
		}
		at := len(most)
		for at > 0 && most[at-1].of < l.of {
			at--
		}
		most = append(most[:at], append([]length{l}, most[at:]...)...)
	}
	gain := map[Mishits]float64{}
	for _, l := range most[:min(len(most), 8)] {
		weight := min(1, mishitTrials/l.of)
		chances := chancesOf(l.n)
		plain := chances[Mishits{}]
		for _, share := range mishitShares {
			for _, wide := range mishitWidths {
				m := Mishits{share, wide}
				for b, q := range chances[m] {
					gain[m] += weight * l.seen[b] * math.Log(q/plain[b])
				}
			}
		}
	}
	best, gained := Mishits{}, float64(mishitGain)
	for _, share := range mishitShares {
		for _, wide := range mishitWidths {
			if m := (Mishits{share, wide}); gain[m] > gained {
				best, gained = m, gain[m]
			}
		}
	}
	return best
}

// chances keep what was simulated of the peakednesses of so many shots, by their number.
var chances sync.Map

// chancesOf are those under each mixture, and under none.
func chancesOf(n int) map[Mishits][]float64 {
	if c, ok := chances.Load(n); ok {
		return c.(map[Mishits][]float64)
	}
	d := drawTrials(n, 8000)
	out := map[Mishits][]float64{{}: d.peaks(Mishits{})}
	for _, share := range mishitShares {
		for _, wide := range mishitWidths {
			m := Mishits{share, wide}
			out[m] = d.peaks(m)
		}
	}
	had, _ := chances.LoadOrStore(n, out)
	return had.(map[Mishits][]float64)
}

// drawing is a lot of trials of n shots, of which it can be said what they would be
// under any mixture.
type drawing struct {
	n    int
	z, u []float64
}

// drawTrials makes them, the same ones each time.
func drawTrials(n, trials int) *drawing {
	r := rand.New(rand.NewPCG(uint64(n), 0x9e3779b97f4a7c15))
	d := &drawing{n: n, z: make([]float64, n*trials), u: make([]float64, n*trials)}
	for i := range d.z {
		d.z[i], d.u[i] = r.NormFloat64(), r.Float64()
	}
	return d
}

// each gives the sums of each trial's squares and fourth powers about its mean.
func (d *drawing) each(m Mishits, do func(ss, s4 float64)) {
	x := make([]float64, d.n)
	for from := 0; from < len(d.z); from += d.n {
		mean := 0.0
		for i := range x {
			x[i] = d.z[from+i]
			if d.u[from+i] < m.Share {
				x[i] *= m.Wide
			}
			mean += x[i] / float64(d.n)
		}
		ss, s4 := 0.0, 0.0
		for _, v := range x {
			v = (v - mean) * (v - mean)
			ss += v
			s4 += v * v
		}
		do(ss, s4)
	}
}

// peaks are the chances of each step of peakedness.
func (d *drawing) peaks(m Mishits) []float64 {
	p := make([]float64, peakBins)
	for b := range p {
		p[b] = 0.5
	}
	all := float64(peakBins) / 2
	d.each(m, func(ss, s4 float64) {
		if at, ok := peak(d.n, ss, s4); ok {
			p[int(at)]++
			all++
		}
	})
	for b := range p {
		p[b] /= all
	}
	return p
}

// core is what is taken from ½ ln Σr² at each peakedness, so that ln of the ordinary
// shots' standard deviation remains, and the variance of what remains.
type core struct{ less, variance [peakBins]float64 }

// cores keep what was simulated, by mixture and number of shots.
var cores sync.Map

type coreKey struct {
	Mishits
	n int
}

// coreOf simulates a mixture's trials of n shots whose ordinary ones have a standard
// deviation of 1. With m the mean of y = ½ ln Σr² at a peakedness g, y − m(g) varies
// least, but a build that draws the ordinary shots together and leaves the mishits as
// they are would show by five sixths only: they stand out more. So what is taken is
//
//	m(g) + λ·s(g),  s = ∂ ln p(g)/∂ ln wide,  λ = (E′[y] − E[s·m])/E[s²],
//
// E′ the derivative by ln wide: the least variance of all that does not move when the
// mishits' width does, whether they follow the build or not.
func coreOf(m Mishits, n int) *core {
	if c, ok := cores.Load(coreKey{m, n}); ok {
		return c.(*core)
	}
	const nudge = 0.1
	d := drawTrials(n, 30_000)
	s, _ := d.told(m)
	wider, up := d.told(Mishits{m.Share, m.Wide * math.Exp(nudge)})
	tighter, down := d.told(Mishits{m.Share, m.Wide * math.Exp(-nudge)})
	c := new(core)
	var score [peakBins]float64
	with, square := (up-down)/(2*nudge), 0.0
	for b := range s {
		mean, variance, score1 := s.about(b, func(k int) float64 { return (wider[k].n - tighter[k].n) / (2 * nudge) })
		c.less[b], c.variance[b], score[b] = mean, variance, score1
		p := s[b].n / float64(len(d.z)/n)
		with -= p * score1 * mean
		square += p * score1 * score1
	}
	if square > 0 {
		lambda := with / square
		for b := range score {
			c.less[b] += lambda * score[b]
			c.variance[b] += lambda * lambda * square
		}
	}
	had, _ := cores.LoadOrStore(coreKey{m, n}, c)
	return had.(*core)
}

// told are a drawing's trials by their peakedness: how many, sums of ½ ln Σr² and of
// its square, and of where in the step they lie.
type told [peakBins]struct{ n, y, yy, at float64 }

// told also returns the mean of ½ ln Σr² over all.
func (d *drawing) told(m Mishits) (*told, float64) {
	s, sum, all := new(told), 0.0, 0.0
	d.each(m, func(ss, s4 float64) {
		if at, ok := peak(d.n, ss, s4); ok {
			y := 0.5 * math.Log(ss)
			b := &s[int(at)]
			b.n, b.y, b.yy, b.at = b.n+1, b.y+y, b.yy+y*y, b.at+at
			sum, all = sum+y, all+1
		}
	})
	return s, sum / all
}

// about is the mean at the middle of a step, what varies about it, and what of more is
// to a trial, of as many steps about it as make 400 trials: a straight line through
// their means.
func (s *told) about(b int, more func(step int) float64) (mean, variance, extra float64) {
	var w, x, y, xx, xy, yy float64
	take := func(k int) {
		if k < 0 || k >= peakBins || s[k].n == 0 {
			return
		}
		at := s[k].at/s[k].n - (float64(b) + 0.5)
		w, x, y, extra = w+s[k].n, x+s[k].n*at, y+s[k].y, extra+more(k)
		xx, xy, yy = xx+s[k].n*at*at, xy+at*s[k].y, yy+s[k].yy
	}
	take(b)
	for reach := 1; w < 400 && reach < peakBins; reach++ {
		take(b - reach)
		take(b + reach)
	}
	slope := 0.0
	if d := xx - x*x/w; d > 1e-3*w {
		slope = (xy - x*y/w) / d
	}
	return y/w - slope*x/w, max((yy-y*y/w-slope*(xy-x*y/w))/w, 1e-4), extra / w
}

// at is both between the middles of two steps.
func (c *core) at(x float64) (less, variance float64) {
	x = min(max(x-0.5, 0), peakBins-1)
	i := min(int(x), peakBins-2)
	f := x - float64(i)
	return c.less[i]*(1-f) + c.less[i+1]*f, c.variance[i]*(1-f) + c.variance[i+1]*f
}

// core is ln of the standard deviation of the shots that are no mishits, and its
// variance, of a trial with so many shots and such sums. A trial all of whose shots are
// wider by a factor has a core wider by that factor, whatever the mixture. ok is false
// where there are no mishits to tell apart, or the sums do not say.
func (m Mishits) core(n int, ss, s4 float64) (y, v float64, ok bool) {
	if m == (Mishits{}) {
		return 0, 0, false
	}
	at, ok := peak(n, ss, s4)
	if !ok {
		return 0, 0, false
	}
	less, v := coreOf(m, min(n, mishitShots)).at(at)
	if n > mishitShots {
		less += 0.5 * math.Log(float64(n-1)/(mishitShots-1))
		v *= float64(mishitShots) / float64(n)
	}
	return 0.5*math.Log(ss) - less, v, true
}
