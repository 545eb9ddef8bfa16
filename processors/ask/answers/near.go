package answers

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"fairlead/processors/golf/fleet"
)

// nearness watches, over trials that may be compared, how far each attribute
// follows from the others. Swing weight nearly follows from length, head and
// shaft: asked all together, none of them can be told from the rest, although
// each could be without it.
type nearness struct {
	session string
	level   int
	first   [fleet.AttributeCount]float64
	open    bool
	sum     [fleet.AttributeCount]float64 // of the level at hand, from its first trial
	cross   [fleet.AttributeCount][fleet.AttributeCount]float64
	n       float64
	total   [fleet.AttributeCount][fleet.AttributeCount]float64 // within levels
}

// mostInflation is up to how many times the variance of an effect may be
// inflated by what the attribute shares with the others.
const mostInflation = 50

// add takes the next trial; trials of a level that do not follow each other
// count as two levels. A trial with an unknown attribute is passed over.
func (w *nearness) add(t *fleet.Trial) {
	var x [fleet.AttributeCount]float64
	for a := range x {
		x[a] = t.Attributes[a] / fleet.Attribute(a).Step()
		if math.IsNaN(x[a]) {
			return
		}
	}
	if !w.open || w.session != t.Session || w.level != t.Level {
		w.close()
		w.open, w.session, w.level, w.first = true, t.Session, t.Level, x
	}
	w.n++
	for a := range x {
		x[a] -= w.first[a]
		w.sum[a] += x[a]
	}
	for a := range x {
		if x[a] == 0 {
			continue
		}
		for b := range x {
			w.cross[a][b] += x[a] * x[b]
		}
	}
}

func (w *nearness) close() {
	if w.n > 1 {
		for a := range w.sum {
			for b := range w.sum {
				w.total[a][b] += w.cross[a][b] - w.sum[a]*w.sum[b]/w.n
			}
		}
	}
	*w = nearness{total: w.total}
}

// keep drops attributes that follow from others, the swing weight before the
// parts it is made of, and says so.
func (w *nearness) keep(attributes []fleet.Attribute) ([]fleet.Attribute, []fleet.Warning) {
	w.close()
	var notes []fleet.Warning
	for {
		inflation := w.inflation(attributes)
		worst := -1
		for i, a := range attributes {
			if inflation[i] <= mostInflation {
				continue
			}
			if a == fleet.SwingWeight {
				worst = i
				break
			}
			if worst < 0 || inflation[i] > inflation[worst] {
				worst = i
			}
		}
		if worst < 0 {
			return attributes, notes
		}
		notes = append(notes, fleet.Warning{Code: "attribute_follows", Text: fmt.Sprintf(
			"%s is left out: between trials that may be compared it follows from the other attributes (its variance would be inflated %.0f "+
				"times); name the attributes to ask about it",
			attributes[worst].Name(), inflation[worst])})
		attributes = append(append([]fleet.Attribute{}, attributes[:worst]...), attributes[worst+1:]...)
	}
}

// inflation is the diagonal of the inverse correlation matrix within levels; 0
// where nothing can be said, for attributes that never vary.
func (w *nearness) inflation(attributes []fleet.Attribute) []float64 {
	out := make([]float64, len(attributes))
	var use []int
	for i, a := range attributes {
		if w.total[a][a] > 0 {
			use = append(use, i)
		}
	}
	if len(use) < 2 {
		return out
	}
	r := mat.NewSymDense(len(use), nil)
	for i, u := range use {
		for k := i; k < len(use); k++ {
			a, b := attributes[u], attributes[use[k]]
			r.SetSym(i, k, w.total[a][b]/math.Sqrt(w.total[a][a]*w.total[b][b]))
		}
	}
	var c mat.Cholesky
	var inverse mat.SymDense
	// Attributes that follow exactly are named by the estimator itself.
	if !c.Factorize(r) || c.InverseTo(&inverse) != nil && math.IsInf(c.Cond(), 1) {
		return out
	}
	for i, u := range use {
		if v := inverse.At(i, i); !math.IsNaN(v) {
			out[u] = v
		}
	}
	return out
}
