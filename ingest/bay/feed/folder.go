package feed

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// FolderConfig says what a Folder reads. Durations left at zero get the value named.
type FolderConfig struct {
	Map *Map
	// Dir is the folder; it need not exist yet. Subfolders are not looked into.
	Dir string
	// Pattern of the files' names (*, ?, [a-z]); "*" when empty.
	Pattern string
	// Unfinished are patterns of names that a file has only while it is written
	// (such as *.tmp); it is read once it has its final name.
	Unfinished []string
	// Stable is how long a file must keep its size and time to count as
	// finished: 2 s.
	Stable time.Duration
	Poll   time.Duration // 1 s
	// Ledger is the path of a file in which the source keeps what it has read.
	// Without it, everything in the folder is read again after a restart, which
	// doubles no shot but costs time.
	Ledger string
	Log    *slog.Logger // slog.DiscardHandler
}

// Folder reads finished files, each once: exports that appear when a session
// ends. A file that is written again with other content is read again; the
// lines it shares with the earlier one have the same shot ids.
type Folder struct {
	cfg FolderConfig
	stateBox
	seen map[string]sighting // of files that are not read yet
	mute string              // the last file, if nothing in it was a line of data
	look time.Duration       // how long the last look at the whole folder took
}

// sighting is what a file looked like when it was last seen to change.
type sighting struct {
	size, mtime int64
	path        string
	since       time.Duration // looked the same for so long
}

// NewFolder checks the configuration; it does not look at the folder.
func NewFolder(cfg FolderConfig) (*Folder, error) {
	if cfg.Map == nil || cfg.Dir == "" {
		return nil, errors.New("a folder feed needs a field map and a folder")
	}
	if cfg.Pattern == "" {
		cfg.Pattern = "*"
	}
	for _, p := range append([]string{cfg.Pattern}, cfg.Unfinished...) {
		if _, err := filepath.Match(p, "x"); err != nil {
			return nil, fmt.Errorf("pattern %q: %w; use *, ? and [a-z]", p, err)
		}
	}
	if cfg.Stable <= 0 {
		cfg.Stable = 2 * time.Second
	}
	if cfg.Poll <= 0 {
		cfg.Poll = time.Second
	}
	cfg.Poll = min(cfg.Poll, cfg.Stable)
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	return &Folder{cfg: cfg}, nil
}

// Run is Source.Run. Its position is the place in the file being read; which
// files are done stands in the ledger.
func (s *Folder) Run(ctx context.Context, from []byte, emit Emit) (err error) {
	pos, err := decodePosition(from, "folder")
	if err != nil {
		return err
	}
	book := openLedger(s.cfg.Ledger, s.cfg.Log)
	s.seen = map[string]sighting{}
	w := newWatch(s.cfg.Dir, s.follows, s.cfg.Poll)
	defer w.close()
	defer func() { s.set(StateStopped, fmt.Sprint(err)) }()
	s.set(StateOK, "")
	all, looked := true, time.Time{}
	for waited := time.Duration(0); ; waited = s.cfg.Poll {
		if all {
			looked = time.Now()
		}
		err := s.pass(ctx, &pos, book, emit, waited, all)
		var broken *emitError
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case errors.As(err, &broken):
			return broken.err
		case err != nil:
			w.lost()
			s.set(StateWaiting, err.Error())
		case s.mute != "":
			s.set(StateMute, s.mute+" has bytes and no line of data: check format, encoding and csv.skip in the map, and that the file is the device's")
		default:
			s.set(StateOK, "")
		}
		// A file comes to rest without a notice, so looks come at a steady pace
		// while one is awaited; else the notice of the next file ends the wait.
		if len(s.seen) > 0 {
			err = pause(ctx, s.cfg.Poll)
			all = w.noticed() || time.Since(looked) > s.rest(w.added)
		} else {
			all = true
			err = w.waitAtLeast(ctx, s.rest(w.added))
		}
		if err != nil {
			return err
		}
	}
}

// rest is how long the whole folder is left alone unless a notice comes: a look
// at 100,000 files takes its time, and must not become a load of its own.
func (s *Folder) rest(noticed bool) time.Duration {
	if noticed {
		return max(4*s.cfg.Poll, min(2000*s.look, 5*time.Minute))
	}
	return max(s.cfg.Poll, 100*s.look)
}

// pass reads every file that is finished and was not read, oldest first. While
// files come to rest only those are looked at, unless something new came.
func (s *Folder) pass(ctx context.Context, pos *position, book *ledger, emit Emit, waited time.Duration, all bool) error {
	began := time.Now()
	var files []found
	var err error
	if all {
		if files, err = list(s.cfg.Dir, s.follows); err != nil {
			return err
		}
		book.keep(files)
		s.look = time.Since(began)
	} else {
		files = s.waiting()
	}
	waiting := map[string]sighting{}
	g := group{s: s, book: book, emit: emit, pos: pos}
	for _, f := range files {
		if book.has(f) {
			continue
		}
		now := sighting{size: f.info.Size(), mtime: mtime(f.info), path: f.path}
		if before, ok := s.seen[f.name]; ok && before.size == now.size && before.mtime == now.mtime {
			now.since = before.since + waited
		}
		if now.since < s.cfg.Stable {
			waiting[f.name] = now
			continue
		}
		if err := g.read(ctx, f); err != nil {
			return fmt.Errorf("read %s: %w", f.path, err)
		}
	}
	if err := g.flush(ctx); err != nil {
		return err
	}
	s.seen = waiting
	return nil
}

// waiting looks again at the files that are coming to rest.
func (s *Folder) waiting() (files []found) {
	for name, was := range s.seen {
		if info, err := os.Stat(was.path); err == nil && info.Mode().IsRegular() {
			files = append(files, found{name, was.path, info})
		}
	}
	slices.SortFunc(files, byAge)
	return files
}

func (s *Folder) follows(base string) bool {
	for _, p := range s.cfg.Unfinished {
		if ok, _ := filepath.Match(p, base); ok {
			return false
		}
	}
	ok, _ := filepath.Match(s.cfg.Pattern, base)
	return ok
}

// contentID names a file by its name and content.
func contentID(name string, r io.Reader) (string, error) {
	h := sha256.New()
	fmt.Fprintf(h, "%d:%s", len(name), name)
	if _, err := io.Copy(h, r); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)[:16]), nil
}

// FolderFiles lists the files that a Folder would read, oldest first.
func FolderFiles(dir string) (paths []string, err error) {
	files, err := list(dir, func(base string) bool { return !strings.HasPrefix(base, ".") })
	for _, f := range files {
		paths = append(paths, f.path)
	}
	return paths, err
}
