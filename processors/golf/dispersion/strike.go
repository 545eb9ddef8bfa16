package dispersion

import "math"

// Strike is where on the face a shot was struck, in metres from its geometric
// centre: X positive toward the toe, Y up. It means the same for a left-hander.
type Strike struct{ X, Y float64 }

// farthestStrike is the largest distance (m) from the centre of any clubface.
const farthestStrike = 0.15

// StrikeSummary is how strikes scatter on the face. Everything is in metres,
// SpreadLn in ln m². OffCentre is the mean distance from the face's centre, its
// interval by Student's t.
type StrikeSummary struct {
	N                      int
	X, Y                   Axis
	OffCentre              Stat
	SpreadLn               Stat
	NextStrike, MeanStrike *Ellipse
}

// SummariseStrikes describes strikes at a level of confidence (0.95). A strike
// that is no number, or lies off any face, gives a *ShotError.
func SummariseStrikes(strikes []Strike, level float64) (StrikeSummary, error) {
	points := make([][2]float64, len(strikes))
	far := make([][2]float64, len(strikes))
	for i, s := range strikes {
		for axis, v := range [2]float64{s.X, s.Y} {
			if !(math.Abs(v) <= farthestStrike) {
				return StrikeSummary{}, &ShotError{i, [2]string{"strike x", "strike y"}[axis], v,
					"is not on a clubface; enter metres from its centre, toe and up positive"}
			}
		}
		points[i] = [2]float64{s.X, s.Y}
		far[i] = [2]float64{math.Hypot(s.X, s.Y), 0}
	}
	scatter, err := NewScatter(points)
	if err != nil {
		return StrikeSummary{}, err
	}
	distance, err := NewScatter(far)
	if err != nil {
		return StrikeSummary{}, err
	}
	out := StrikeSummary{N: scatter.N, X: axis(scatter, 0, level), Y: axis(scatter, 1, level)}
	out.OffCentre = axis(distance, 0, level).Mean
	out.SpreadLn = scatter.spreadStat(level)
	if !out.SpreadLn.NotYet {
		if e, err := scatter.NextShotEllipse(0.95); err == nil {
			out.NextStrike = &e
		}
		if e, err := scatter.MeanEllipse(0.95); err == nil {
			out.MeanStrike = &e
		}
	}
	return out, nil
}
