package rolling

import (
	"encoding/json"

	"fairlead/processors/golf/dispersion"
)

// Stat is one statistic with its 95 % interval, or how many more shots it
// needs. In JSON value, low and high are null when it is not yet.
type Stat dispersion.Stat

func statOf(s dispersion.Stat) *Stat {
	out := Stat(s)
	return &out
}

// MarshalJSON writes value, low, high, n, and not_yet, more, why where they apply.
func (s Stat) MarshalJSON() ([]byte, error) { return dispersion.Stat(s).MarshalJSON() }

// UnmarshalJSON reads what MarshalJSON writes.
func (s *Stat) UnmarshalJSON(text []byte) error {
	var in struct {
		Value, Low, High float64
		N                int
		NotYet           bool `json:"not_yet"`
		More             int
		Why              string
	}
	if err := json.Unmarshal(text, &in); err != nil {
		return err
	}
	*s = Stat{Value: in.Value, Low: in.Low, High: in.High, N: in.N, NotYet: in.NotYet, More: in.More, Why: in.Why}
	return nil
}

// Ellipse is a region of points (carry, offline) or (strike x, strike y), in
// m. TiltDeg turns the long axis from the first axis toward the second.
type Ellipse struct {
	P       float64    `json:"p"` // share of next shots that it holds
	Centre  [2]float64 `json:"centre_m"`
	Major   float64    `json:"major_m"` // semi axes
	Minor   float64    `json:"minor_m"`
	TiltDeg float64    `json:"tilt_deg"`
	Area    float64    `json:"area_m2"`
	N       int        `json:"n"`
}

func ellipseOf(e *dispersion.Ellipse) *Ellipse {
	if e == nil {
		return nil
	}
	return &Ellipse{e.P, e.Centre, e.Major, e.Minor, e.TiltDeg, e.Area, e.N}
}

// Scatter is what points come down to: count, mean, and scatter matrix
// Σ(x−x̄)(x−x̄)ᵀ as its elements 11, 12, 22; carry first, offline second, m and m².
type Scatter struct {
	N    int        `json:"n"`
	Mean [2]float64 `json:"mean_m"`
	A    [3]float64 `json:"a_m2"`
}
