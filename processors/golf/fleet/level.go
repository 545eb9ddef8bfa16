package fleet

// Circumstance is what must be the same for two trials of a session to be
// contrasted, besides the hitter.
type Circumstance struct {
	Ball, Surface, Device, Setting string
	// Instructions counts the instructions given in the session before the
	// trial: after one, club and swing have changed together.
	Instructions int
	// Incumbent: hit with the build that the session compares against.
	Incumbent bool
}

// Levels groups the trials of one session, in the order hit, into runs that may
// be contrasted: equal numbers may, different ones may not. A session's fixed
// level in the model is one of these.
//
// A contrast never crosses a change of ball, surface, device or setting. Nor
// does it cross an instruction: what was hit after it is compared only with what
// else was hit after it. If the incumbent was hit again after the instruction,
// the new builds meet it there, so nothing is lost; if it was not, they meet
// only each other, and adrift reports it. adrift lists the trials after an
// instruction whose level holds no incumbent while an earlier level does.
func Levels(trials []Circumstance) (level []int, adrift []int) {
	type key struct {
		ball, surface, device, setting string
		instructions                   int
	}
	number := map[key]int{}
	incumbent := map[int]bool{}
	level = make([]int, len(trials))
	first := -1
	for i, c := range trials {
		k := key{c.Ball, c.Surface, c.Device, c.Setting, c.Instructions}
		if _, ok := number[k]; !ok {
			number[k] = len(number) + 1
		}
		level[i] = number[k]
		if c.Incumbent {
			incumbent[level[i]] = true
			if first < 0 {
				first = i
			}
		}
	}
	for i, c := range trials {
		if c.Instructions > 0 && first >= 0 && first < i && !incumbent[level[i]] {
			adrift = append(adrift, i)
		}
	}
	return level, adrift
}
