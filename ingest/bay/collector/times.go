package collector

import (
	"time"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
)

const (
	// live is how long before it was read a line may have been written and still
	// be taken as read at once: nobody changes a club in this time.
	live = 150 * time.Millisecond
	// slack is how far a device's time may be off after what was learned of its
	// clock: it may count whole seconds, and is not always equally quick.
	slack = 1500 * time.Millisecond
	// late is how much later than its device's time a line is read that was
	// written late, whatever is usual for the device.
	late = 2500 * time.Millisecond
	// kept is how long a device may keep back the first line that is ever read of
	// it: one that is timed longer ago is by a clock that is off.
	kept = 2 * time.Minute
	// narrow is how wide a time may be and still be taken for known but for its
	// width. Tagging relies on it (tag.Narrow).
	narrow = 10 * time.Second
	// day is more than a clock is set by mistake: time zone, summer time, half a day.
	day = 26 * time.Hour
)

// timing is when a line was written, as far as that can be told: hub times.
type timing struct {
	effective        int64
	earliest, latest int64 // both 0: at effective; earliest alone 0: not known
	certainty        event.Certainty
}

// lower is what a line was written after.
type lower struct {
	mono time.Duration // in this boot; 0: not known so
	hub  int64         // 0: not known
	// first: nothing is known, since the feed was never followed before. Its lines
	// are then taken as written now, or when its device's clock says: a studio
	// that begins with a file that is there has no better word.
	first bool
	live  bool // so shortly before the reading that it was read at once
	// export: the line is of a finished file with several, and may have been hit
	// long before the file was there.
	export bool
}

// after finds what the lines of a batch were written after.
func (in *intake) after(f *feedState, b *feed.Batch, m moment) (l lower) {
	if b.Export {
		l.export = true
		l.first = b.Seen.IsZero()
		return l
	}
	l.mono = b.After
	if l.mono == 0 {
		l.mono, l.hub = f.look.Mono, f.look.Hub
	}
	if l.mono > 0 && m.synced {
		l.hub = m.hub(l.mono)
	}
	if l.mono == 0 && l.hub == 0 {
		l.first, l.live = b.Backlog, !b.Backlog // one that reads at once need not look
	} else {
		l.live = l.mono > 0 && m.mono-l.mono <= live
	}
	return l
}

// time tells when a line of a feed was written. It learns of the device's clock
// on the way. m is when it was read.
func (f *feedState) time(device int64, l lower, m moment) (t timing) {
	if !m.synced {
		if l.live && l.mono > 0 {
			f.early.add(device, m.mono)
		}
		return timing{effective: m.wall, earliest: l.hub, certainty: event.Certainty_CERTAINTY_UNSURE}
	}
	read := m.hub(m.mono)
	exact := timing{effective: read, certainty: event.Certainty_CERTAINTY_SYNCED}
	wall := m.wall - read
	s := &f.skews
	f.early.learn(s, m)
	from := l.hub
	if f.ordered {
		from = max(from, min(f.floor, read))
	}
	if l.export {
		return f.export(device, l, read)
	}
	if l.first {
		if guess := s.hub(device); device != 0 {
			return timing{effective: guess, certainty: event.Certainty_CERTAINTY_DEVICE}
		}
		return exact
	}
	if device == 0 {
		if l.live {
			return exact
		}
		return between(from, read, read)
	}
	if !s.learned() {
		return f.unlearned(device, l, m, from)
	}
	guess := s.hub(device)
	set := wall - s.wall // the bay's wall clock was set by so much since
	if abs(set) <= int64(stepped) {
		set = 0
	}
	if l.live {
		switch lag := read - guess; {
		case -int64(late) <= lag && lag <= s.usual():
			s.learn(device, read, wall)
			return exact
		case set != 0 && abs(lag+set) <= int64(late): // set along with the bay's
			s.shift(set)
			s.learn(device, read, wall)
			return exact
		case lag < 0 || f.ordered && guess < f.floor-int64(slack) && zoned(lag): // it was set
			s.forget()
			s.learn(device, read, wall)
			return exact
		default:
			written, wasSet := s.late(lag, read)
			if wasSet {
				s.forget()
				s.learn(device, read, wall)
				return exact
			}
			// Before a line that stands before it: written after a later one, or by a clock that was set back.
			written = written && !(f.ordered && guess < f.floor-int64(slack))
			if !written || set != 0 {
				return between(guess-int64(slack), read, guess)
			}
			return byDevice(guess, read)
		}
	}
	if l.mono > 0 && m.mono-l.mono <= time.Second {
		s.near(device, read, wall)
	}
	switch {
	case set != 0: // the device's clock may have been set too
		other := guess - set
		if !within(guess, from, read) && !within(other, from, read) {
			return between(from, read, read)
		}
		return between(max(from, min(guess, other)-int64(slack)), min(read, max(guess, other)+int64(slack)), read)
	case !within(guess, from, read):
		if guess < from { // it was not there at the last look: written late, or by a clock that was set back
			return between(guess-int64(slack), read, guess)
		}
		return between(from, read, read)
	}
	return byDevice(guess, read)
}

// zoned says whether a clock that is off by so much was set to another time zone
// or for summer time, rather than a line written late.
func zoned(lag int64) bool {
	const quarter = int64(15 * time.Minute)
	off := lag % quarter
	return lag >= quarter && (off <= int64(slack) || quarter-off <= int64(slack))
}

func within(at, from, to int64) bool {
	return from-int64(slack) <= at && at <= to+int64(slack)
}

// unlearned is the time by a clock of which nothing is known yet.
func (f *feedState) unlearned(device int64, l lower, m moment, from int64) timing {
	read := m.hub(m.mono)
	switch {
	case l.live:
		f.skews.learn(device, read, m.wall-read)
		if lag := read - device; lag > int64(slack) && lag <= int64(kept) { // its clock is off, or it kept the line back
			return between(device-int64(slack), read, read)
		}
		return timing{effective: read, certainty: event.Certainty_CERTAINTY_SYNCED}
	case l.hub == 0 && read-device > int64(day): // an old file, seen for the first time
		return byDevice(device, read)
	case l.hub == 0:
		from = max(from, device-int64(day))
	}
	return between(from, read, min(max(device, from), read))
}

// byDevice is a time by the device's clock, as sure as that. Neither the line before
// it nor the last look at the file bounds it: a device may keep a line back.
func byDevice(at, to int64) timing {
	t := timing{earliest: at - int64(slack), latest: min(to, at+int64(slack)), certainty: event.Certainty_CERTAINTY_DEVICE}
	t.latest = max(t.latest, t.earliest)
	t.effective = min(max(at, t.earliest), t.latest)
	return t
}

// between is a time of which no more is known.
func between(from, to, guess int64) timing {
	if from > to {
		from = to
	}
	t := timing{effective: min(max(guess, from), to), earliest: from, latest: to, certainty: event.Certainty_CERTAINTY_BETWEEN}
	if to-from <= int64(narrow) {
		t.certainty = event.Certainty_CERTAINTY_SYNCED
	}
	return t
}

// passed notes a line's time for the ones that follow it in its file.
func (f *feedState) passed(t timing) {
	if t.certainty == event.Certainty_CERTAINTY_UNSURE {
		return
	}
	at := t.effective
	if t.latest != 0 {
		at = t.earliest
	}
	f.floor = max(f.floor, at)
}
