package journal

import "time"

// SetFloor says that the store holds every entry of that journal below the
// given seq. It is not kept across restarts; the hub tells it again.
func (j *Journal) SetFloor(journalID string, below uint64) {
	j.mu.Lock()
	defer j.mu.Unlock()
	for _, c := range j.chains {
		if c.id.String() == journalID {
			c.floor = max(c.floor, below)
		}
	}
}

// Trim deletes the files whose entries all lie below their journal's floor and
// were all appended before olderThan. It goes from the oldest on and stops at
// the first that must stay, so no gap arises. The file that is appended to
// always stays. Trimmed is what was deleted, also when an error cut it short.
func (j *Journal) Trim(olderThan time.Time) (Trimmed, error) {
	j.writing.Lock()
	defer j.writing.Unlock()
	var t Trimmed
	for {
		c, seg := j.trimmable(olderThan)
		if seg == nil {
			return t, nil
		}
		if err := j.disk.remove(seg.path); err != nil {
			return t, ioError("delete", seg.path, err)
		}
		// One after the other: after a power cut no later file may be gone
		// while an earlier one is back.
		if err := j.disk.syncDir(j.o.Dir); err != nil {
			return t, ioError("sync", j.o.Dir, err)
		}
		t.Files++
		t.Bytes += seg.end
		t.Entries += seg.last + 1 - seg.first
		j.drop(c)
		j.log.Info("deleted what the store has confirmed", "file", seg.path, "first", seg.first, "last", seg.last)
	}
}

// Trimmed counts what Trim deleted.
type Trimmed struct {
	Files   int
	Bytes   int64
	Entries uint64
}

// trimmable returns a file that may go: the first of any journal.
func (j *Journal) trimmable(olderThan time.Time) (*chain, *segment) {
	j.mu.RLock()
	defer j.mu.RUnlock()
	for _, c := range j.chains {
		if len(c.segments) == 0 || c == j.active() && len(c.segments) == 1 {
			continue
		}
		seg := c.segments[0]
		if (seg.last < seg.first || seg.last < c.floor) && seg.lastAt.Before(olderThan) {
			return c, seg
		}
	}
	return nil, nil
}

// drop forgets the first file of the journal, and the journal with its last.
func (j *Journal) drop(c *chain) {
	j.mu.Lock()
	defer j.mu.Unlock()
	path := c.segments[0].path
	c.segments = c.segments[1:]
	keep := c.lost[:0:0]
	for _, q := range c.lost {
		if q.File != path {
			keep = append(keep, q)
		}
	}
	c.lost = keep
	if len(c.segments) > 0 || c == j.active() {
		return
	}
	for i, other := range j.chains {
		if other == c {
			j.chains = append(j.chains[:i:i], j.chains[i+1:]...)
			return
		}
	}
}
