package journal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"time"
)

// Reader gives the durable entries of one journal in order. Entries in damaged
// stretches, and those that were trimmed away, are passed over: compare
// Entry.Seq. A Reader belongs to one goroutine; many may read while others
// append. It holds one file open: Close it.
type Reader struct {
	j    *Journal
	id   string
	next uint64 // the lowest seq that is still wanted

	seg *segment // being read; nil: look for it
	f   file
	c   cursor
	off int64
}

// Read begins at seq from, or at the first there is after it. An empty id means
// the journal that is active now. What the id names is looked up at each read.
func (j *Journal) Read(id string, from uint64) *Reader {
	if id == "" {
		id = j.ID()
	}
	return &Reader{j: j, id: id, next: max(from, 1)}
}

// Next returns the next entry, and waits for one at the end of the active
// journal. It answers io.EOF at the end of a journal that is not appended to
// any more, ErrUnknownJournal, ErrClosed, an *IOError when a file cannot be
// opened, or the context's error; the reader can be used again after each.
func (r *Reader) Next(ctx context.Context) (Entry, error) {
	for {
		changed := r.j.changes() // taken before looking, so nothing is missed
		e, ok, err := r.TryNext()
		if ok || err != nil {
			return e, err
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return Entry{}, ctx.Err()
		}
	}
}

// changes is closed once there may be more to read.
func (j *Journal) changes() <-chan struct{} {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.changed == nil {
		j.changed = make(chan struct{})
		if j.closed {
			close(j.changed)
		}
	}
	return j.changed
}

// TryNext is Next without waiting: it is not ok when there is none yet.
func (r *Reader) TryNext() (e Entry, ok bool, err error) {
	for {
		seg, limit, more, end := r.where()
		if seg == nil {
			return Entry{}, false, end
		}
		if err := r.turnTo(seg); err != nil {
			return Entry{}, false, err
		}
		if e, ok = r.scan(limit); ok {
			return e, true, nil
		}
		if !more {
			return Entry{}, false, end
		}
		r.next = max(r.next, seg.last+1) // sealed: it cannot change any more
		r.leave()
	}
}

// where finds the segment that holds the next entry, how far it may be read, and
// whether another one follows. end is what to answer when nothing is found:
// nil means that there is nothing yet.
func (r *Reader) where() (seg *segment, limit int64, more bool, end error) {
	j := r.j
	j.mu.RLock()
	defer j.mu.RUnlock()
	if j.closed {
		return nil, 0, false, ErrClosed
	}
	for i, c := range j.chains {
		if c.id.String() != r.id {
			continue
		}
		if i+1 < len(j.chains) {
			end = io.EOF
		}
		for k, s := range c.segments {
			if last := k+1 == len(c.segments); s.last >= r.next || last {
				return s, s.end, !last, end
			}
		}
		return nil, 0, false, end
	}
	return nil, 0, false, fmt.Errorf("%w: %s", ErrUnknownJournal, r.id)
}

// turnTo opens the segment where the next entry is to be found.
func (r *Reader) turnTo(seg *segment) error {
	if r.seg == seg {
		return nil
	}
	r.leave()
	r.j.mu.RLock()
	off := seg.at(r.next)
	r.j.mu.RUnlock()
	f, err := r.j.disk.open(seg.path, false)
	if errors.Is(err, fs.ErrNotExist) {
		f, err = gone{}, nil // read as damage, and passed over
	}
	if err != nil {
		return ioError("open", seg.path, err)
	}
	id, _ := parseID(r.id)
	r.seg, r.f, r.off = seg, f, off
	r.c.f, r.c.seed, r.c.buf = f, id.seed(), r.c.buf[:0]
	return nil
}

// scan returns the next entry before limit.
func (r *Reader) scan(limit int64) (Entry, bool) {
	for r.off < limit {
		f, next, ok := r.c.read(r.off, limit)
		if !ok {
			r.off = r.pass(limit)
			continue
		}
		r.off = next
		if f.kind != kindEntry || f.seq < r.next {
			continue
		}
		r.next = f.seq + 1
		payload, _ := decodePositions(f.body, nil)
		return Entry{Journal: r.id, Seq: f.seq, Payload: append([]byte{}, payload...), At: time.Unix(0, f.at)}, true
	}
	return Entry{}, false
}

// pass returns where to go on after a damaged stretch, which it reports when it
// was not known from the start.
func (r *Reader) pass(limit int64) int64 {
	at, found := r.c.resync(r.off, limit)
	last := r.seg.last
	if found {
		if f, _, ok := r.c.read(at, limit); ok {
			last = min(f.lastBefore(), last)
		}
	}
	j := r.j
	j.mu.Lock()
	defer j.mu.Unlock()
	for _, c := range j.chains {
		if c.id.String() != r.id {
			continue
		}
		h := hole{from: r.off, to: at, first: r.next, last: last, proved: true}
		if j.loseLocked(c, r.seg, h) && c == j.active() && j.renew == "" {
			j.renew = "damage found while reading"
		}
	}
	return at
}

func (r *Reader) leave() {
	if r.f != nil {
		_ = r.f.Close()
	}
	r.seg, r.f = nil, nil
}

// Close gives the file free. The reader may be used again.
func (r *Reader) Close() error {
	r.leave()
	return nil
}

// gone stands for a file that somebody deleted.
type gone struct{ file }

func (gone) ReadAt([]byte, int64) (int, error) { return 0, fs.ErrNotExist }
func (gone) Close() error                      { return nil }
