package fleet

import "sort"

// BenjaminiHochberg adjusts p-values for the false discovery rate over a whole
// screen: calling everything with an adjusted value below q a finding keeps the
// expected share of false ones below q (Benjamini & Hochberg, J. R. Stat. Soc.
// B 57:289, 1995). The result is in the order of p.
func BenjaminiHochberg(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return p[order[a]] < p[order[b]] })
	out := make([]float64, len(p))
	least := 1.0
	for rank := len(p); rank >= 1; rank-- {
		i := order[rank-1]
		least = min(least, p[i]*float64(len(p))/float64(rank))
		out[i] = least
	}
	return out
}
