package profile

import "strings"

// Vector is a profile as models take it: only what is known, in a fixed order.
// Values and Variances belong to Names by index; a variance is the sampling
// variance of the value. Face is left out: it is path plus face to path.
type Vector struct {
	Names     []string
	Values    []float64
	Variances []float64
	Missing   []string // names that the shots were too few for
}

// modelName is the term with its unit; the scatter enters as a logarithm, in
// which its error is the same for tight and wide strikers.
func modelName(t Term) string {
	if t == StrikeScatter {
		return "strike_scatter_ln"
	}
	unit := map[string]string{"m/s": "mps", "": "ratio"}[t.Unit()]
	if unit == "" {
		unit = t.Unit()
	}
	return strings.Join([]string{string(t), unit}, "_")
}

// VectorNames lists every name a Vector may hold, in its order.
func VectorNames() []string {
	var out []string
	for _, t := range Terms() {
		if t != Face {
			out = append(out, modelName(t))
		}
	}
	return out
}

// Vector returns the profile for a model.
//
// Moderators that come from the same shots as the outcome share their error: a
// player who scattered by chance in the baseline 'improves' with any build.
// Build the profile from other shots: Options.Use with Split, or an earlier visit.
func (p Profile) Vector() Vector {
	var v Vector
	for _, t := range Terms() {
		if t == Face {
			continue
		}
		e := p.Get(t)
		if !e.Known {
			v.Missing = append(v.Missing, modelName(t))
			continue
		}
		value, variance := e.model()
		v.Names = append(v.Names, modelName(t))
		v.Values = append(v.Values, value)
		v.Variances = append(v.Variances, variance)
	}
	return v
}

// Split parts n shots, in the order hit, into two halves that share none and
// both run over the whole session, so that warm-up and fatigue fall on both:
// the order within each pair of shots turns about (0 3 4 7 … and 1 2 5 6 …).
// Describe the player with one half and judge builds by the other; then the
// other way about, and average.
func Split(n int) (one, other []int) {
	for i := range n {
		if i%4 == 0 || i%4 == 3 {
			one = append(one, i)
		} else {
			other = append(other, i)
		}
	}
	return one, other
}
