package sheets

import (
	"fmt"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club"
)

// shortened says whether the order is the player's own club, cut at the butt:
// head and shaft are those of the own club, and it gets shorter. Its head stays
// on then, and there is nothing to bond.
func shortened(b, base *event.Build) (by float64, yes bool) {
	if !base.GetGamer() {
		return 0, false
	}
	for _, f := range []event.BuildField{event.BuildField_BUILD_HEAD_MODEL, event.BuildField_BUILD_SHAFT_MODEL,
		event.BuildField_BUILD_SHAFT_MATERIAL,
		event.BuildField_BUILD_FLEX, event.BuildField_BUILD_TIP_TRIM} {
		if !same(b.Spec(f), base.Spec(f)) {
			return 0, false
		}
	}
	want, ok1 := b.Number(event.BuildField_BUILD_LENGTH)
	was, ok2 := base.Number(event.BuildField_BUILD_LENGTH)
	return was - want, ok1 && ok2 && want < was
}

// cutOnly is the work on a club that is only made shorter.
func cutOnly(why map[club.Operation]string, by float64) {
	delete(why, club.OpPullHead)
	delete(why, club.OpBond)
	why[club.OpCutShaft] = fmt.Sprintf("%.0f mm off the butt of the own club; its head stays on", by*1000)
	why[club.OpGrip] = "the grip comes off for the cut, and a grip is fitted"
}
