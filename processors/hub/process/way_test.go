package process

import "testing"

func TestAShotsWholeWay(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y := b.bay("north")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(10)
	y.arrived()
	y.say(started("t2", 32))
	y.hit(10)
	b.untilStored("both trials have ten", func() bool { return b.trialN("t1") == 10 && b.trialN("t2") == 10 })

	// A club swap that was entered late: the two shots before belong to it.
	move := y.say(moved("t2", y.ids(9, 10)))
	b.untilStored("two shots moved", func() bool { return b.trialN("t1") == 8 && b.trialN("t2") == 12 })
	y.say(excluded("topped", y.ids(1, 1)))
	b.untilStored("one excluded", func() bool { return b.trialN("t1") == 7 })
	y.say(voided(move))
	b.untilStored("the move taken back", func() bool { return b.trialN("t1") == 9 && b.trialN("t2") == 10 })

	// The hub ends and another takes over; the device's file is written on.
	b.stopHub()
	b.startHub()
	y.hit(10)
	b.untilStored("the new owner goes on", func() bool { return b.trialN("t2") == 20 })
	b.whole()
}
