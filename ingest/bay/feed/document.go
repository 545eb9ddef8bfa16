package feed

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"fairlead/ingest/bay/sheet"
	"fairlead/ingest/log/steady"
)

// DocumentConfig says what a Document follows. Durations left at zero get the value named.
type DocumentConfig struct {
	Map  *Map
	Path string // of the file; it need not exist yet
	// Settle is how long a file that is no database must stay as it is: 300 ms.
	Settle time.Duration
	Poll   time.Duration // how often to look where the system gives no notice: 250 ms
	// Memory is the path of a file in which the source keeps which rows it has read.
	// Without it all of them are read again after a restart, which doubles no shot.
	Memory string
	Since  func() time.Duration // the time since the machine was started; the system's
	Log    *slog.Logger         // slog.DiscardHandler
}

// Document follows one file that is read as a whole whenever it changes: a
// workbook, a database, a table whose rows are no shots. Of each reading it
// yields the rows that the one before had not: new ones, and those that the
// device has written anew.
type Document struct {
	cfg DocumentConfig
	stateBox

	// Of one Run.
	seen  sheet.Stand
	rows  rowCounts     // of the last reading
	still time.Duration // when the file was last seen to be as it was read
	saved time.Time
	dirty bool // rows are not in the memory yet
	first bool // nothing was read yet
}

// saveEvery is how often rows that were read are noted on the disk.
const saveEvery = 30 * time.Second

// NewDocument checks the configuration; it does not look at the file.
func NewDocument(cfg DocumentConfig) (*Document, error) {
	if cfg.Map == nil || cfg.Path == "" {
		return nil, errors.New("a document feed needs a field map and the path of a file")
	}
	if strings.ContainsAny(filepath.Base(cfg.Path), "*?[") {
		return nil, fmt.Errorf("path %q: files that are read as a whole are followed one by one; name one, or follow the folder", cfg.Path)
	}
	for to, value := range map[*time.Duration]time.Duration{&cfg.Poll: 250 * time.Millisecond, &cfg.Settle: 300 * time.Millisecond} {
		if *to <= 0 {
			*to = value
		}
	}
	if cfg.Since == nil {
		cfg.Since = steady.System().Since
	}
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	return &Document{cfg: cfg}, nil
}

// Run is Source.Run.
func (s *Document) Run(ctx context.Context, from []byte, emit Emit) (err error) {
	if _, err := decodePosition(from, "document"); err != nil {
		return err
	}
	s.seen, s.still, s.first, s.dirty, s.rows = sheet.Stand{}, 0, true, false, nil
	if from != nil {
		s.rows = loadRows(s.cfg.Memory)
	}
	w := newWatch(filepath.Dir(s.cfg.Path), s.follows, s.cfg.Poll)
	defer w.close()
	defer func() {
		s.save()
		s.set(StateStopped, fmt.Sprint(err))
	}()
	s.set(StateOK, "")
	for {
		began := time.Now()
		wait := s.pass(ctx, emit)
		var broken *emitError
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case errors.As(wait.err, &broken):
			return broken.err
		case wait.err != nil && wait.after == 0:
			w.lost()
			s.seen = sheet.Stand{}
			s.set(wait.state(), wait.err.Error())
		}
		if s.dirty && time.Since(s.saved) > saveEvery {
			s.save()
		}
		// A look that took long is followed by a rest: a large file must not keep
		// the machine busy, however often it is written.
		if err := pause(ctx, max(wait.after, min(3*time.Since(began), time.Minute))); err != nil {
			return err
		}
		if wait.after > 0 {
			continue
		}
		if err := w.waitAtMost(ctx, 0, s.unchanged); err != nil {
			return err
		}
	}
}

// soon says that a file is to be looked at again soon, and why.
type soon struct {
	after time.Duration // 0: when it changes
	err   error
}

// state is the feed's while it waits: that a file is not there yet is no trouble,
// where its folder is.
func (s soon) state() string {
	if errors.Is(s.err, errNoFile) {
		return StateWaiting
	}
	return StateAway
}

// errNoFile says that the device has written nothing yet.
var errNoFile = errors.New("check the path, or wait for the device's next shot")

// pass reads the file where it is not as it was.
func (s *Document) pass(ctx context.Context, emit Emit) soon {
	at := s.cfg.Since()
	now, err := sheet.Look(s.cfg.Path)
	switch {
	case errors.Is(err, os.ErrNotExist):
		if _, err := os.ReadDir(filepath.Dir(s.cfg.Path)); err != nil {
			return soon{err: fmt.Errorf("look into the feed's folder: %w", err)}
		}
		return soon{err: fmt.Errorf("no file %s: %w", s.cfg.Path, errNoFile)}
	case err != nil:
		return soon{err: fmt.Errorf("look at the feed's file: %w", err)}
	case now == s.seen:
		s.still = at
		return soon{}
	}
	if s.cfg.Map.holder != holderDatabase && now.Quiet() >= 0 && now.Quiet() < s.cfg.Settle {
		return soon{after: s.cfg.Settle - now.Quiet()}
	}
	text, err := s.cfg.Map.wholeFile(s.cfg.Path)
	if err != nil {
		return s.unread(now, err)
	}
	if after, err := sheet.Look(s.cfg.Path); s.cfg.Map.holder != holderDatabase && (err != nil || after != now) {
		return soon{after: s.cfg.Settle} // it was written while it was read
	}
	drafts, rows, skipped, r, err := s.fresh(text)
	if err != nil {
		return s.unread(now, err)
	}
	b := Batch{Skipped: skipped, Backlog: s.first, Export: true, Seen: time.Now()}
	if len(drafts) == 1 && !s.first && s.still > 0 {
		b.Export, b.After = false, s.still
	}
	for part := range slices.Chunk(drafts, batchLines) {
		b.Drafts, b.Position = part, s.position(r)
		if err := sendPatiently(ctx, b, emit, &s.stateBox); err != nil {
			return soon{err: err}
		}
		b.Skipped = Skipped{}
	}
	s.seen, s.still, s.first, s.rows = now, at, false, rows
	s.dirty = s.dirty || len(drafts) > 0
	if s.saved.IsZero() {
		s.saved = time.Now()
	}
	if s.cfg.Map.csv.header && r.p.header == nil && len(drafts) == 0 && r.p.line > r.p.skipped.Empty {
		s.set(StateMute, s.cfg.Path+" has rows and no line of data: check the names in the map, csv.skip, and the sheet or table")
		return soon{}
	}
	s.set(StateOK, r.Clock())
	return soon{}
}

// unread says that a file can't be read as it stands. What is half written, or
// held by its writer, is whole in a moment; what stays so is told.
func (s *Document) unread(now sheet.Stand, err error) soon {
	err = fmt.Errorf("%s: %w", s.cfg.Path, err)
	if errors.Is(err, sheet.ErrBusy) || now.Quiet() < 5*time.Second {
		return soon{after: s.cfg.Poll / 2, err: err}
	}
	if s.State().Detail != err.Error() {
		s.cfg.Log.Error("the feed's file can't be read, and is tried again when it changes", "error", err)
	}
	s.set(StateAway, err.Error())
	s.seen = now
	return soon{}
}

// fresh parses the rows that the last reading had not.
func (s *Document) fresh(text io.ReaderAt) (drafts []Draft, rows rowCounts, skipped Skipped, r *Reader, err error) {
	r = newFileReader(s.cfg.Map, strings.TrimSuffix(filepath.Base(s.cfg.Path), ".gz"), text)
	rows = rowCounts{}
	all := false // what stands above the rows is another: they may mean something else
	for {
		raw, cut, err := r.lines.next(true)
		if err == io.EOF {
			return drafts, rows, r.p.skipped, r, nil
		}
		if err != nil {
			return nil, nil, skipped, r, err
		}
		r.p.enc = r.lines.enc
		r.p.between(r.lines.gap)
		key := lineHash(raw)
		rows[key]++
		known, headers := rows[key] <= s.rows[key], r.p.skipped.Header
		d, ok, err := r.p.parse(raw, cut) // known rows too: what comes after them may hang on their times
		switch {
		case err != nil:
			return nil, nil, skipped, r, err
		case ok && (all || !known):
			drafts = append(drafts, d)
		case !ok && !known && r.p.skipped.Header > headers:
			all = true
		}
	}
}

func (s *Document) position(r *Reader) []byte {
	p := position{Version: 1, Kind: "document", Files: []mark{{Name: filepath.Base(s.cfg.Path), Line: r.p.line}}}
	return p.encode()
}

// unchanged looks whether the file is as it was read, and notes when that was.
func (s *Document) unchanged() bool {
	at := s.cfg.Since()
	now, err := sheet.Look(s.cfg.Path)
	if err != nil {
		return s.seen == sheet.Stand{}
	}
	if now == s.seen {
		s.still = at
	}
	return now == s.seen
}

func (s *Document) follows(base string) bool {
	name := filepath.Base(s.cfg.Path)
	return base == name || slices.ContainsFunc(sheet.Companions, func(c string) bool { return base == name+c })
}

func (s *Document) save() {
	if !s.dirty {
		return
	}
	s.dirty, s.saved = false, time.Now()
	if err := saveRows(s.cfg.Memory, s.rows); err != nil {
		s.cfg.Log.Warn("the rows that were read can't be noted; after a restart they are read again", "path", s.cfg.Memory, "error", err)
	}
}
