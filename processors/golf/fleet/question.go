package fleet

import (
	"fmt"
	"math"
	"slices"
)

// Question is what is asked of the fleet. The zero value of everything but
// Outcome and Category asks the standard model: eight attributes, alone and by
// six traits (56 coefficients), curvature of length, loft and lie (3), order
// in the session (3), and a slope of each attribute for each player: 62 fixed
// coefficients and 9 variances, on rows of 14 columns.
type Question struct {
	Outcome  string
	Category string // the trials asked about; a label, Ask does not filter by it
	// Attributes; nil: all eight that at least four fifths of the trials know.
	Attributes []Attribute
	// Traits; nil: StandardTraits, as far as four fifths of the trials know them.
	Traits      []string
	NoCurvature bool
	NoOrder     bool
	NoSlopes    bool // no slopes by player
	NoShared    bool `json:",omitempty"` // no effects of builds, heads, shafts and studios of their own
	// Also names shared factors beside the standard ones: grip, ball.
	Also           []string `json:",omitempty"`
	NoErrors       bool     `json:",omitempty"` // traits are taken as if they were known exactly
	AsMeasured     bool     `json:",omitempty"` // spreads and swings with mishits, noise and biases of devices in them
	FullCovariance bool
	Test           Test
	Level          float64
	Workers        int
	Progress       func(string) `json:"-"`
}

// Design says how a trial becomes a row. It belongs to the answer, so that a
// later trial is read in the same way. It can be stored as JSON.
type Design struct {
	Attributes []Attribute
	Traits     []string
	Curved     []Attribute
	Order      bool
	// Reference build: attributes enter in steps from it.
	Reference [AttributeCount]float64
	// Traits enter as (trait − Center)/Spread.
	Center, Spread []float64
	// Ends are the 10th and the 90th percentile of the players' traits, in their
	// own units; none in answers from before they were kept.
	Ends [][2]float64 `json:",omitempty"`
	// Shared are the builds, heads, shafts and studios with effects of their own.
	Shared []SharedFactor `json:",omitempty"`
	// TraitCov is the covariance of the traits between players, in those units,
	// without their errors.
	TraitCov [][]float64
	// Calibrate makes of measured traits those to be expected, and Reliable is the
	// share of each one's variance that is no error; none where traits are exact.
	Calibrate [][]float64 `json:",omitempty"`
	Reliable  []float64   `json:",omitempty"`
}

// The order columns: what is left of being cold, how much was hit already, and
// how far the build is from the one hit just before.
const (
	warmUp  = "warm_up"
	fatigue = "fatigue"
	swap    = "swap"
)

// OrderColumns returns the order columns of a trial. Warm-up decays over a dozen
// shots; fatigue counts in thirties of shots; swap is the distance from the
// build before, in steps, at most three (Fradkin et al. 2004 found +12.8 % of
// clubhead speed from warming up alone, so none of this may be left out).
func (d *Design) OrderColumns(t, before *Trial) [3]float64 {
	s := float64(max(t.FirstShot-1, 0)) + float64(max(t.Shots.N, 0))/2
	out := [3]float64{math.Exp(-s / 12), s / 30, 0}
	if before != nil {
		steps := 0.0
		for _, a := range d.Attributes {
			if x := math.Abs(t.Attributes[a]-before.Attributes[a]) / a.Step(); finite(x) {
				steps += x
			}
		}
		out[2] = min(steps, 3)
	}
	return out
}

// width is the number of columns of a row.
func (d *Design) width() int {
	n := len(d.Attributes) + len(d.Curved)
	if d.Order {
		n += 3
	}
	return n
}

// Columns turns the attributes of a build into a row without its order
// columns, which stay zero. It reports an attribute that is not known.
func (d *Design) Columns(attributes [AttributeCount]float64) ([]float64, error) {
	row := make([]float64, d.width())
	return row, d.fill(row, attributes)
}

func (d *Design) fill(row []float64, attributes [AttributeCount]float64) error {
	for i, a := range d.Attributes {
		x := (attributes[a] - d.Reference[a]) / a.Step()
		if !finite(x) {
			return &UnknownError{a.Name()}
		}
		row[i] = x
	}
	for i, a := range d.Curved {
		x := (attributes[a] - d.Reference[a]) / a.Step()
		row[len(d.Attributes)+i] = x * x
	}
	return nil
}

// UnknownError names an attribute or trait whose value is not known.
type UnknownError struct{ Name string }

func (e *UnknownError) Error() string {
	return fmt.Sprintf("%s is not known: measure it, or leave it out of the question", e.Name)
}

// Standard turns traits, given by name in their own units and handed, into
// the model's.
func (d *Design) Standard(traits map[string]float64) ([]float64, error) {
	out := make([]float64, len(d.Traits))
	for i, n := range d.Traits {
		x, ok := traits[n]
		if !ok || !finite(x) {
			return nil, &UnknownError{n}
		}
		out[i] = (x - d.Center[i]) / d.Spread[i]
	}
	d.expected(out)
	return out, nil
}

// model is the estimator's model of the design.
func (d *Design) model(q Question) Model {
	m := Model{SessionLevel: true, Compact: true, Variance: Known, FullCovariance: q.FullCovariance, Moderators: d.Traits}
	for i, a := range d.Attributes {
		m.Columns = append(m.Columns, a.Name())
		m.Terms = append(m.Terms, Term{a.Name(), i, -1})
		for k, t := range d.Traits {
			m.Terms = append(m.Terms, Term{a.Name() + ":" + t, i, k})
		}
		if !q.NoSlopes {
			m.Random = append(m.Random, i)
		}
	}
	extra := []string{}
	for _, a := range d.Curved {
		extra = append(extra, a.Name()+"_curve")
	}
	if d.Order {
		extra = append(extra, warmUp, fatigue, swap)
	}
	for _, n := range extra {
		m.Terms = append(m.Terms, Term{n, len(m.Columns), -1})
		m.Columns = append(m.Columns, n)
	}
	d.cross(&m)
	return m
}

// knownEnough is the share of trials that must know an attribute or trait for
// it to be asked about unasked.
const knownEnough = 0.8

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
