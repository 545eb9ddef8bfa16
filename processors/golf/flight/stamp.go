package flight

import (
	"fmt"
	"hash/crc32"
	"sync"
)

// Stamp names what computes the flights of this program: the standard model's name and
// a sum over all numbers that a flight in given air depends on. Whoever keeps computed
// flights keeps it beside them: flights of two stamps are not to be compared.
// testdata/flight/stamps.json holds flights of each stamp, so that a change of the code
// which moves them without moving the stamp is found.
var Stamp = sync.OnceValue(func() string { return stampOf(Standard()) })

func stampOf(c Conditions) string {
	m := c.Model
	m.Source, m.Use = "", "" // words
	sum := crc32.ChecksumIEEE(fmt.Appendf(nil, "%v %v %v %v", m, c.Ball, [...]float64{Gravity, spinDecay},
		[...]float64{reynoldsLimit, reynoldsGone, collapseFull, collapseRecovers, middleSpeed, slowRound}))
	return fmt.Sprintf("%s-%08x", m.Name, sum)
}
