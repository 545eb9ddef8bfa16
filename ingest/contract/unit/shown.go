package unit

import (
	"fmt"
	"math"
)

// Rounded rounds to six decimals, far below what any input is known to, and
// turns -0 into 0: what is written for scripts has no digits that mean nothing.
func Rounded(v float64) float64 { return math.Round(v*1e6)/1e6 + 0 }

// Shown says in which units lengths of ground are written for people: metres, or
// yards.
type Shown struct{ Imperial bool }

// Distance writes a length of ground, stored in m, to a tenth.
func (s Shown) Distance(m float64) string {
	if s.Imperial {
		return fmt.Sprintf("%.1f yd", m/Yard)
	}
	return fmt.Sprintf("%.1f m", m)
}

// Sided writes a distance beside the target line, right positive, with its side.
func (s Shown) Sided(m float64) string {
	switch {
	case m < 0:
		return s.Distance(-m) + " left"
	case m > 0:
		return s.Distance(m) + " right"
	}
	return s.Distance(0)
}
