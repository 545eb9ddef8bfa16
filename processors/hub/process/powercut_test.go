package process

import (
	"context"
	"math/rand/v2"
	"net/http"
	"path/filepath"
	"testing"
	"time"

	"fairlead/deploy/powercut"
	"fairlead/deploy/proof"
	"fairlead/ingest/log/stream"
)

// The power of the broker's disk goes under load. SHOTS is written behind and
// may lose what it acknowledged; the store ends complete all the same, refilled
// from the journals. VISITS is synced and loses nothing.
func TestPowerCutOfTheLog(t *testing.T) {
	if !powercut.Possible(t) {
		return
	}
	t.Parallel()
	seed, n := proof.Seed(t, 2), proof.Cases(2, 60)
	rng := rand.New(rand.NewPCG(seed, seed))
	disk := powercut.New(t, 256<<20)
	b := newBench(t, setup{broker: filepath.Join(disk.Dir(), "broker")})
	y := b.bay("north")
	b.startHub()
	y.say(opened())
	y.say(started("t0", 30))
	lost, lostVisits := 0, 0
	for range n {
		for range 2 + rng.IntN(4) {
			y.hit(1 + rng.IntN(40))
			proof.Pause(t, time.Duration(rng.IntN(60))*time.Millisecond)
		}
		y.note(started("t"+time.Now().Format("150405.000"), 30+rng.Float64()))
		if rng.IntN(2) == 0 {
			y.arrived() // else the hub has taken a part
		}
		before := [2]uint64{b.inLog(stream.Shots), b.inLog(stream.Visits)}
		disk.Cut()
		b.broker.kill()
		y.hit(rng.IntN(20)) // the device goes on
		disk.Restore()
		b.broker.start()
		// The hub declares the streams anew when a cut took even them.
		lost += max(0, int(before[0])-int(b.inLogNow(stream.Shots)))
		lostVisits += max(0, int(before[1])-int(b.inLogNow(stream.Visits)))
	}
	y.hit(10)
	b.whole()
	t.Logf("%d power cuts (seed %d): of %d shots and %d visit events; the log lost %d and %d of its messages, some several times; all are "+
		"stored",
		n, seed, y.lines, b.console.seq, lost, lostVisits)
	proof.Record(t, "powercut_log", map[string]any{"cuts": n, "seed": seed, "shots": y.lines, "messages_lost_by_the_log": lost,
		"visit_events": b.console.seq, "visit_messages_lost_by_the_log": lostVisits})
}

// The power of ClickHouse's disk goes during inserts and merges: in the end the
// ids stored are those of the devices, and no shot counts twice.
func TestPowerCutOfTheStore(t *testing.T) {
	if !powercut.Possible(t) {
		return
	}
	t.Parallel()
	seed, n := proof.Seed(t, 3), proof.Cases(2, 60)
	rng := rand.New(rand.NewPCG(seed, seed))
	disk := powercut.New(t, 1<<30)
	b := newBench(t, setup{engine: filepath.Join(disk.Dir(), "engine")})
	y, z := b.bay("north"), b.bay("quay")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	lost := 0
	for range n {
		for range 4 + rng.IntN(8) {
			y.hit(1 + rng.IntN(10))
			z.hit(1 + rng.IntN(60))
			proof.Pause(t, time.Duration(rng.IntN(50))*time.Millisecond)
		}
		if rng.IntN(3) == 0 {
			y.arrived()
			z.arrived()
		}
		had := max(0, y.stored()) + max(0, z.stored())
		merged := make(chan struct{})
		go func() { // fails with the power
			defer close(merged)
			b.store.Conn().Exec(context.Background(), "OPTIMIZE TABLE entries FINAL")
		}()
		proof.Pause(t, time.Duration(rng.IntN(15))*time.Millisecond)
		disk.Cut()
		b.engine.Kill()
		<-merged
		y.hit(rng.IntN(5))
		disk.Restore()
		b.startEngine()
		lost += max(0, had-b.countNow())
	}
	y.hit(10)
	b.whole()
	t.Logf("%d power cuts (seed %d), %d shots: the store lost at least %d that it had; all are there", n, seed, y.lines+z.lines, lost)
	proof.Record(t, "powercut_store", map[string]any{"cuts": n, "seed": seed, "shots": y.lines + z.lines, "lost_by_the_store_at_least": lost})
}

// The power goes after the engine has committed an insert and before the hub
// hears of it: the hub gives the rows again, and none is there twice.
func TestPowerCutBetweenInsertAndAck(t *testing.T) {
	if !powercut.Possible(t) {
		return
	}
	t.Parallel()
	n := proof.Cases(2, 30)
	disk := powercut.New(t, 1<<30)
	p := &proxy{only: "entries"}
	b := newBench(t, setup{engine: filepath.Join(disk.Dir(), "engine"), dsn: func(dsn string) string { return p.before(t, dsn) }})
	y := b.bay("north")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(5)
	y.arrived()
	for range n {
		committed, cut := make(chan struct{}, 8), make(chan struct{})
		p.set(func(http.ResponseWriter) {
			committed <- struct{}{}
			<-cut
			panic(http.ErrAbortHandler)
		})
		y.hit(7)
		select {
		case <-committed:
		case <-time.After(40 * time.Second):
			t.Fatal("no insert in 40 s")
		}
		disk.Cut()
		b.engine.Kill()
		p.set(nil)
		close(cut)
		disk.Restore()
		b.startEngine()
		y.arrived()
	}
	b.whole()
	b.untilStored("the trial is right", func() bool { return b.trialN("t1") == y.lines })
	proof.Record(t, "powercut_insert_ack", map[string]any{"cuts": n, "shots": y.lines})
}
