package collector

import (
	"fairlead/ingest/contract/event"
)

// skews learns how far a device's clock is off the hub's: the smallest delay
// between the device's time and the receipt of a live line is the best
// estimate, because reading a line late can only add to it.
type skews struct {
	recent [20]int64 // effective less device time
	n      int
}

func (s *skews) learn(device, effective int64) {
	if device == 0 {
		return
	}
	s.recent[s.n%len(s.recent)] = effective - device
	s.n++
}

// hub turns a device time into hub time. Before any live line the device's
// clock is taken as it is.
func (s *skews) hub(device int64) (int64, bool) {
	if device == 0 {
		return 0, false
	}
	if s.n == 0 {
		return device, true
	}
	least := s.recent[0]
	for _, d := range s.recent[:min(s.n, len(s.recent))] {
		least = min(least, d)
	}
	return device + least, true
}

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
			if e.Certainty == event.Certainty_CERTAINTY_SYNCED && stored.Seq+relearned > info.Last {
				f.skews.learn(e.DeviceUnixNs, e.EffectiveUnixNs)
			}
		}
		r.Close()
	}
}
