package feed

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"fairlead/ingest/log/steady"
)

// TailConfig says what a Tail follows. Durations left at zero get the value named.
type TailConfig struct {
	Map *Map
	// Path of the file; its last part may be a pattern (*, ?, [a-z]) for
	// devices that begin a new file each day or session. The files are read one
	// after the other, oldest first. The folder need not exist yet. Rotated
	// files are followed from the first run on; older ones are not gone back to.
	Path string
	// Links says that symbolic links that a pattern finds are followed; a link that
	// Path names itself always is.
	Links bool
	// Poll is how often to look where the system gives no notice: 250 ms. Where
	// it does, one look in four such times guards against a lost notice.
	Poll time.Duration
	// Settle is how long a file that was replaced by another must stay as it is
	// before reading goes on in the next: 200 ms.
	Settle time.Duration
	// LastLine is the same when the file ends in a line without its end; the
	// line is then taken as whole: 5 s.
	LastLine time.Duration
	// Quiet is how long a last line without its end must stay as it is to be
	// taken, if it is whole by its cells or as an object: 1.5 s. Its shot has the
	// time when its bytes appeared.
	Quiet time.Duration
	Now   func() time.Time // wall clock, to tell old files; time.Now
	// Since is the time since the machine was started; the system's.
	Since func() time.Duration
	Log   *slog.Logger // slog.DiscardHandler
}

// Tail follows a growing file through rotation (renamed and begun anew, copied
// and cut short), whether it happens while it runs or while it does not. What is
// written between the copying and the cutting is in neither file, and a copy
// whose first line was never seen in the original is not known for one; a device
// that renames loses nothing, however often it does. A Tail
// keeps one file open, a buffer of 128 KiB and some ten bytes a line to count
// equal lines.
type Tail struct {
	cfg     TailConfig
	dir     string
	pattern string
	links   links
	stateBox

	// Of one Run.
	pos    position
	cur    *openFile
	emit   Emit
	behind bool            // not yet caught up: see Batch.Backlog
	looked time.Time       // when the last pass ended, on the wall clock
	there  int             // files seen at the last look
	known  map[string]bool // names seen in the folder
	fresh  map[string]bool // names that appeared since Run began and were not opened yet
	still  still           // the last line, while it waits for its end

	// listed is when the last pass began that found nothing more anywhere: what
	// is found later in a file that was not open was written after that. It
	// outlives a Run, since all that was found is durable by then.
	listed atomic.Int64
}

const (
	batchLines = 256
	batchBytes = 256 << 10
	fullPause  = time.Second     // before an emit without room is tried again
	longAway   = 5 * time.Second // without a look for so long (asleep, blocked): lines may be old
)

// NewTail checks the configuration; it does not look at the file.
func NewTail(cfg TailConfig) (*Tail, error) {
	if cfg.Map != nil && cfg.Map.Whole() {
		return nil, cfg.Map.onlyFolders()
	}
	if cfg.Map == nil || cfg.Path == "" {
		return nil, errors.New("a tail feed needs a field map and the path of a file")
	}
	dir, pattern := filepath.Split(cfg.Path)
	if strings.ContainsAny(dir, "*?[") {
		return nil, fmt.Errorf("path %q: a pattern may stand in the last part only", cfg.Path)
	}
	if _, err := filepath.Match(pattern, "x"); err != nil || pattern == "" {
		return nil, fmt.Errorf("path %q: its last part is no file name or pattern", cfg.Path)
	}
	for to, value := range map[*time.Duration]time.Duration{&cfg.Poll: 250 * time.Millisecond, &cfg.Settle: 200 * time.Millisecond,
		&cfg.LastLine: 5 * time.Second, &cfg.Quiet: 1500 * time.Millisecond} {
		if *to <= 0 {
			*to = value
		}
	}
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.Since == nil {
		cfg.Since = steady.System().Since
	}
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	return &Tail{cfg: cfg, dir: filepath.Clean(dir + "."), pattern: pattern,
		links: links{follow: cfg.Links, log: cfg.Log}}, nil
}

// emitError is a failure of Emit, which ends a Run.
type emitError struct{ err error }

func (e *emitError) Error() string { return e.err.Error() }
func (e *emitError) Unwrap() error { return e.err }

// Run is Source.Run.
func (t *Tail) Run(ctx context.Context, from []byte, emit Emit) (err error) {
	if t.pos, err = decodePosition(from, "tail"); err != nil {
		return err
	}
	t.emit, t.cur, t.known, t.fresh, t.behind = emit, nil, nil, map[string]bool{}, true
	w := newWatch(t.dir, t.follows, t.cfg.Poll)
	defer w.close()
	defer func() {
		t.drop()
		t.set(StateStopped, fmt.Sprint(err))
	}()
	t.set(StateOK, "")
	for {
		if !t.looked.IsZero() && t.cfg.Now().Sub(t.looked).Abs() > longAway {
			t.behind = true
		}
		err := t.pass(ctx)
		t.looked = t.cfg.Now()
		var broken *emitError
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case errors.As(err, &broken):
			return broken.err
		case err != nil:
			t.drop()
			t.behind = true
			w.lost()
			if t.State().State != StateAway {
				t.cfg.Log.Warn("the feed can't be read", "path", t.cfg.Path, "err", err)
			}
			t.set(StateAway, err.Error())
		}
		if err := w.waitAtMost(ctx, t.still.wake(t.cfg.Quiet), t.unchanged); err != nil {
			return err
		}
	}
}

// pass reads everything that is there now.
func (t *Tail) pass(ctx context.Context) error {
	begun := t.cfg.Since()
	for {
		if t.cur != nil {
			if err := t.drain(ctx, false); err != nil {
				return err
			}
		}
		next, err := t.next()
		if err != nil {
			return err
		}
		if next == nil {
			if err := t.takeOpen(ctx); err != nil {
				return err
			}
			t.report()
			if t.cur != nil {
				t.cur.finished = false
			}
			t.release()
			t.behind = false
			t.listed.Store(int64(begun))
			if t.cur != nil && t.cur.whole() {
				t.cur.seen = begun
			}
			return nil
		}
		if t.cur != nil && !t.cur.finished {
			if err := t.finish(ctx); err != nil {
				return err
			}
			if t.cur != nil {
				t.cur.finished = true
			}
			continue // files may have moved on meanwhile: look again
		}
		if err := t.open(next); err != nil {
			return err
		}
	}
}

// drain emits the whole lines of the open file from where reading stands.
// final takes a last line without its end too. A file that does not hold what
// was read of it any more is let go: next finds out what became of it.
func (t *Tail) drain(ctx context.Context, final bool) error {
	return t.drainSeen(ctx, final, time.Time{})
}

// drainSeen is drain for lines that appeared at a time before now (zero: now).
func (t *Tail) drainSeen(ctx context.Context, final bool, seen time.Time) error {
	info, ok, err := t.cur.check()
	if err != nil || !ok {
		t.drop()
		return err
	}
	if err := t.wentOn(info); err != nil {
		return err
	}
	before := t.cur.r.p.skipped
	for more := true; more; {
		var drafts []Draft
		at, tail := t.cur.r.lines.off, bytes.Clone(t.cur.r.lines.tail)
		for size := 0; len(drafts) < batchLines && size < batchBytes; {
			d, ok, err := t.cur.r.step(final)
			if err == io.EOF {
				more = false
				break
			}
			if err != nil {
				return fmt.Errorf("read %s: %w", t.cur.path, err)
			}
			if ok {
				drafts = append(drafts, d)
				size += len(d.Entry.Raw)
			}
		}
		// Who copies a file and cuts it short may have begun it anew between the look
		// and the reading: what was read then does not follow what was read before.
		if t.cur.r.lines.off != at && !t.cur.holds(at, tail) {
			t.drop()
			return nil
		}
		t.cur.look(info)
		pos := t.pos
		pos.put(t.cur.m)
		if len(drafts) > 0 {
			now := t.cur.r.p.skipped
			b := Batch{Drafts: drafts, Position: pos.encode(), Skipped: now.less(before), Backlog: t.behind, Seen: seen, After: t.cur.seen}
			if err := t.send(ctx, b); err != nil {
				return err
			}
			before = now
		}
		t.pos = pos
	}
	return nil
}

// send emits a batch, as long as it takes when there is no room.
func (t *Tail) send(ctx context.Context, b Batch) error {
	oversized := uint64(0)
	for _, d := range b.Drafts {
		if d.cut {
			oversized++
		}
	}
	t.change(func(s *State) { s.Oversized += oversized })
	began := t.cfg.Now()
	err := sendPatiently(ctx, b, t.emit, &t.stateBox)
	t.behind = t.behind || t.cfg.Now().Sub(began).Abs() > longAway
	return err
}

func sendPatiently(ctx context.Context, b Batch, emit Emit, box *stateBox) error {
	for {
		err := emit(ctx, b)
		if err == nil {
			return nil
		}
		if !errors.Is(err, ErrFull) {
			return &emitError{err}
		}
		box.set(StateWaiting, err.Error())
		if err := pause(ctx, fullPause); err != nil {
			return err
		}
	}
}

// finish reads a file that another has replaced to its very end: its writer may
// still be at its last lines.
func (t *Tail) finish(ctx context.Context) error {
	for still := time.Duration(0); ; {
		before := t.cur.r.lines.off
		if err := t.drain(ctx, false); err != nil || t.cur == nil {
			return err
		}
		if t.cur.r.lines.off != before || t.cur.grown() {
			still = 0
		}
		wait := t.cfg.Settle
		if t.cur.r.lines.pending(t.cur.m.Size) > 0 {
			wait = t.cfg.LastLine
		}
		if still >= wait || t.cfg.Now().Sub(time.Unix(0, t.cur.m.Mtime)) > max(wait, t.cfg.LastLine) {
			return t.drain(ctx, true)
		}
		if err := pause(ctx, t.cfg.Settle); err != nil {
			return err
		}
		still += t.cfg.Settle
	}
}

// report says how the feed is getting on when there is nothing more to read.
func (t *Tail) report() {
	switch {
	case t.there == 0:
		t.set(StateWaiting, fmt.Sprintf("no file %s: check the path, or wait for the device's next shot", t.cfg.Path))
	case t.cur != nil && t.cur.mute():
		t.set(StateMute, fmt.Sprintf("%s has %d bytes, and no line was read in them: check format and encoding in the map, and that the file "+
			"is the device's", t.cur.path, t.cur.m.Size))
	case t.cur != nil && t.cur.r.lines.pending(t.cur.m.Size) > 0:
		t.set(StateOK, fmt.Sprintf("the last line of %s has no end yet (%d bytes)", t.cur.path, t.cur.r.lines.pending(t.cur.m.Size)))
	case t.cur != nil:
		t.set(StateOK, t.cur.r.p.clock.says())
	default:
		t.set(StateOK, "")
	}
}

func (t *Tail) follows(base string) bool {
	ok, _ := filepath.Match(t.pattern, base)
	return ok
}

// Looked implements Looker.
func (t *Tail) Looked() time.Duration { return time.Duration(t.listed.Load()) }
