package journal

import (
	"context"
	"fmt"
	"time"
)

// Append writes the records in order and returns the seq of the first; the
// others follow it without a gap. When it returns without an error they are on
// the disk for good, and so are their positions. Calls that come together share
// one sync.
//
// On an error none is acknowledged. After ErrFull, ErrTooLarge, ErrEmpty,
// ErrClosed or the context's error nothing was written; after an *IOError some
// may turn up after a restart. Once writing has begun the context no longer
// cuts it short, since the outcome would be unknown.
func (j *Journal) Append(ctx context.Context, recs ...Record) (first uint64, err error) {
	if len(recs) == 0 {
		return 0, ErrEmpty
	}
	for i, r := range recs {
		if n := bodyBytes(r); n > MaxRecordBytes {
			return 0, fmt.Errorf("%w: record %d of %d has %d bytes, at most %d are possible", ErrTooLarge, i+1, len(recs), n, MaxRecordBytes)
		}
		if err := checkFeeds(r.Positions); err != nil {
			return 0, err
		}
	}
	r := &request{recs: recs}
	if err := j.queue.join(ctx, r, j.commit); err != nil {
		return 0, err
	}
	return r.first, nil
}

// SetPositions makes read positions durable without a record, for what a feed
// read that is not worth keeping, such as a file's first line. The guarantees
// are Append's.
func (j *Journal) SetPositions(ctx context.Context, ps ...Position) error {
	if len(ps) == 0 {
		return nil
	}
	if n := positionBytes(ps); n > MaxRecordBytes {
		return fmt.Errorf("%w: positions of %d bytes, at most %d are possible", ErrTooLarge, n, MaxRecordBytes)
	}
	if err := checkFeeds(ps); err != nil {
		return err
	}
	return j.queue.join(ctx, &request{positions: ps}, j.commit)
}

func checkFeeds(ps []Position) error {
	for _, p := range ps {
		if p.Feed == "" || len(p.Feed) > maxNameBytes {
			return fmt.Errorf("journal: a position's feed is named by 1 to %d bytes, not %d", maxNameBytes, len(p.Feed))
		}
	}
	return nil
}

const maxUvarint = 10

func bodyBytes(r Record) int { return len(r.Payload) + positionBytes(r.Positions) }

// positionBytes is an upper bound.
func positionBytes(ps []Position) int {
	n := maxUvarint
	for _, p := range ps {
		n += len(p.Feed) + len(p.Data) + 2*maxUvarint
	}
	return n
}

// commit writes one group and tells each request how it went.
func (j *Journal) commit(group []*request) {
	j.writing.Lock()
	defer j.writing.Unlock()
	if err := j.commitLocked(group); err != nil {
		for _, r := range group {
			r.first, r.err = 0, err
		}
	}
}

func (j *Journal) commitLocked(group []*request) error {
	bytes := 0
	for _, r := range group {
		bytes += r.bytes() + frameLen
	}
	if err := j.ready(bytes); err != nil {
		return err
	}
	seg, id := j.active().tail(), j.active().id
	now := j.o.Now()
	next, points := j.encode(group, id.seed(), seg, now)
	if _, err := j.out.WriteAt(j.buf, j.outEnd); err != nil {
		err = ioError("write", seg.path, err)
		if isFull(err) && j.out.Truncate(j.outEnd) == nil {
			j.reserved = j.outEnd
			return err // nothing of it is left
		}
		j.suspect = err
		return err
	}
	if err := j.sync(j.out); err != nil {
		j.suspect = &IOError{Op: "sync", Path: seg.path, Err: err}
		j.log.Error("sync failed, nothing of this group is acknowledged; reading back before the next one",
			"file", seg.path, "err", err)
		return j.suspect
	}
	durable := j.outEnd + int64(len(j.buf))

	j.mu.Lock()
	if next > seg.last+1 {
		seg.last, seg.lastAt = next-1, now
	}
	seg.end = durable
	seg.index = append(seg.index, points...)
	for _, r := range group {
		for _, rec := range r.recs {
			j.noteLocked(rec.Positions)
		}
		j.noteLocked(r.positions)
	}
	j.wakeLocked()
	j.mu.Unlock()

	j.outEnd = durable
	j.mark(seg, id.seed(), next-1, now)
	return nil
}

// encode puts the group's frames into j.buf, numbers them and returns the seq
// after the last, with the places that go into the index.
func (j *Journal) encode(group []*request, seed uint32, seg *segment, now time.Time) (next uint64, points []indexPoint) {
	if cap(j.buf) > maxGroupBytes {
		j.buf = nil // one huge record must not be paid for ever
	}
	j.buf = j.buf[:0]
	next = seg.last + 1
	indexed := int64(-indexBytes)
	if n := len(seg.index); n > 0 {
		indexed = seg.index[n-1].off
	}
	for _, r := range group {
		r.first = next
		for _, rec := range r.recs {
			if off := j.outEnd + int64(len(j.buf)); off-indexed >= indexBytes {
				points, indexed = append(points, indexPoint{next, off}), off
			}
			j.buf = appendFrame(j.buf, seed, kindEntry, next, now, func(b []byte) []byte {
				return append(appendPositions(b, rec.Positions), rec.Payload...)
			})
			next++
		}
		if len(r.positions) > 0 {
			j.buf = appendFrame(j.buf, seed, kindPositions, next, now, func(b []byte) []byte {
				return appendPositions(b, r.positions)
			})
		}
	}
	return next, points
}

// mark leaves the proof that everything before it is durable. It is not synced:
// it survives the end of the process, and of the machine's power with the next
// group or the system's own write-back. Where it is lost nothing is lost but
// the knowledge that a torn last group was not torn, and such a group is whole.
func (j *Journal) mark(seg *segment, seed uint32, last uint64, now time.Time) {
	j.buf = appendFrame(j.buf[:0], seed, kindMark, last, now, nil)
	if _, err := j.out.WriteAt(j.buf, j.outEnd); err != nil {
		j.log.Debug("mark not written", "file", seg.path, "err", err)
		return
	}
	j.outEnd += int64(len(j.buf))
}

func (j *Journal) noteLocked(ps []Position) {
	for _, p := range ps {
		j.positions[p.Feed] = append([]byte{}, p.Data...)
	}
}

func (j *Journal) sync(f file) error {
	if j.o.NoSync {
		return nil
	}
	return f.sync()
}
