package fleet

import (
	"math"
	"slices"
)

// keptValues is how many values an ends holds at most.
const keptValues = 8192

// ends keeps every so-manieth of many values, so that their percentiles are
// known without holding all. Players come in the order of their names, which
// says nothing of their swing.
type ends struct {
	values      []float64
	stride, due int
}

func (e *ends) add(x float64) {
	if e.stride == 0 {
		e.stride = 1
	}
	if e.due > 0 {
		e.due--
		return
	}
	e.due = e.stride - 1
	if len(e.values) == keptValues {
		for i := range keptValues / 2 {
			e.values[i] = e.values[2*i]
		}
		e.values = e.values[:keptValues/2]
		e.stride *= 2
		e.due = e.stride - 1
	}
	e.values = append(e.values, x)
}

// at is a percentile between neighbours; NaN of nothing.
func (e *ends) at(p float64) float64 {
	if len(e.values) == 0 {
		return math.NaN()
	}
	sorted := slices.Sorted(slices.Values(e.values))
	place := p * float64(len(sorted)-1)
	i := int(place)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	f := place - float64(i)
	return sorted[i]*(1-f) + sorted[i+1]*f
}
