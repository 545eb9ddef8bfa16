package dispersion

import (
	"fmt"
	"math"
)

// Putt is one putt as it left the putter: Start (deg, right of the target line
// positive), Speed (m/s) and Launch (deg above the green; 0 with HasLaunch
// false where it was not measured).
type Putt struct {
	Start, Speed, Launch float64
	HasLaunch            bool
}

// Green is the surface. Run (m) is its green speed: how far a ball released at
// 1.83 m/s rolls, so that rolling it slows by 1.83²/(2·Run). Friction is that
// of the skidding ball (0.4 where nothing better is known).
type Green struct{ Run, Friction float64 }

const (
	gravity      = 9.80665
	releaseSpeed = 1.83 // m/s, of the ramp that green speed is measured with
	captureSpeed = 1.63 // m/s, dead centre on a level green: Holmes 1991, Am. J. Phys. 59:129
	holeRadius   = 0.054
)

// Skid returns where (m) a putt of speed v (m/s) stops skidding and begins to
// roll, 12v²/(49μg), and at what speed, 5v/7: a ball that starts without spin
// and slides on level ground (rigid-body mechanics of a solid sphere).
func (g Green) Skid(v float64) (distance, speed float64) {
	return 12 * v * v / (49 * g.Friction * gravity), 5 * v / 7
}

// RollOut returns how far (m) a putt of speed v rolls on a level green, skid
// included.
func (g Green) RollOut(v float64) float64 {
	skid, speed := g.Skid(v)
	return skid + g.RollFrom(speed)
}

// Holed says whether a putt goes in a hole at a distance (m) on a level green:
// it must get there, and cross the hole slowly enough for how far off centre
// it is, at most 1.63·(1−(δ/R)²) m/s: Holmes's capture speed with the parabola
// of Penner 2002 (Can. J. Phys. 80:83) toward the rim. Break, grain and wind
// are not in it.
func (g Green) Holed(p Putt, distance float64) bool {
	offset := math.Abs(distance * math.Sin(p.Start*math.Pi/180))
	if offset >= holeRadius || math.Abs(p.Start) >= 90 {
		return false
	}
	skid, rolling := g.Skid(p.Speed)
	v2 := rolling*rolling - (distance-skid)*releaseSpeed*releaseSpeed/g.Run
	if distance < skid {
		v := p.Speed - (p.Speed-rolling)*distance/skid // still skidding; between the two speeds
		v2 = v * v
	}
	limit := captureSpeed * (1 - offset*offset/(holeRadius*holeRadius))
	return v2 >= 0 && v2 <= limit*limit
}

// PuttSummary is how putts scatter. Start is in degrees, Speed in m/s and
// SpeedSDPct in percent of its mean; Launch in degrees; Skid and RollOut are
// the means in metres on the green given; Holed is the share that would go in
// at the distance asked for (zero N where none was).
type PuttSummary struct {
	N                    int
	Start, Speed         Axis
	SpeedSDPct           Stat
	Launch               Axis
	Skid, RollOut, Holed Stat
}

// SummarisePutts describes putts on a green at a level of confidence (0.95);
// distance (m) is to the hole, 0 for none. Launch of one to three degrees is a
// convention of the trade, not a finding.
func SummarisePutts(putts []Putt, g Green, distance, level float64) (PuttSummary, error) {
	if !(g.Run > 0) || !(g.Friction > 0) || !finite(g.Run) || !finite(g.Friction) || !finite(distance) || distance < 0 {
		return PuttSummary{}, fmt.Errorf("green speed %g m, friction %g and distance %g m must be positive numbers", g.Run, g.Friction, distance)
	}
	var speedStart, launches, rolls [][2]float64
	holed := 0
	for i, p := range putts {
		switch {
		case !finite(p.Start) || math.Abs(p.Start) > 90:
			return PuttSummary{}, &ShotError{i, "start line", p.Start, "must lie within 90 degrees of the target line"}
		case !finite(p.Speed) || p.Speed <= 0 || p.Speed > 30:
			return PuttSummary{}, &ShotError{i, "ball speed", p.Speed, "is no putt; enter m/s above 0 and at most 30"}
		case p.HasLaunch && (!finite(p.Launch) || math.Abs(p.Launch) > 90):
			return PuttSummary{}, &ShotError{i, "launch", p.Launch, "must lie within 90 degrees of the green"}
		}
		speedStart = append(speedStart, [2]float64{p.Speed, p.Start})
		if p.HasLaunch {
			launches = append(launches, [2]float64{p.Launch, 0})
		}
		skid, _ := g.Skid(p.Speed)
		rolls = append(rolls, [2]float64{skid, g.RollOut(p.Speed)})
		if distance > 0 && g.Holed(p, distance) {
			holed++
		}
	}
	var scatters [3]Scatter
	for i, points := range [][][2]float64{speedStart, launches, rolls} {
		var err error
		if scatters[i], err = NewScatter(points); err != nil {
			return PuttSummary{}, err
		}
	}
	out := PuttSummary{N: len(putts), Speed: axis(scatters[0], 0, level), Start: axis(scatters[0], 1, level),
		Launch: axis(scatters[1], 0, level)}
	out.SpeedSDPct = variation(scatters[0], level)
	out.Skid, out.RollOut = axis(scatters[2], 0, level).Mean, axis(scatters[2], 1, level).Mean
	if distance > 0 {
		out.Holed = shareStat(holed, len(putts), level)
	}
	return out, nil
}
