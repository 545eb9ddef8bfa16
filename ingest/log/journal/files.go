package journal

import (
	"errors"
	"fmt"
	"io/fs"
)

// Room is reserved ahead of what is written, by writing zeros and syncing them:
// a group then overwrites blocks that are there already, so its sync has nothing
// to tell the file system. That is twice as fast as growing the file, and sound
// where reserving without writing is not (see DESIGN.md). In steps, so that a
// small disk stays usable.
const reserveBytes = 1 << 20

// ready makes the active segment take a group of so many bytes: it reads back
// what is in doubt, begins a new journal or file where one is due, and refuses
// when there is no room.
func (j *Journal) ready(bytes int) error {
	j.mu.RLock()
	closed, renew := j.closed, j.renew
	j.mu.RUnlock()
	if closed {
		return ErrClosed
	}
	if err := j.room(int64(bytes)); err != nil {
		return err
	}
	if j.suspect != nil && renew == "" {
		if err := j.readBack(); err != nil {
			return err
		}
		j.mu.RLock()
		renew = j.renew
		j.mu.RUnlock()
	}
	if renew != "" {
		if err := j.begin(renew); err != nil {
			return err
		}
	}
	c := j.active()
	seg := c.tail()
	switch {
	case seg == nil:
		return j.addSegment(c, 1)
	case j.out == nil:
		if err := j.reopen(seg); err != nil {
			return err
		}
	}
	if seg.last >= seg.first && j.outEnd+int64(bytes) > j.o.SegmentBytes {
		if err := j.addSegment(c, seg.last+1); err != nil {
			return err
		}
	}
	return j.reserve(seg, int64(bytes))
}

func (j *Journal) room(bytes int64) error {
	free, err := j.disk.free(j.o.Dir)
	if err != nil {
		return ioError("ask free space of", j.o.Dir, err)
	}
	// Room that the file holds already is not taken from the disk again, but
	// below the reserve nothing is written at all: others need it more.
	if need := max(j.outEnd+bytes-j.reserved, 0); free-need < j.o.MinFree {
		return fmt.Errorf("%w (%d bytes free, %d are kept free, %d needed)", ErrFull, free, j.o.MinFree, bytes)
	}
	return nil
}

// reserve makes room for at least so many bytes. With too little left on the
// disk it does without, and writing finds out by itself.
func (j *Journal) reserve(seg *segment, bytes int64) error {
	if j.outEnd+bytes <= j.reserved {
		return nil
	}
	n := max(min(reserveBytes, j.o.SegmentBytes-j.outEnd), bytes)
	free, err := j.disk.free(j.o.Dir)
	if err != nil || free-n < j.o.MinFree {
		return nil
	}
	err = writeZeros(j.out, j.outEnd, n)
	if isFull(err) {
		j.reserved = j.outEnd
		_ = j.out.Truncate(j.outEnd)
		return nil
	}
	op := "reserve room in"
	if err == nil {
		op = "sync"
		err = j.sync(j.out)
	}
	if err != nil {
		j.suspect = &IOError{Op: op, Path: seg.path, Err: err}
		return j.suspect
	}
	j.reserved = j.outEnd + n
	return nil
}

var zeroes [64 << 10]byte

func writeZeros(f file, off, n int64) error {
	for n > 0 {
		m, err := f.WriteAt(zeroes[:min(n, int64(len(zeroes)))], off)
		if err != nil {
			return err
		}
		off, n = off+int64(m), n-int64(m)
	}
	return nil
}

// reopen opens the active segment for writing and cuts off what was never
// finished.
func (j *Journal) reopen(seg *segment) error {
	f, err := j.disk.open(seg.path, true)
	if err != nil {
		return ioError("open", seg.path, err)
	}
	if err := f.Truncate(seg.end); err != nil {
		f.Close()
		return ioError("cut", seg.path, err)
	}
	if err := j.sync(f); err != nil {
		f.Close()
		// A second try could succeed without having written anything.
		j.setRenew(unsyncedReason)
		return &IOError{Op: "sync", Path: seg.path, Err: err}
	}
	j.out, j.outEnd, j.reserved = f, seg.end, seg.end
	return nil
}

// begin starts a new journal.
func (j *Journal) begin(reason string) error {
	j.mu.RLock()
	c := j.nextChain(reason)
	j.mu.RUnlock()
	if err := j.addSegment(c, 1); err != nil {
		return err
	}
	j.log.Warn("a new journal begins", "journal", c.id.String(), "previous", c.header.Before, "reason", reason)
	return nil
}

// nextChain is a journal that is not on the disk yet.
func (j *Journal) nextChain(reason string) *chain {
	c := &chain{id: newID(), ordinal: j.ordinal + 1, header: segmentHeader{
		Ordinal: j.ordinal + 1,
		Machine: hashMachine(j.o.Machine), Studio: j.o.Studio, Bay: j.o.Bay,
		Created: j.o.Now().UnixNano(), Reason: reason,
	}}
	for _, other := range j.chains {
		if len(other.segments) > 0 {
			c.header.Before = other.id.String()
		}
	}
	return c
}

// addSegment makes a file that begins with first and takes its place as the
// active one. It starts with all read positions, so that older files may go.
func (j *Journal) addSegment(c *chain, first uint64) error {
	path := segmentPath(j.o.Dir, c.ordinal, c.id, first)
	now := j.o.Now()
	seed := c.id.seed()
	b := append(append([]byte{}, preambleMagic[:]...), c.id[:]...)
	positions := j.positionsCopy()
	header := c.header
	header.Feeds = len(positions)
	b = appendFrame(b, seed, kindHeader, first, now, header.appendTo)
	for _, ps := range groupPositions(positions) {
		b = appendFrame(b, seed, kindPositions, first, now, func(b []byte) []byte { return appendPositions(b, ps) })
	}
	f, err := j.createSegment(path, b)
	if err != nil {
		return err
	}
	if j.out != nil {
		_ = j.out.Truncate(j.outEnd) // give back room that was reserved
		_ = j.out.Close()
	}
	j.out, j.outEnd, j.reserved, j.suspect = f, int64(len(b)), int64(len(b)), nil
	j.mu.Lock()
	c.segments = append(c.segments, &segment{path: path, first: first, last: first - 1, end: j.outEnd, lastAt: now, whole: true})
	if j.active() != c {
		if len(j.active().segments) == 0 { // was never on the disk
			j.chains = j.chains[:len(j.chains)-1]
		}
		j.chains = append(j.chains, c)
	}
	j.ordinal = max(j.ordinal, c.ordinal)
	j.renew = ""
	j.wakeLocked()
	j.mu.Unlock()
	return nil
}

func (j *Journal) createSegment(path string, b []byte) (file, error) {
	f, err := j.disk.create(path)
	if errors.Is(err, fs.ErrExist) {
		// An earlier try of ours that could not be taken back: no file that
		// held anything has this name.
		if err = j.disk.remove(path); err == nil {
			f, err = j.disk.create(path)
		}
	}
	if err != nil {
		return nil, ioError("create", path, err)
	}
	op := "write"
	if _, err = f.WriteAt(b, 0); err == nil {
		op = "sync"
		err = j.sync(f)
	}
	if err == nil && !j.o.NoSync {
		err = j.disk.syncDir(j.o.Dir)
	}
	if err != nil {
		f.Close()
		_ = j.disk.remove(path)
		return nil, ioError(op, path, err)
	}
	return f, nil
}

// groupPositions splits the positions so that each frame stays within bounds.
func groupPositions(all map[string][]byte) (groups [][]Position) {
	var group []Position
	for feed, data := range all {
		p := Position{Feed: feed, Data: data}
		if len(group) > 0 && positionBytes(append(group, p)) > MaxRecordBytes {
			groups, group = append(groups, group), nil
		}
		group = append(group, p)
	}
	if len(group) > 0 {
		groups = append(groups, group)
	}
	return groups
}

// readBack follows a failed write or sync. What the system's cache holds can no
// longer be trusted, not even when a second sync succeeds: the failed pages may
// count as clean. So the cache is dropped, what was acknowledged is read from
// the disk, and writing goes on in a fresh file; the failed group is left
// behind, and a number that was given to it is given out again.
func (j *Journal) readBack() error {
	c := j.active()
	seg := c.tail()
	if j.out != nil {
		j.out.forget()
		_ = j.out.Close()
		j.out, j.outEnd, j.reserved = nil, 0, 0
	}
	f, err := j.disk.open(seg.path, false)
	if err != nil {
		return ioError("open", seg.path, err)
	}
	defer f.Close()
	f.forget()
	s := scanner{c: &cursor{f: f, seed: c.id.seed()}, id: c.id, size: seg.end, first: seg.first, before: seg.last + 1}
	r := s.scan()
	known := len(seg.holes)
	j.mu.Lock()
	for _, h := range r.holes {
		j.loseLocked(c, seg, h)
	}
	damaged := len(seg.holes) > known
	j.mu.Unlock()
	if damaged {
		j.setRenew("acknowledged records could not be read back after a failed sync")
		return nil
	}
	if seg.last < seg.first {
		j.setRenew("a sync failed in a file without records")
		return nil
	}
	if err := j.addSegment(c, seg.last+1); err != nil {
		return err
	}
	j.log.Info("what was acknowledged is intact after a failed sync", "file", seg.path, "last", seg.last)
	j.cutOff(seg)
	return nil
}

// cutOff removes what a failed group left after the end. Where that fails it
// does no harm: the next file begins with a number that the remains do not
// precede, so they are passed over.
func (j *Journal) cutOff(seg *segment) {
	f, err := j.disk.open(seg.path, true)
	if err != nil {
		return
	}
	defer f.Close()
	_ = f.Truncate(seg.end)
}

func (j *Journal) setRenew(reason string) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.renew == "" {
		j.renew = reason
	}
}

// loseLocked adds a damaged stretch to what is known; one that was known is
// left alone.
func (j *Journal) loseLocked(c *chain, seg *segment, h hole) bool {
	for _, k := range seg.holes {
		if h.from < k.to && k.from < h.to || h.from == k.from && h.to == k.to {
			return false
		}
	}
	seg.holes = append(seg.holes, h)
	q := h.quarantine(c.id, seg.path)
	c.lost = append(c.lost, q)
	j.log.Error("damaged stretch set aside", "journal", q.Journal, "file", q.File, "offset", q.Offset,
		"bytes", q.Bytes, "records", q.Records(), "first", q.First, "last", q.Last)
	return true
}

// Rotate begins a new journal now, because the caller knows that the numbers of
// this one are not safe: the hub has seen higher ones, say.
func (j *Journal) Rotate(reason string) error {
	j.writing.Lock()
	defer j.writing.Unlock()
	j.mu.RLock()
	closed := j.closed
	j.mu.RUnlock()
	if closed {
		return ErrClosed
	}
	if err := j.room(0); err != nil {
		return err
	}
	return j.begin(reason)
}
