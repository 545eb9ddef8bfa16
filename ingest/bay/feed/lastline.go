package feed

import (
	"context"
	"encoding/json"
	"os"
	"strings"
	"time"
)

// still is a last line that has no end yet: how long the file has been so.
type still struct {
	size  int64     // of the file; 0: there is no such line
	since time.Time // monotonic
}

// wake is how long to wait at most before the line may be taken; 0: any time.
func (s *still) wake(quiet time.Duration) time.Duration {
	if s.size == 0 {
		return 0
	}
	return max(time.Millisecond, quiet-time.Since(s.since))
}

// takeOpen takes a last line without its end, once the file has kept still and
// the line is whole: many devices write the end of a line with the next one.
func (t *Tail) takeOpen(ctx context.Context) error {
	if t.cur == nil || t.cur.r.lines.pending(t.cur.m.Size) == 0 {
		t.still = still{}
		return nil
	}
	if t.still.size != t.cur.m.Size {
		t.still = still{t.cur.m.Size, time.Now()}
		return nil
	}
	if time.Since(t.still.since) < t.cfg.Quiet || !t.cur.r.whole() {
		return nil
	}
	from, seen := t.cur.r.lines.off, t.still.since
	t.still = still{}
	t.cur.m.Open = from + 1
	if err := t.drainSeen(ctx, true, seen); err != nil {
		return err
	}
	if t.cur != nil && t.cur.r.lines.off == from {
		t.cur.m.Open = 0
	}
	return nil
}

// wentOn goes back to the start of a line that was taken without its end, if
// the device did not end it there but wrote on: it is then read as a whole.
func (t *Tail) wentOn(info os.FileInfo) error {
	o := t.cur
	if o.m.Open == 0 || info.Size() <= o.r.lines.off || o.r.lines.off <= o.m.Open-1 {
		return nil
	}
	next := make([]byte, 2)
	n, _ := o.f.ReadAt(next, o.r.lines.off)
	from := o.m.Open - 1
	o.m.Open = 0
	if n == 0 || next[0] == '\n' || next[0] == '\r' || next[0] == 0 {
		return nil
	}
	t.cfg.Log.Warn("a line that was taken without its end went on, and is read again", "path", o.path, "at", from)
	o.r = newFileReader(t.cfg.Map, o.m.as(), o.f)
	if from == 0 {
		return nil
	}
	o.r.p.clock.begin(o.m.Clock)
	return o.r.resume(from)
}

// whole says whether what stands behind the last line end is a line as it
// should be, but for its end: as many cells as the header, or one object.
func (r *Reader) whole() bool {
	if r.lines.frame != nil {
		return false // a record has an end of its own
	}
	buf := make([]byte, MaxLine+1)
	n, _ := r.lines.r.ReadAt(buf, r.lines.off)
	if n == 0 || n > MaxLine || allNUL(buf[:n]) {
		return false
	}
	text, ok := r.lines.enc.text(buf[:n])
	text = strings.TrimSpace(text)
	if !ok || text == "" || strings.ContainsRune(text, 0) {
		return false
	}
	m := r.p.m
	if m.ndjson {
		return text[0] == '{' && json.Valid([]byte(text))
	}
	cells, reason := m.csv.split(text, nil)
	want := m.csv.cells
	if m.csv.header {
		want = len(r.p.header)
	}
	return reason == "" && want > 1 && len(cells) == want && cells[want-1] != ""
}

// mute says whether a file has bytes of which none became a line: of another
// encoding or format than the map says, or never written but reserved.
func (o *openFile) mute() bool {
	return o.r.p.line == 0 && o.m.Size > 0 && (o.m.Size > MaxLine || time.Since(time.Unix(0, o.m.Mtime)) > muteAfter)
}

// muteAfter is how long a file may hold bytes and no line before it is said.
const muteAfter = time.Minute
