package flight

import (
	"fmt"
	"math"
	"slices"
)

// Landing holds what a device measured of a flight; nil where it measured
// nothing. Units and signs are those of Result.
type Landing struct {
	Carry        *float64
	Apex         *float64
	LandingAngle *float64
}

// Residuals compares what a device measured of one flight with what the model
// makes of the launch measured with it; nil where the device measured nothing.
type Residuals struct {
	Carry   *float64 // percent of the modelled carry, positive when measured farther
	Apex    *float64 // percent of the modelled apex, positive when measured higher
	Landing *float64 // deg, positive when measured steeper
}

// Consistency computes the residuals of one shot. Give only fields that the
// device measured itself: a carry that it computed from its own launch shows
// its formula and not its sensor, and would always agree. c must be the air
// the ball flew in, or the standard one for a carry that the device adjusted.
// Shots of less than 20 m of modelled carry give no residuals.
func Consistency(l Launch, c Conditions, measured Landing) (Residuals, error) {
	r, err := Simulate(l, c)
	if err != nil {
		return Residuals{}, err
	}
	var out Residuals
	if r.Carry < 20 || r.Apex < 1 {
		return out, nil
	}
	for _, f := range [...]struct {
		have *float64
		to   **float64
		of   func(float64) float64
	}{
		{measured.Carry, &out.Carry, func(v float64) float64 { return 100 * (v/r.Carry - 1) }},
		{measured.Apex, &out.Apex, func(v float64) float64 { return 100 * (v/r.Apex - 1) }},
		{measured.LandingAngle, &out.Landing, func(v float64) float64 { return v - r.LandingAngle }},
	} {
		if f.have == nil {
			continue
		}
		if math.IsNaN(*f.have) || math.IsInf(*f.have, 0) {
			return Residuals{}, &InputError{"measured flight", *f.have, "", "a finite number, or nothing where none was measured"}
		}
		v := f.of(*f.have)
		*f.to = &v
	}
	return out, nil
}

// Offsets beyond which a bay that never drifts is still called wrong: some
// three times the model's own mean error on flights it was not fitted to.
const (
	CarryOffset   = 6.0  // percent
	ApexOffset    = 15.0 // percent
	LandingOffset = 5.0  // deg
)

// Status is what a chart says of a bay.
type Status string

// The statuses of a chart.
const (
	Learning Status = "learning" // too few shots yet to know the bay's ordinary residual
	Steady   Status = "steady"
	Drifting Status = "drifting" // the mean has moved from where it was: clean, level, calibrate, look at the air that is set
	Offset   Status = "offset"   // wrong from the start: a unit, a sign, the altitude, or a ball that the model does not know
)

// Chart is an exponentially weighted moving average of one residual of one
// bay (Roberts 1959, Technometrics 1:239). It learns the bay's ordinary mean
// and scatter from its first shots, then watches the average against limits
// that also carry the uncertainty of what was learned. Keep a chart per bay,
// field and club category: what the model gets wrong differs between a driver
// and a wedge, and a change of clubs must not look like a drift.
//
// The zero value is not ready; use NewChart. All fields are exported so that
// a chart can be stored and resumed; a Chart is not safe for concurrent use.
type Chart struct {
	Offset  float64   // residual beyond which the learned mean itself is wrong
	Learn   int       // shots to learn from
	Lambda  float64   // weight of the newest shot
	Limit   float64   // half width of the limits in standard errors
	First   []float64 // the shots learned from, until they are Learn
	Mean    float64   // learned
	SD      float64   // learned
	N       int       // shots since
	Average float64   // the moving average
	Odd     int       // shots since that lay beyond 4 SD and counted as 4
}

// NewChart returns a chart that learns from 50 shots, weighs the newest at
// 0.05 and has limits of 3.5 standard errors. By simulation, learning included,
// about one steady bay in ten is called drifting within a thousand shots; a
// shift by one SD shows after some 27 shots, by two after 8. offset is
// CarryOffset, ApexOffset or LandingOffset.
func NewChart(offset float64) Chart {
	return Chart{Offset: offset, Learn: 50, Lambda: 0.05, Limit: 3.5}
}

// Reading is the state of a chart after a shot.
type Reading struct {
	Status    Status
	Average   float64 // the moving average; the plain mean while learning
	Mean      float64 // what is ordinary here
	Low, High float64 // limits of the average; both 0 while learning
	N         int     // shots seen, those learned from included
	Missing   int     // shots still needed to have learned
}

// String says it in a line.
func (r Reading) String() string {
	if r.Status == Learning {
		return fmt.Sprintf("learning, %d more shots", r.Missing)
	}
	return fmt.Sprintf("%s: average %+.2f, ordinary %+.2f, limits %+.2f to %+.2f (n %d)", r.Status, r.Average, r.Mean, r.Low, r.High, r.N)
}

// Add takes the residual of the next shot in order. A residual that is not a
// finite number is an *InputError and changes nothing.
func (c *Chart) Add(residual float64) (Reading, error) {
	if math.IsNaN(residual) || math.IsInf(residual, 0) {
		return Reading{}, &InputError{"residual", residual, "", "a finite number"}
	}
	if len(c.First) < c.Learn {
		c.First = append(c.First, residual)
		if len(c.First) == c.Learn {
			c.Mean, c.SD = robustMean(c.First)
			c.Average = c.Mean
		}
		return c.Reading(), nil
	}
	deviation := residual - c.Mean
	if edge := 4 * c.SD; math.Abs(deviation) > edge {
		deviation = math.Copysign(edge, deviation)
		c.Odd++
	}
	c.N++
	c.Average += c.Lambda * (c.Mean + deviation - c.Average)
	return c.Reading(), nil
}

// Reading is what the chart says now.
func (c *Chart) Reading() Reading {
	if len(c.First) < c.Learn {
		r := Reading{Status: Learning, N: len(c.First), Missing: c.Learn - len(c.First)}
		for _, v := range c.First {
			r.Average += v / float64(len(c.First))
		}
		r.Mean = r.Average
		return r
	}
	share := c.Lambda / (2 - c.Lambda) * (1 - math.Pow(1-c.Lambda, 2*float64(c.N)))
	half := c.Limit * c.SD * math.Sqrt(share+1/float64(c.Learn))
	r := Reading{
		Status: Steady, Average: c.Average, Mean: c.Mean, Low: c.Mean - half, High: c.Mean + half, N: len(c.First) + c.N,
	}
	switch {
	case c.N > 0 && (c.Average < r.Low || c.Average > r.High):
		r.Status = Drifting
	case math.Abs(c.Mean) > c.Offset:
		r.Status = Offset
	}
	return r
}

// robustMean is the mean and standard deviation after pulling in what lies
// beyond 3 robust deviations of the median, so that a few odd shots in the
// first ones do not make the chart blind. The scatter has a floor, for a
// device that repeats a number.
func robustMean(values []float64) (mean, sd float64) {
	median := medianOf(values)
	spread := make([]float64, len(values))
	for i, v := range values {
		spread[i] = math.Abs(v - median)
	}
	edge := 3 * 1.4826 * medianOf(spread)
	var sum float64
	pulled := make([]float64, len(values))
	for i, v := range values {
		pulled[i] = min(median+edge, max(median-edge, v))
		sum += pulled[i]
	}
	mean = sum / float64(len(values))
	var squares float64
	for _, v := range pulled {
		squares += (v - mean) * (v - mean)
	}
	return mean, max(0.05, math.Sqrt(squares/float64(len(values)-1)))
}

func medianOf(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
