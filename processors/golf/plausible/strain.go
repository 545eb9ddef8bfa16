package plausible

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Strain is how badly a run of shots goes together.
type Strain struct {
	Cost   float64 // 0: all laws hold well; it grows with each that is broken
	Breaks []Break // the worst first
	Laws   int     // that could be asked
}

// Of asks every law and level of a run of shots. putts says that they are
// putts, of which the laws of flight say nothing. A device's own error and a
// day's air stay within the tolerances.
func Of(s Shots, putts bool) Strain { return new(Judge).Of(s, putts) }

// Of is Of, with what was computed before.
func (j *Judge) Of(s Shots, putts bool) Strain {
	s = s.thin()
	var out Strain
	if len(s) == 0 {
		return out
	}
	if !putts {
		flights := j.flights(s)
		for _, l := range laws {
			misses := l.miss(s, flights)
			if len(misses) == 0 {
				continue
			}
			out.add(l.name, l.fields, median(misses), l.weight, l.says)
		}
	}
	for _, field := range s.fields() {
		if l, ok := levelOf(field, putts); ok {
			out.add("usual "+field, []string{field}, l.off(s.values(field)), .5, func(m float64) string {
				return fmt.Sprintf("half of the shots lie beyond %.4g, where such values are %.4g to %.4g", median(s.values(field)), l.low, l.high)
			})
		}
	}
	slices.SortStableFunc(out.Breaks, func(a, b Break) int { return cmp.Compare(b.By, a.By) })
	return out
}

func (t *Strain) add(name string, fields []string, miss, weight float64, says func(float64) string) {
	t.Laws++
	t.Cost += weight * math.Min(miss*miss, 36)
	if math.Abs(miss) > 1 {
		t.Breaks = append(t.Breaks, Break{Law: name, Fields: fields, By: math.Abs(miss), Says: says(miss)})
	}
}

// fields lists what the shots have, in a fixed order.
func (s Shots) fields() (out []string) {
	for _, shot := range s {
		for f := range shot {
			if !slices.Contains(out, f) {
				out = append(out, f)
			}
		}
	}
	slices.Sort(out)
	return out
}
