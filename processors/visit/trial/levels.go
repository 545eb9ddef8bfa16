package trial

// Circumstance is what must be equal for two trials of a session to be
// compared, beside the hitter: a contrast never crosses a change of it.
type Circumstance struct {
	Device, Firmware string
	Setting          string // visit.Setting.ID: place, surface, ball, wind, target
	Instructions     int    // instructions given in the session before
	Intent           int32
	Class            int32
	ClassLength      float64
}

// Levels numbers the circumstances of a session's trials from 1 in the order of
// their first appearance. Trials of one level may be compared; after an
// instruction a new level begins, so that only what was hit again after it is
// compared with what came after it.
func Levels(in []Circumstance) []int {
	seen := map[Circumstance]int{}
	out := make([]int, len(in))
	for i, c := range in {
		if _, ok := seen[c]; !ok {
			seen[c] = len(seen) + 1
		}
		out[i] = seen[c]
	}
	return out
}
