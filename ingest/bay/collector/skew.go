package collector

import (
	"time"
)

// skews learns how far a device's clock is off the hub's: the smallest delay
// between the device's time and the receipt of a live line is the best
// estimate, because reading a line late can only add to it.
type skews struct {
	recent [20]int64 // hub less device time
	n      int
	// wall is the bay's wall clock less the hub's when it was last learned. A
	// device that runs on the bay's PC has its clock set along with it.
	wall int64
	fine bool // the clock tells less than whole seconds

	// Lines that were read at once and timed long before, one after the other:
	// written late, or by a clock that was set back.
	lag    int64 // of the latest
	lagAt  int64 // when the first of equal lags was read
	lags   int   // of about that lag, one after the other
	varied bool  // the one before had another lag: then it is lateness
}

func (s *skews) learn(device, hub, wall int64) {
	if device == 0 {
		return
	}
	s.recent[s.n%len(s.recent)] = hub - device
	s.n++
	s.fine = s.fine || device%int64(time.Second) != 0
	s.wall, s.lags, s.varied = wall, 0, false
}

// forget begins anew: the device's clock was set.
func (s *skews) forget() { *s = skews{} }

// near learns of a line that was not read at once: only that the clock is off by
// less than was thought, for how late it was read is not known.
func (s *skews) near(device, hub, wall int64) {
	if device != 0 && hub-device <= s.hub(0) {
		s.learn(device, hub, wall)
	}
}

// spread is how much the delays of lines that were read at once differ: by up to
// a second where the clock counts whole ones.
func (s *skews) spread() int64 {
	spread := int64(0)
	if !s.fine {
		spread = int64(time.Second)
	}
	least := s.hub(0)
	for _, d := range s.recent[:min(s.n, len(s.recent))] {
		spread = max(spread, d-least)
	}
	return spread
}

// usual is how far behind the device's time a line may be read and still be as
// quick as this device's are.
func (s *skews) usual() int64 { return min(s.spread()+int64(500*time.Millisecond), int64(late)) }

// early are lines that were read at once before the hub's clock was known: what
// they say of the device's is learned when it is.
type early []struct {
	device int64
	mono   time.Duration
}

func (e *early) add(device int64, mono time.Duration) {
	const most = 20
	if device != 0 && len(*e) < most {
		*e = append(*e, struct {
			device int64
			mono   time.Duration
		}{device, mono})
	}
}

func (e *early) learn(s *skews, m moment) {
	if !s.learned() {
		for _, l := range *e {
			if hub := m.hub(l.mono); !s.learned() || abs(hub-s.hub(l.device)) <= int64(late) {
				s.learn(l.device, hub, m.wall-m.hub(m.mono))
			}
		}
	}
	*e = nil
}

// shift follows a device whose clock was set by as much as the bay's.
func (s *skews) shift(by int64) {
	for i := range s.recent {
		s.recent[i] -= by
	}
	s.wall += by
}

// learned says whether it is known how far the device's clock is off.
func (s *skews) learned() bool { return s.n > 0 }

// hub turns a device time into hub time. Before any live line the device's
// clock is taken as it is.
func (s *skews) hub(device int64) int64 {
	if s.n == 0 {
		return device
	}
	least := s.recent[0]
	for _, d := range s.recent[:min(s.n, len(s.recent))] {
		least = min(least, d)
	}
	return device + least
}

// nearest chooses of two moments that a device's time may name the one that is
// nearer to when the line was read.
func (s *skews) nearest(a, b, read int64) int64 {
	if abs(read-s.hub(b)) < abs(read-s.hub(a)) {
		return b
	}
	return a
}

// late judges a line that was read at once, so long after its device's time
// that either it was written late or the clock was set back. Lateness varies
// from line to line, a clock that was set does not.
func (s *skews) late(lag, read int64) (written, set bool) {
	same := s.lags > 0 && abs(lag-s.lag) <= min(s.spread()+int64(live), int64(slack))
	switch {
	case same:
		s.lags++
	default:
		s.varied = s.lags > 0
		s.lags, s.lagAt = 1, read
	}
	s.lag = lag
	if s.lags >= 3 && read-s.lagAt > int64(5*time.Second) {
		return false, true
	}
	return s.varied && s.lags == 1, false
}

func abs(x int64) int64 { return max(x, -x) }
