package collector

import (
	"math/rand/v2"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
)

// TestNoTimeIsFalselySure plays a device, a bay whose wall clock is set at times
// and a collector that stands still at times, and holds what it says of each
// line against when that was really written: never outside of the interval, and
// never 'known' while it was read late.
func TestNoTimeIsFalselySure(t *testing.T) {
	const tolerance = int64(live + 2*slack)
	sure, asked, device, held := 0, 0, 0, 0
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(3, seed))
		f := &feedState{ordered: true}
		clocked, onBay := r.IntN(2) == 0, r.IntN(2) == 0
		// A device that keeps lines back, or clocks that are set: of both at once nobody could tell which it was.
		holds := clocked && r.IntN(2) == 0
		off := int64(r.IntN(7200)-3600) * int64(time.Second) // of the device's clock
		wall := int64(0)                                     // bay's wall clock less the hub's
		now := time.Hour                                     // steady
		hub := func(at time.Duration) int64 { return 1_700_000_000_000_000_000 + int64(at) }
		looked := now
		for n := range 60 {
			now += time.Duration(5+r.IntN(30)) * time.Second
			looked = now - time.Duration(r.IntN(60))*time.Millisecond
			written := now
			if r.IntN(4) == 0 { // nobody reads for a while
				looked = now - time.Duration(r.IntN(20_000))*time.Millisecond
				now += time.Duration(r.IntN(90_000)) * time.Millisecond
			}
			if !holds && r.IntN(20) == 0 {
				step := int64([]time.Duration{3 * time.Second, time.Hour, 24 * time.Hour}[r.IntN(3)])
				if r.IntN(2) == 0 {
					step = -step
				}
				wall += step
			}
			hit := written
			if holds && n > 5 && r.IntN(8) == 0 { // the device keeps the line for a while, and may write others before it
				hit -= time.Duration(800+r.IntN([]int{2_000, 60_000}[r.IntN(2)])) * time.Millisecond
				held++
			}
			stamp := int64(0)
			if clocked {
				if stamp = hub(hit) + off; onBay {
					stamp += wall
				}
			}
			m := moment{wall: hub(now) + wall, mono: now, ahead: hub(0), synced: true}
			l := lower{mono: looked, hub: hub(looked), live: now-looked <= live}
			got := f.time(stamp, l, m)
			f.passed(got)
			truth := hub(hit)
			switch {
			case got.latest == 0:
				sure++
				if d := abs(got.effective - truth); d > int64(live) {
					t.Errorf("seed %d: a line is said to be known and is %s off", seed, time.Duration(d))
				}
			case truth < got.earliest-tolerance || truth > got.latest+tolerance:
				t.Errorf("seed %d: written %s after the earliest and %s before the latest, by %s", seed,
					time.Duration(truth-got.earliest), time.Duration(got.latest-truth), got.certainty)
			case got.certainty == event.Certainty_CERTAINTY_DEVICE:
				device++
			default:
				asked++
			}
		}
	}
	t.Logf("%d known, %d by the device's clock, %d only as intervals", sure, device, asked)
	if sure == 0 || device == 0 || asked == 0 || held == 0 {
		t.Error("not every way to know a time was met")
	}
}

// What lines that were read at once before the hub's clock was known say of the
// device's is not lost: one that it kept back is not taken as hit when it was read.
func TestADevicesClockIsLearnedBeforeTheHubsIs(t *testing.T) {
	hub := func(at time.Duration) int64 { return 1_700_000_000_000_000_000 + int64(at) }
	for _, met := range []bool{true, false} { // whether a line was read before
		f, at := &feedState{ordered: true}, time.Hour
		line := func(hit, read time.Duration, synced bool) timing {
			m := moment{wall: hub(read), mono: read, synced: synced}
			if synced {
				m.ahead = hub(0)
			}
			return f.time(hub(hit)+int64(time.Millisecond), lower{mono: read - live/2, live: true}, m)
		}
		if met {
			for range 3 {
				at += 10 * time.Second
				line(at, at, false)
			}
		}
		hit := at + 10*time.Second
		got := line(hit, hit+6*time.Second, true)
		if got.latest == 0 || hub(hit) < got.earliest || hub(hit) > got.latest || met && abs(got.effective-hub(hit)) > int64(slack) {
			t.Errorf("a line that was kept back for 6 s: %+v, hit at %d", got, hub(hit))
		}
	}
}
