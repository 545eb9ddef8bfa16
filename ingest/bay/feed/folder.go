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
}

// sighting is what a file looked like when it was last seen to change.
type sighting struct {
	size, mtime int64
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
	for waited := time.Duration(0); ; waited = s.cfg.Poll {
		err := s.pass(ctx, &pos, book, emit, waited)
		var broken *emitError
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case errors.As(err, &broken):
			return broken.err
		case err != nil:
			w.lost()
			s.set(StateWaiting, err.Error())
		default:
			s.set(StateOK, "")
		}
		// A file comes to rest without a notice, so looks come at a steady pace
		// while one is awaited; else the notice of the next file ends the wait.
		if len(s.seen) > 0 {
			err = pause(ctx, s.cfg.Poll)
		} else {
			err = w.wait(ctx)
		}
		if err != nil {
			return err
		}
	}
}

// pass reads every file that is finished and was not read, oldest first.
func (s *Folder) pass(ctx context.Context, pos *position, book *ledger, emit Emit, waited time.Duration) error {
	files, err := list(s.cfg.Dir, s.follows)
	if err != nil {
		return err
	}
	book.keep(files)
	waiting := map[string]sighting{}
	for _, f := range files {
		if book.has(f) {
			continue
		}
		now := sighting{size: f.info.Size(), mtime: mtime(f.info)}
		if before, ok := s.seen[f.name]; ok && before.size == now.size && before.mtime == now.mtime {
			now.since = before.since + waited
		}
		if now.since < s.cfg.Stable {
			waiting[f.name] = now
			continue
		}
		if err := s.read(ctx, f, pos, book, emit); err != nil {
			return fmt.Errorf("read %s: %w", f.path, err)
		}
	}
	s.seen = waiting
	return nil
}

// read emits a file from its start, or from where an earlier life stopped in it.
func (s *Folder) read(ctx context.Context, f found, pos *position, book *ledger, emit Emit) error {
	in, err := os.Open(f.path)
	if err != nil {
		return err
	}
	defer in.Close()
	content, err := contentID(f.name, in)
	if err != nil {
		return err
	}
	if book.hasContent(content) {
		return book.add(f, content) // touched or copied back: known
	}
	r := newFileReader(s.cfg.Map, f.name, in)
	if m := pos.find(content); m != nil && m.Off <= f.info.Size() {
		if err := r.resume(m.Off); err != nil {
			return err
		}
	}
	s.cfg.Log.Info("feed reads a file", "path", f.path, "offset", r.lines.off)
	before := r.p.skipped
	for more := true; more; {
		var drafts []Draft
		for size := 0; len(drafts) < batchLines && size < batchBytes; {
			d, ok, err := r.step(true)
			if err == io.EOF {
				more = false
				break
			}
			if err != nil {
				return err
			}
			if ok {
				drafts = append(drafts, d)
				size += len(d.Entry.Raw)
			}
		}
		if len(drafts) == 0 {
			continue
		}
		next := position{Version: 1, Kind: "folder", Files: []mark{{Name: content, As: f.name, Off: r.lines.off, Line: r.p.line}}}
		b := Batch{Drafts: drafts, Position: next.encode(), Skipped: r.p.skipped.less(before), Backlog: true}
		if err := sendPatiently(ctx, b, emit, &s.stateBox); err != nil {
			return err
		}
		*pos, before = next, r.p.skipped
	}
	return book.add(f, content)
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
