package evidence

import "slices"

// Holding says which of a visit's statements hold as a whole: of the verdicts
// kept, at most the share alpha is false on average, however many outcomes of how
// many clubs were weighed, however they depend on each other and whenever one
// looks; where no club differs, the chance of any verdict is at most alpha. It is
// the Benjamini-Hochberg rule for e-values (Wang & Ramdas 2022, J. R. Stat. Soc. B
// 84:822): of K e-values the k greatest are kept, for the greatest k whose least
// one is at least K/(alpha·k). Each e-value alone promises as much for its own
// statement only. An e-value of 0 stands for a statement that nothing is known of.
func Holding(values []float64, alpha float64) []bool {
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	slices.Reverse(sorted)
	limit, some := 0.0, false
	for i, e := range sorted {
		if e > 0 && e*float64(i+1)*alpha >= float64(len(values)) {
			limit, some = e, true
		}
	}
	out := make([]bool, len(values))
	for i, e := range values {
		out[i] = some && e >= limit
	}
	return out
}
