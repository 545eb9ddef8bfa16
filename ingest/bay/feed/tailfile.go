package feed

import (
	"bytes"
	"fmt"
	"os"
	"time"
)

// openFile is the file that a Tail is in.
type openFile struct {
	path string
	f    *os.File // nil while released
	r    *Reader
	m    mark
	was  int64 // size at the look before the last

	finished bool // read to its very end, as another file goes on
	// seen is when it was last looked at and all of it had been read.
	seen time.Duration
}

// open begins or goes on with a file, in place of the one that was open. If
// the path leads to another file by now than when it was chosen, it does nothing.
func (t *Tail) open(next *target) error {
	f, err := os.Open(next.path)
	if err != nil {
		return fmt.Errorf("open feed file: %w", err)
	}
	info, err := f.Stat()
	if err != nil {
		f.Close()
		return fmt.Errorf("look at feed file: %w", err)
	}
	if !os.SameFile(info, next.info) {
		return f.Close()
	}
	t.drop()
	o := &openFile{path: next.path, f: f, m: next.m, seen: t.Looked()}
	o.r = newFileReader(t.cfg.Map, o.m.as(), f)
	if o.m.Off > 0 {
		if err := o.r.resume(o.m.Off); err != nil {
			f.Close()
			return fmt.Errorf("find the place in %s again: %w", next.path, err)
		}
		o.r.p.clock.begin(o.m.Clock)
	}
	o.m.ID = fileID(f, info)
	o.look(info)
	delete(t.fresh, o.m.Name)
	t.cur = o
	// The file that had the name before is remembered as read, or it would be
	// taken for an unread generation when it shows up under its rotated name.
	if past := t.pos.find(o.m.Name); past != nil && past.Off > 0 && (past.ID != o.m.ID || o.m.Off == 0) {
		old := *past
		old.Name += "@" + old.ID
		t.pos.put(old)
	}
	t.pos.put(o.m)
	t.cfg.Log.Info("feed reads a file", "path", o.path, "offset", o.m.Off)
	return nil
}

// check looks at the open file and says whether it still holds what was read.
func (o *openFile) check() (info os.FileInfo, ok bool, err error) {
	if o.f == nil {
		if o.f, err = os.Open(o.path); err != nil {
			if os.IsNotExist(err) {
				return nil, false, nil
			}
			return nil, false, fmt.Errorf("open feed file again: %w", err)
		}
		o.r.lines.r = o.f
	}
	if info, err = o.f.Stat(); err != nil {
		return nil, false, fmt.Errorf("look at feed file: %w", err)
	}
	l := o.r.lines
	if info.Size() < l.off || fileID(o.f, info) != o.m.ID {
		return info, false, nil
	}
	return info, o.holds(l.off, l.tail), nil
}

// holds says whether the file still has, up to at, what was read there last.
func (o *openFile) holds(at int64, tail []byte) bool {
	now := make([]byte, len(tail))
	_, err := o.f.ReadAt(now, at-int64(len(tail)))
	return err == nil && bytes.Equal(now, tail)
}

// look brings the mark up to date. info was taken before the reading, so that
// what is written meanwhile shows as a change.
func (o *openFile) look(info os.FileInfo) {
	l := o.r.lines
	o.was = o.m.Size
	o.m.Off, o.m.Line, o.m.Head, o.m.Tail = l.off, o.r.p.line, lineHash(l.head), lineHash(l.tail)
	o.m.Clock = o.r.p.clock.last
	o.m.Size, o.m.Mtime = info.Size(), mtime(info)
}

// unchanged looks whether there is nothing new, at next to no cost, and notes when
// that was: it is what a line that comes next was written after. A notice alone
// would not do, since a process that stood still gets it late.
func (t *Tail) unchanged() bool {
	at := t.cfg.Since()
	if t.cur == nil {
		names, err := os.ReadDir(t.dir)
		for _, n := range names {
			if err != nil || t.follows(n.Name()) {
				return true // the pass at its time looks closer
			}
		}
		t.listed.Store(int64(at))
		return true
	}
	info, err := os.FileInfo(nil), error(nil)
	if t.cur.f != nil {
		info, err = t.cur.f.Stat()
	} else {
		info, err = os.Stat(t.cur.path)
	}
	if err != nil || info.Size() != t.cur.m.Size || mtime(info) != t.cur.m.Mtime {
		return false
	}
	if t.cur.whole() {
		t.cur.seen = at
	}
	return true
}

// whole says whether the file ended with the end of a line when it was looked
// at: a line that was begun before a look was not written after it.
func (o *openFile) whole() bool { return o.r.lines.pending(o.m.Size) <= 0 }

// grown says whether the last look found more than the one before.
func (o *openFile) grown() bool { return o.m.Size != o.was }

// release closes the file where an open one would hinder its writer.
func (t *Tail) release() {
	if !holdOpen && t.cur != nil && t.cur.f != nil {
		t.cur.f.Close()
		t.cur.f = nil
	}
}

// drop lets go of the open file; its mark stays.
func (t *Tail) drop() {
	if t.cur != nil && t.cur.f != nil {
		t.cur.f.Close()
	}
	t.cur = nil
}
