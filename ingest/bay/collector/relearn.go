package collector

import (
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"time"
)

const (
	// relearned is how many entries of a journal are looked at for the clocks,
	relearned = 500
	// relearnedNumbers for the numbers that devices gave their shots.
	relearnedNumbers = 100_000
)

// relearn takes from the journals how far the devices' clocks were off the hub's
// when they were last seen live. A device goes on writing while the bay's PC is
// off or the collector is between two lives; what it wrote then is read as a
// backlog and takes the time of its clock, moved by this. Numbers that a device
// has used are learned again too, or a counter that begins anew while the
// collector is between two lives would turn old shots into new ones.
func (in *intake) relearn() {
	in.mu.Lock()
	defer in.mu.Unlock()
	decode := event.NewReader()
	for _, info := range in.journal.Journals() { // oldest first: the latest counts most
		from := info.First
		if info.Last >= relearnedNumbers {
			from = max(from, info.Last-relearnedNumbers+1)
		}
		r := in.journal.Read(info.ID, from)
		for {
			stored, ok, err := r.TryNext()
			if err != nil || !ok {
				break // the end, or damage that others report: then less is known
			}
			l, err := decode.Read(stored.Payload)
			if err != nil {
				continue
			}
			e, f := l.Entry, in.feed(l.Entry.Feed)
			f.numbers.Relearn(e)
			if stored.Seq+relearned > info.Last && e.RereadUnixNs == 0 {
				in.relearnTimes(e, f)
			}
		}
		r.Close()
	}
}

// relearnTimes takes in what an entry says of the clocks.
func (in *intake) relearnTimes(e *event.Entry, f *feedState) {
	boot := in.clock.steady.Boot
	unsure := e.Certainty == event.Certainty_CERTAINTY_UNSURE
	exact := e.EarliestUnixNs == 0 && e.LatestUnixNs == 0
	if unsure && e.Boot == boot {
		in.clock.setUnmet()
		if e.SeenMonoNs > 0 && e.ReadMonoNs-e.SeenMonoNs <= int64(live) {
			f.early.add(e.DeviceUnixNs, time.Duration(e.ReadMonoNs))
		}
	}
	// What was read next was written after this was, which is less than after
	// it was read: the life may have ended in the middle of what had come.
	seen := look{Mono: time.Duration(e.SeenMonoNs), Hub: e.EarliestUnixNs}
	if exact && !unsure {
		seen = look{Mono: time.Duration(e.ReadMonoNs) - live, Hub: e.EffectiveUnixNs - int64(live)}
	}
	if e.Boot != boot {
		seen.Mono = 0
	}
	if seen.Hub > f.look.Hub || seen.Mono > f.look.Mono {
		f.look, f.lookBoot = look{max(seen.Mono, f.look.Mono), max(seen.Hub, f.look.Hub)}, boot
	}
	if unsure {
		return
	}
	f.passed(timing{effective: e.EffectiveUnixNs, earliest: e.EarliestUnixNs, latest: e.LatestUnixNs, certainty: e.Certainty})
	if exact && e.Certainty == event.Certainty_CERTAINTY_SYNCED {
		f.skews.learn(e.DeviceUnixNs, e.EffectiveUnixNs, e.ReceivedUnixNs-e.EffectiveUnixNs)
		if e.Boot == boot && e.ReadMonoNs > 0 && !in.clock.knows() {
			in.clock.remember(stream.Offset{Ahead: time.Duration(e.EffectiveUnixNs - e.ReadMonoNs), RTT: time.Second})
		}
	}
}
