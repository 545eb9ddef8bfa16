package evidence

import "fairlead/ingest/contract/glossary"

// Measure is one measured value of a shot, named with its unit.
type Measure string

// The measures. Offline and start are positive to the right of the target;
// strike is from the face's centre, toe and up positive; start is the launch
// direction, of a putt its start line; skid is the part of a putt's way on which
// it slides.
const (
	BallSpeedMps Measure = "ball_speed_mps"
	LaunchDeg    Measure = "launch_deg"
	SpinRpm      Measure = "spin_rpm"
	CarryM       Measure = "carry_m"
	OfflineM     Measure = "offline_m"
	LandingDeg   Measure = "landing_deg"
	StrikeXM     Measure = "strike_x_m"
	StrikeYM     Measure = "strike_y_m"
	StartDeg     Measure = "start_deg"
	SkidRatio    Measure = "skid_ratio"
)

// ranges bounds what is taken as a measurement; beyond is a wrong unit.
var ranges = []struct {
	measure   Measure
	low, high float64
}{
	{BallSpeedMps, 0, 120}, {LaunchDeg, -30, 90}, {SpinRpm, 0, 20000}, {CarryM, 0, 1000}, {OfflineM, -1000, 1000},
	{LandingDeg, 0, 90}, {StrikeXM, -0.15, 0.15}, {StrikeYM, -0.15, 0.15}, {StartDeg, -90, 90}, {SkidRatio, 0, 1},
}

// Measures lists every measure.
func Measures() []Measure {
	out := make([]Measure, len(ranges))
	for i, r := range ranges {
		out[i] = r.measure
	}
	return out
}

// DefaultGoal returns what counts as better when nothing is declared.
func DefaultGoal(c glossary.Category, n glossary.Name) glossary.Goal {
	o := n.Row()
	return o.Goal(c)
}

// Margin returns the change of an outcome that counts as practically none, and
// false where the category is not judged on it.
func Margin(c glossary.Category, n glossary.Name) (float64, bool) {
	s, ok := n.Row().In[c]
	return s.Margin, ok
}

// WeakPrior returns the stated default prior of an outcome: no effect on
// average, large differences between players. Of a spread three changes of club in
// four are small (within half the margin, one sd) and one in four is as large as the
// category's scale: comparisons of heads and shafts that were published found no
// effect on a group and half of its players differing (MacKenzie 2015, MacKenzie &
// Boucher 2016), and since ten shots with either club tell a spread to within a third,
// a belief that took all changes for large would take luck for the club. A fleet of
// one's own replaces it.
func WeakPrior(c glossary.Category, n glossary.Name) Prior {
	s := n.Row().In[c]
	if n.Tightness() {
		return Prior{SD: s.Margin / 2, Large: largeShare, LargeSD: s.Prior, Source: weakSource}
	}
	return Prior{SD: s.Prior, Source: weakSource}
}

const largeShare = 0.25
