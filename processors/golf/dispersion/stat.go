package dispersion

import (
	"encoding/json"
	"fmt"
)

// Stat is one statistic: its value, an interval for the true value (95 %
// unless another level was asked for), and the shots behind it. When NotYet is
// set there is no value: Why says what is missing, and More how many further
// shots are needed (0 when more shots alone are not the cure).
type Stat struct {
	Value, Low, High float64
	N                int
	NotYet           bool
	More             int
	Why              string
}

// The number of shots from which each statistic means something. Below five
// shots a standard deviation is wrong by half as often as not; a tenth needs
// ten; the robust estimate needs a majority it can recognise.
const (
	MinMean       = 3
	MinSpread     = 5
	MinSuspects   = 6
	MinWorstTenth = 10
	MinRobust     = 20
)

func notYet(n, need int) Stat {
	return Stat{N: n, NotYet: true, More: need - n, Why: fmt.Sprintf("needs %d shots, has %d", need, n)}
}

func without(n int, why string) Stat { return Stat{N: n, NotYet: true, Why: why} }

// stat returns a value with its interval, or a 'not yet' if the arithmetic
// ran out of range; so no caller can leak a NaN.
func stat(n int, value, low, high float64) Stat {
	if !finite(value) || !finite(low) || !finite(high) {
		return without(n, "cannot be computed from these shots")
	}
	return Stat{Value: value, Low: low, High: high, N: n}
}

// String returns the value and its interval, or what is missing.
func (s Stat) String() string {
	switch {
	case s.NotYet && s.More > 0:
		return fmt.Sprintf("not yet, %d more", s.More)
	case s.NotYet:
		return "not yet: " + s.Why
	}
	return fmt.Sprintf("%.4g (%.4g to %.4g)", s.Value, s.Low, s.High)
}

// MarshalJSON writes value, low, high (null when not yet), n, and then
// not_yet, more and why where they apply.
func (s Stat) MarshalJSON() ([]byte, error) {
	type out struct {
		Value  *float64 `json:"value"`
		Low    *float64 `json:"low"`
		High   *float64 `json:"high"`
		N      int      `json:"n"`
		NotYet bool     `json:"not_yet,omitempty"`
		More   int      `json:"more,omitempty"`
		Why    string   `json:"why,omitempty"`
	}
	o := out{N: s.N, NotYet: s.NotYet, More: s.More, Why: s.Why}
	if !s.NotYet {
		o.Value, o.Low, o.High = &s.Value, &s.Low, &s.High
	}
	return json.Marshal(o)
}
