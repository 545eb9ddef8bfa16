package fleet

import "sort"

// BenjaminiHochberg adjusts p-values for the false discovery rate over a whole
// screen: calling everything with an adjusted value below q a finding keeps the
// expected share of false ones below q (Benjamini & Hochberg, J. R. Stat. Soc.
// B 57:289, 1995). The result is in the order of p.
func BenjaminiHochberg(p []float64) []float64 {
	order, out := ascending(p), make([]float64, len(p))
	least := 1.0
	for rank := len(p); rank >= 1; rank-- {
		i := order[rank-1]
		least = min(least, p[i]*float64(len(p))/float64(rank))
		out[i] = least
	}
	return out
}

// Holm adjusts p-values so that calling everything with an adjusted value below q a
// finding makes even one false with a chance below q (Holm, Scand. J. Stat. 6:65, 1979).
// The result is in the order of p.
func Holm(p []float64) []float64 {
	out := make([]float64, len(p))
	worst := 0.0
	for rank, i := range ascending(p) {
		worst = max(worst, min(1, p[i]*float64(len(p)-rank)))
		out[i] = worst
	}
	return out
}

// ascending is the order of values from the least on.
func ascending(p []float64) []int {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return p[order[a]] < p[order[b]] })
	return order
}
