package dispersion

import (
	"fairlead/ingest/contract/glossary"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Aim is what the player tried to hit, in metres: how far (0: no distance was
// named, the shots' own mean carry is taken) and how far right of the target line.
type Aim struct{ Carry, Offline float64 }

// Axis is one axis of a trial: its mean, standard deviation, and the unbiased
// log spread with its exact variance (0 when not yet).
type Axis struct {
	Mean, SD, SpreadLn Stat
	SpreadVar          float64
}

// Summary is what a trial's landing points say.
type Summary struct {
	Category glossary.Category
	N        int
	Primary  []string // what the category is judged by
	P, Level float64  // of the ellipses; of the intervals

	Carry, Offline     Axis // m
	Direction          Axis // deg
	DirectionSDDeg     Stat
	CarrySDPct         Stat
	WidthM             Stat // sd of direction as metres across at the player's mean carry
	DepthM             Stat // sd of carry as metres
	Metres, Relative   Scatter
	SpreadLn           Stat    // ln|Σ|^½, m²
	SpreadVar          float64 // its exact variance; 0 when not yet
	RelativeSpreadLn   Stat    // the same in percent × degrees
	NextShot, MeanArea *Ellipse
	R50, R95           Stat // m, about the shots' own centre

	Aim          Aim  // with the carry that was used
	CarryFromAim Stat // mean carry less the aim's, m; 'not yet' where no distance was named
	RightOfAim   Stat // mean offline less the aim's, m
	Misses       []MissOdds
	Targets      []TargetOdds
	WorstTenth   WorstTenth
	Robust       Robust
	Suspects     []Suspect
}

// settings are what the options change.
type settings struct {
	p, level float64
	misses   []Miss
	targets  []Target
}

// Option changes what Summarise reports.
type Option func(*settings)

// WithP sets the share that the ellipses hold (0.95).
func WithP(p float64) Option { return func(s *settings) { s.p = p } }

// WithLevel sets the level of all intervals (0.95).
func WithLevel(level float64) Option { return func(s *settings) { s.level = level } }

// WithMisses sets the misses whose odds are wanted, in place of UsualMisses.
func WithMisses(m ...Miss) Option { return func(s *settings) { s.misses = m } }

// WithTargets sets the targets whose odds are wanted (none).
func WithTargets(t ...Target) Option { return func(s *settings) { s.targets = t } }

// Summarise describes a trial's shots against an aim. Any number of shots is
// fine: what they are too few for is 'not yet'. A shot that is none gives a
// *ShotError, an option or aim out of range an error that says which.
//
// Intervals: means by Student's t, standard deviations by χ², the coefficient
// of variation (CarrySDPct) after Vangel 1996 (Am. Stat. 50:21); the others as
// their types say.
func Summarise(category glossary.Category, shots []Shot, aim Aim, options ...Option) (Summary, error) {
	set := settings{p: 0.95, level: 0.95, misses: UsualMisses(category)}
	for _, o := range options {
		o(&set)
	}
	if _, err := glossary.ParseCategory(string(category)); err != nil {
		return Summary{}, err
	}
	if !(set.level > 0 && set.level < 1) || !(set.p > 0 && set.p < 1) {
		return Summary{}, fmt.Errorf("level %g and p %g must lie between 0 and 1, as 0.95 does", set.level, set.p)
	}
	if !finite(aim.Carry) || !finite(aim.Offline) || aim.Carry < 0 {
		return Summary{}, fmt.Errorf("aim (%g, %g): %w", aim.Carry, aim.Offline, ErrNotFinite)
	}
	for i, s := range shots {
		if err := s.Check(i); err != nil {
			return Summary{}, err
		}
	}
	out := Summary{Category: category, N: len(shots), Primary: category.Judged(), P: set.p, Level: set.level, Aim: aim}
	points, relative := Metres(shots), Relative(shots)
	var err error
	if out.Metres, err = NewScatter(points); err != nil {
		return Summary{}, err
	}
	if out.Relative, err = NewScatter(relative); err != nil {
		return Summary{}, err
	}
	out.spreads(set)
	if out.Aim.Carry == 0 {
		out.Aim.Carry = out.Metres.Mean[0]
		out.CarryFromAim = without(out.N, "no distance was aimed at")
	} else {
		out.CarryFromAim = shifted(out.Carry.Mean, aim.Carry)
	}
	out.RightOfAim = shifted(out.Offline.Mean, aim.Offline)
	var draws []draw
	if out.N >= MinSpread {
		draws = out.Metres.posterior()
	}
	for _, m := range set.misses {
		odds, err := missOdds(out.Metres, points, m, out.Aim, set.level)
		if err != nil {
			return Summary{}, err
		}
		out.Misses = append(out.Misses, odds)
	}
	for _, t := range set.targets {
		odds, err := targetOdds(out.Metres, points, t, out.Aim, draws, set.level)
		if err != nil {
			return Summary{}, err
		}
		out.Targets = append(out.Targets, odds)
	}
	out.WorstTenth = worstTenth(out.Metres, points, out.Aim, draws, set.level)
	out.Robust = NewRobust(points, set.level)
	out.Suspects = suspects(points, out.Robust)
	return out, nil
}

// spreads fills what the two scatters say by themselves.
func (out *Summary) spreads(set settings) {
	out.Carry = axis(out.Metres, 0, set.level)
	out.Offline = axis(out.Metres, 1, set.level)
	out.Direction = axis(out.Relative, 1, set.level)
	out.DirectionSDDeg = out.Direction.SD
	out.CarrySDPct = variation(out.Metres, set.level)
	out.DepthM = out.Carry.SD
	out.WidthM = out.DirectionSDDeg
	for _, v := range []*float64{&out.WidthM.Value, &out.WidthM.Low, &out.WidthM.High} {
		*v = out.Metres.Mean[0] * math.Tan(*v*math.Pi/180)
	}
	out.SpreadLn = out.Metres.spreadStat(set.level)
	out.RelativeSpreadLn = out.Relative.spreadStat(set.level)
	out.R50 = out.Metres.radiusStat(0.50, set.level)
	out.R95 = out.Metres.radiusStat(0.95, set.level)
	if out.SpreadLn.NotYet {
		return
	}
	_, out.SpreadVar, _ = out.Metres.SpreadLn()
	if e, err := out.Metres.NextShotEllipse(set.p); err == nil {
		out.NextShot = &e
	}
	if e, err := out.Metres.MeanEllipse(set.p); err == nil {
		out.MeanArea = &e
	}
}

// axis describes one axis of a scatter.
func axis(s Scatter, i int, level float64) Axis {
	var out Axis
	n := float64(s.N)
	out.SpreadLn = s.axisSpreadStat(i, level)
	if !out.SpreadLn.NotYet {
		_, out.SpreadVar, _ = s.AxisSpreadLn(i)
	}
	ss := s.A[2*i]
	switch {
	case s.N < MinMean:
		out.Mean = notYet(s.N, MinMean)
	default:
		half := math.Sqrt(ss/(n-1)/n) * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 1}.Quantile((1+level)/2)
		out.Mean = stat(s.N, s.Mean[i], s.Mean[i]-half, s.Mean[i]+half)
	}
	switch {
	case s.N < MinSpread:
		out.SD = notYet(s.N, MinSpread)
	case s.Flat(i):
		out.SD = without(s.N, "all shots are equal on this axis")
	default:
		chi := distuv.ChiSquared{K: n - 1}
		out.SD = stat(s.N, math.Sqrt(ss/(n-1)), math.Sqrt(ss/chi.Quantile((1+level)/2)), math.Sqrt(ss/chi.Quantile((1-level)/2)))
	}
	return out
}

// variation is the carry's standard deviation in percent of its mean, with
// Vangel's modified McKay interval.
func variation(s Scatter, level float64) Stat {
	switch {
	case s.N < MinSpread:
		return notYet(s.N, MinSpread)
	case s.Flat(0):
		return without(s.N, "all carries are equal")
	}
	n := float64(s.N)
	k := math.Sqrt(s.A[0]/(n-1)) / s.Mean[0]
	chi := distuv.ChiSquared{K: n - 1}
	end := func(p float64) float64 {
		u := chi.Quantile(p)
		under := ((u+2)/n-1)*k*k + u/(n-1)
		if under <= 0 { // the spread is so large against the mean that no bound exists
			return math.Inf(1)
		}
		return 100 * k / math.Sqrt(under)
	}
	return stat(s.N, 100*k, end((1+level)/2), end((1-level)/2))
}

func shifted(s Stat, by float64) Stat {
	if !s.NotYet {
		s.Value, s.Low, s.High = s.Value-by, s.Low-by, s.High-by
	}
	return s
}
