package evidence

import (
	"math"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/dispersion"
)

// meanValue reads from a shot what a mean outcome averages.
func meanValue(n glossary.Name) func(placed) (float64, bool) {
	switch n {
	case glossary.Curve:
		return func(p placed) (float64, bool) {
			at, ok := carryOffline.point(p)
			start, known := p.Values[StartDeg]
			return dispersion.Shot{Carry: at[0], Offline: at[1]}.DirectionDeg() - start, ok && known
		}
	case glossary.Strike:
		return func(p placed) (float64, bool) {
			x, okX := p.Values[StrikeXM]
			y, okY := p.Values[StrikeYM]
			return math.Hypot(x, y), okX && okY
		}
	}
	measure := map[glossary.Name]Measure{
		glossary.Launch: LaunchDeg, glossary.Spin: SpinRpm, glossary.BallSpeed: BallSpeedMps, glossary.Carry: CarryM,
		glossary.Landing: LandingDeg, glossary.Start: StartDeg, glossary.Offline: OfflineM, glossary.Skid: SkidRatio,
	}[n]
	return func(p placed) (float64, bool) {
		v, ok := p.Values[measure]
		return v, ok
	}
}

// averages are those of the baseline's and of the candidate's shots.
func averages(value func(placed) (float64, bool), shots []placed) (out [2]float64) {
	var n [2]float64
	for _, s := range shots {
		if v, ok := value(s); ok {
			side := 0
			if s.candidate {
				side = 1
			}
			n[side]++
			out[side] += (v - out[side]) / n[side]
		}
	}
	return out
}

// plane reads from a shot a point whose first value may be taken in percent.
type plane struct {
	point   func(placed) ([2]float64, bool)
	percent bool // the first value is divided by its block's mean
}

var carryOffline = plane{point: func(p placed) ([2]float64, bool) {
	x, okX := p.Values[CarryM]
	y, okY := p.Values[OfflineM]
	return [2]float64{x, y}, okX && okY
}}

// relative is percent × degrees: carry and the direction of the landing point;
// for a putter, ball speed and start line.
func relative(c glossary.Category) plane {
	if c == glossary.Putter {
		return plane{percent: true, point: func(p placed) ([2]float64, bool) {
			x, okX := p.Values[BallSpeedMps]
			y, okY := p.Values[StartDeg]
			return [2]float64{x, y}, okX && okY && x > 0
		}}
	}
	return plane{percent: true, point: func(p placed) ([2]float64, bool) {
		at, ok := carryOffline.point(p)
		return [2]float64{at[0], dispersion.Shot{Carry: at[0], Offline: at[1]}.DirectionDeg()}, ok
	}}
}

// pool sums the scatter of one side's blocks, each about its own mean, in the
// order of the blocks.
func pool(shots []placed, candidate bool, p plane) pooled {
	var blocks []int
	points := map[int][][2]float64{}
	for _, s := range shots {
		if s.candidate != candidate {
			continue
		}
		if at, ok := p.point(s); ok {
			if _, known := points[s.block]; !known {
				blocks = append(blocks, s.block)
			}
			points[s.block] = append(points[s.block], at)
		}
	}
	var out pooled
	for _, b := range blocks {
		s, err := dispersion.NewScatter(points[b])
		if err != nil {
			continue // values were checked; only a sum beyond all range could fail
		}
		k := [2]float64{1, 1}
		if p.percent {
			k[0] = 100 / s.Mean[0]
		}
		n := float64(s.N)
		out.n += s.N
		out.df += s.N - 1
		out.mean[0] += n * s.Mean[0] * k[0]
		out.mean[1] += n * s.Mean[1]
		out.a[0] += s.A[0] * k[0] * k[0]
		out.a[1] += s.A[1] * k[0]
		out.a[2] += s.A[2]
	}
	if out.n > 0 {
		out.mean[0] /= float64(out.n)
		out.mean[1] /= float64(out.n)
	}
	return out
}
