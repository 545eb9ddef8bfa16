package process

import (
	"path/filepath"
	"testing"
	"time"

	"fairlead/deploy/powercut"
	"fairlead/deploy/proof"
)

// The log's disk is full: shots wait in the journals, and say so; nothing is
// damaged, all of it arrives when there is room again, and a broker that starts
// while its disk is full goes on when it is not.
func TestTheLogsDiskIsFull(t *testing.T) {
	if !powercut.Possible(t) {
		return
	}
	t.Parallel()
	disk := powercut.NewMemory(t, 48<<20)
	b := newBench(t, setup{broker: filepath.Join(disk.Dir(), "broker")})
	y := b.bay("north")
	enough := b.broker.keep()
	b.stop = append(b.stop, enough)
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(30)
	y.arrived()
	release := disk.Fill(0)
	y.hit(300)
	nc, _ := b.connect()
	b.until("the hub says that shots do not come", func() bool {
		nudge(nc, y.place)
		return b.metric("fairlead_gap_open_entries", "") > 0 && b.metric("fairlead_gap_repairs_failed_total", "") > 0
	})
	y.hit(30)
	release()
	b.whole() // goes on by itself
	release = disk.Fill(0)
	y.hit(300)
	proof.Pause(t, time.Second)
	b.broker.kill() // and it dies while the disk is full
	proof.Pause(t, 3*time.Second)
	y.hit(5)
	release()
	b.whole()
	y.hit(5)
	b.whole()
}

// The store's disk is full: entries wait in the log, and say so; nothing is
// damaged, all of it is stored when there is room again, and an engine that
// starts while its disk is full goes on when it is not.
func TestTheStoresDiskIsFull(t *testing.T) {
	if !powercut.Possible(t) {
		return
	}
	t.Parallel()
	disk := powercut.New(t, 160<<20)
	b := newBench(t, setup{engine: filepath.Join(disk.Dir(), "engine")})
	y := b.bay("north")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(30)
	y.arrived()
	release := disk.Fill(0)
	y.hit(50)
	b.until("the hub says that the store takes nothing", func() bool { return b.metric("fairlead_process_store_errors_total", "") > 0 })
	if !b.said.has("the store did not take rows; they wait") {
		t.Error("nobody said so")
	}
	b.engine.Kill()
	b.startEngine() // starts while the disk is full
	b.untilStored("what was stored can be read", func() bool { return y.stored() >= 30 })
	y.hit(5)
	release()
	b.whole()
	y.hit(5)
	b.whole()
}
