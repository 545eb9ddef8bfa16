package club

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// MinShots is how few shots can say anything: with fewer the answer is NotYet.
const MinShots = 4

// Sample is one measured quantity over n shots. N of 0 means not measured.
type Sample struct {
	N    int
	Mean float64
	SD   float64 // with n−1; 0 when N < 2
}

// NewSample summarises values; what names them in the error.
func NewSample(what string, values []float64) (Sample, error) {
	for i, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return Sample{}, &InputError{Field: fmt.Sprintf("%s of shot %d", what, i+1), Value: fmt.Sprintf("%g", v),
				Reason: "is no number", Try: "leave the value out where it was not measured"}
		}
	}
	switch len(values) {
	case 0:
		return Sample{}, nil
	case 1:
		return Sample{N: 1, Mean: values[0]}, nil
	}
	mean, sd := stat.MeanStdDev(values, nil)
	return Sample{N: len(values), Mean: mean, SD: sd}, nil
}

// Ready reports whether there are enough shots to say anything.
func (s Sample) Ready() bool { return s.N >= MinShots }

// More is how many more shots it takes to be ready.
func (s Sample) More() int { return max(0, MinShots-s.N) }

func (s Sample) check(what string, low, high float64, unit string) error {
	if s.N < 0 {
		return &InputError{Field: "number of shots of " + what, Value: fmt.Sprint(s.N), Reason: "is negative", Try: "count the shots"}
	}
	if s.N == 0 {
		return nil
	}
	return firstError(within(what, s.Mean, low, high, unit, "check the unit of the column"),
		within("spread of "+what, s.SD, 0, high-low, unit, "give the standard deviation"))
}

// estimate is a mean with its standard error and degrees of freedom: what the
// shots say about it is Student's t, location-scale.
type estimate struct{ mean, se, df float64 }

// of returns the estimate of a sample's mean. resolution (the step the device
// reports in) keeps shots that all read alike from claiming certainty: the
// variance of rounding, resolution²/12, is the least that any shot has.
func of(s Sample, resolution float64) estimate {
	n := float64(s.N)
	return estimate{s.Mean, math.Sqrt(math.Max(s.SD*s.SD, resolution*resolution/12) / n), n - 1}
}

// less returns a − b with Welch's standard error and Satterthwaite's degrees
// of freedom (Welch 1947, Biometrika 34:28).
func (a estimate) less(b estimate) estimate {
	va, vb := a.se*a.se, b.se*b.se
	df := (va + vb) * (va + vb) / (va*va/a.df + vb*vb/b.df)
	return estimate{a.mean - b.mean, math.Sqrt(va + vb), df}
}

// below is the probability that the quantity is less than x.
func (e estimate) below(x float64) float64 {
	return distuv.StudentsT{Mu: e.mean, Sigma: e.se, Nu: e.df}.CDF(x)
}

// interval is the central interval of the given level, such as 0.95.
func (e estimate) interval(level float64) (low, high float64) {
	half := e.se * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: e.df}.Quantile(0.5+level/2)
	return e.mean - half, e.mean + half
}

// MeanInterval is the central interval of the sample's mean at a level such as
// 0.95; resolution is the step that the device reports in.
func (s Sample) MeanInterval(level, resolution float64) (low, high float64) {
	return of(s, resolution).interval(level)
}

// NextInterval is where the next shot lies with a probability such as 0.9.
func (s Sample) NextInterval(p, resolution float64) (low, high float64) {
	e := of(s, resolution)
	return estimate{e.mean, math.Sqrt(e.se*e.se*float64(s.N) + e.se*e.se), e.df}.interval(p)
}
