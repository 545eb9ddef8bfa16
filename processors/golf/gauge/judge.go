package gauge

import (
	"maps"
	"math"
	"slices"

	"fairlead/processors/golf/evidence"
)

// Reading is one figure of one check: so many shots, their mean and how far they
// scatter, in the figure's own unit.
type Reading struct {
	N        int
	Mean, SD float64
}

// Check is the reading of each figure, by its name, of one bay on one day.
type Check map[string]Reading

// Bay is what is known of another bay: its checks of before, oldest first, and
// that of today, if there is one.
type Bay struct {
	Past  []Check
	Today Check
}

// Word is what is to be done.
type Word int

// What is to be done, from least to most.
const (
	Begins Word = iota // there is no past: this is the first of it
	Go
	Look
	Stop
)

// Margin is the change of a figure that matters to a fitting: absolute, or a share
// of the reading. The figures that are judged, by their columns.
var margins = map[string]struct{ absolute, share float64 }{
	"ball_speed_mps": {share: 0.01}, "clubhead_speed_mps": {share: 0.015}, "launch_angle_deg": {absolute: 1},
	"launch_direction_deg": {absolute: 1}, "spin_rate_rpm": {share: 0.08}, "spin_axis_deg": {absolute: 3}, "carry_m": {share: 0.02},
	"attack_angle_deg": {absolute: 1}, "club_path_deg": {absolute: 1}, "face_angle_deg": {absolute: 1},
	"face_to_path_deg": {absolute: 1}, "dynamic_loft_deg": {absolute: 1},
}

// Figures are the figures that are judged, by their columns.
func Figures() []string { return slices.Sorted(maps.Keys(margins)) }

// LeastShots are as many as a figure needs to be judged.
const LeastShots = 8

// mostPast is how many checks of before count: an older device was another one.
const mostPast = 12

// Finding is what was found of one figure.
type Finding struct {
	Figure string
	Reading
	Word Word
	// Bias is how far the bay reads off now, positive: more; BiasSD how sure. Both 0
	// where there is nothing to know it from.
	Bias, BiasSD float64
	Days         int // checks of before that it was held against
	Bays         int // other bays that were checked today and show what the swing did
	// Others is how far it reads above the other bays' mean of today, and how sure;
	// 0 and 0 where none was checked.
	Others, OthersSD float64
}

// Judge holds a check against the bay's own past and the other bays. What moves in
// all bays alike is the swing, the ball or the air of that day, and is taken out;
// what is left is held against how far one bay's level moved between days before,
// of which at least the swing's own wander is expected.
func Judge(now Check, past []Check, others []Bay) (out []Finding) {
	past = past[max(0, len(past)-mostPast):]
	for _, name := range Figures() {
		r, ok := now[name]
		if !ok || r.N < LeastShots || !(r.SD > 0) || math.IsInf(r.Mean, 0) || math.IsNaN(r.Mean) {
			continue
		}
		out = append(out, judge(name, r, past, others))
	}
	return out
}

// Worst is what is to be done about a bay: the worst of its figures; Begins where
// nothing could be judged.
func Worst(all []Finding) (w Word) {
	for _, f := range all {
		w = max(w, f.Word)
	}
	return w
}

func judge(name string, r Reading, past []Check, others []Bay) Finding {
	f := Finding{Figure: name, Reading: r, Word: Begins}
	own := level(name, past)
	f.Days = own.days
	shot := r.SD * r.SD / float64(r.N)
	between := wander(name, r.SD, own, others)
	// How far the other bays of today are off their own past: the swing of the day.
	var sum, weight, sumLevel, weightLevel float64
	for _, b := range others {
		t, ok := b.Today[name]
		if !ok || t.N < LeastShots {
			continue
		}
		v := t.SD*t.SD/float64(t.N) + between
		sumLevel, weightLevel = sumLevel+t.Mean/v, weightLevel+1/v
		if l := level(name, b.Past); l.days > 0 {
			v += between / float64(l.days)
			sum, weight = sum+(t.Mean-l.mean)/v, weight+1/v
			f.Bays++
		}
	}
	if weightLevel > 0 {
		f.Others, f.OthersSD = r.Mean-sumLevel/weightLevel, math.Sqrt(shot+between+1/weightLevel)
	}
	if own.days == 0 {
		if weightLevel > 0 {
			f.Bias, f.BiasSD = f.Others, f.OthersSD
			f.Word = word(f.Bias, f.BiasSD, margin(name, r.Mean))
		}
		return f
	}
	off, variance := r.Mean-own.mean, shot+between*(1+1/float64(own.days))
	if weight > 0 {
		// The day's swing as the other bays saw it; without any it is not known, and
		// stands in the variance already.
		day := sum / weight
		share := between / (between + 1/weight)
		off, variance = off-share*day, variance-between+share*share/weight+(1-share)*(1-share)*between+between/2
	}
	f.Bias, f.BiasSD = off, math.Sqrt(variance)
	f.Word = word(off, f.BiasSD, margin(name, r.Mean))
	return f
}

// word says what is to be done: stop where it is off by more than matters and by
// more than a swing explains, look where it may be.
func word(off, sd, margin float64) Word {
	z := math.Abs(off) / sd
	switch {
	case z >= 3.8 && math.Abs(off) >= margin:
		return Stop
	case z >= 2.3 && math.Abs(off) >= margin/2:
		return Look
	}
	return Go
}

func margin(name string, mean float64) float64 {
	m := margins[name]
	return max(m.absolute, m.share*math.Abs(mean))
}

// standing is where a bay stood by its past.
type standing struct {
	mean  float64
	days  int
	ss    float64 // squares of the days about their mean
	noise float64 // the part of it that the shots' own scatter explains, summed
}

func level(name string, past []Check) (s standing) {
	var all []float64
	for _, c := range past[max(0, len(past)-mostPast):] {
		if r, ok := c[name]; ok && r.N >= LeastShots {
			all = append(all, r.Mean)
			s.noise += r.SD * r.SD / float64(r.N)
		}
	}
	if s.days = len(all); s.days == 0 {
		return s
	}
	for _, m := range all {
		s.mean += m / float64(s.days)
	}
	for _, m := range all {
		s.ss += (m - s.mean) * (m - s.mean)
	}
	return s
}

// wander is the variance by which a level moves from day to day beyond its shots'
// scatter: what the days of all bays show, begun with what a swing wanders by
// itself (evidence.Wander, twice: between days more than between runs), which
// counts as much as six days.
func wander(name string, sd float64, own standing, others []Bay) float64 {
	const weight = 6
	first := 2 * evidence.Wander * sd
	ss, degrees := weight*first*first, float64(weight)
	add := func(s standing) {
		if s.days > 1 {
			ss += max(0, s.ss-s.noise*float64(s.days-1)/float64(s.days))
			degrees += float64(s.days - 1)
		}
	}
	add(own)
	for _, b := range others {
		add(level(name, b.Past))
	}
	// Of so few days the variance itself is not known well: its expectation, not its
	// middle, keeps the limits wide enough.
	return max(ss/(degrees-2), first*first/16)
}
