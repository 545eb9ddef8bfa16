package collector

import (
	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
)

// exports follows how long before their files appeared the last lines of a
// device's exports were hit, by its own clock. Somebody who ends a session does
// so now sooner and now later; a clock that is slow is so each time by as much.
type exports struct {
	lags [3]int64 // of the latest files, hub's time less the device's
	n    int
	at   int64 // when the latest file appeared, hub time; 0: none did
	past int64 // and the one before it
}

// add takes in a file, or the next part of one.
func (x *exports) add(lag, at int64) {
	if x.n > 0 && at-x.at < int64(live) {
		x.lags[(x.n-1)%len(x.lags)] = min(lag, x.lags[(x.n-1)%len(x.lags)])
		return
	}
	x.lags[x.n%len(x.lags)] = lag
	x.n++
	x.past, x.at = x.at, at
}

// slow is by how much the device's clock may be slow: the files came as much
// later than it says, one after the other. 0: it is not known to be.
func (x *exports) slow() int64 {
	if x.n < len(x.lags) {
		return 0
	}
	least, most := x.lags[0], x.lags[0]
	for _, lag := range x.lags {
		least, most = min(least, lag), max(most, lag)
	}
	if most-least > int64(slack) || least <= int64(late) || least > int64(day) {
		return 0
	}
	return least
}

// exported learns of a device's clock from a finished file that appeared while
// its folder was watched. No line can have been hit after that: a clock that says
// so is fast by as much at least.
func (in *intake) exported(name string, b *feed.Batch, m moment) {
	if !b.Export || b.Seen.IsZero() || !m.synced {
		return
	}
	latest := int64(0)
	for _, d := range b.Drafts {
		latest = max(latest, d.Entry.DeviceUnixNs)
	}
	in.mu.Lock()
	defer in.mu.Unlock()
	f := in.feed(name)
	read := m.hub(m.mono)
	if f.skews.hub(latest) > read {
		f.skews.forget()
		f.skews.learn(latest, read, m.wall-read)
	}
	f.exports.add(read-f.skews.hub(latest), read)
}

// export is the time of a line of such a file: by the device's clock as far as it
// is known, and never after the file was there. Without a clock it was hit after
// the file before had come.
func (f *feedState) export(device int64, l lower, read int64) timing {
	if device == 0 {
		if from := max(f.exports.past, f.look.Hub); from != 0 {
			return between(from, read, read)
		}
		return timing{effective: read, certainty: event.Certainty_CERTAINTY_SYNCED}
	}
	guess := f.skews.hub(device)
	if l.first {
		return timing{effective: guess, certainty: event.Certainty_CERTAINTY_DEVICE}
	}
	guess = min(guess, read)
	if slow := f.exports.slow(); slow != 0 {
		return between(guess-int64(slack), min(read, guess+slow+int64(slack)), guess+slow)
	}
	return byDevice(guess, read)
}
