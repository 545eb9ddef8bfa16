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

	"fairlead/ingest/log/steady"
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
	// Links says that symbolic links in the folder are followed. Whoever may write
	// there could else have any file of the machine read as shots.
	Links bool
	// Stable is how long a file must keep its size and time to count as
	// finished: 2 s.
	Stable time.Duration
	Poll   time.Duration // 1 s
	// Ledger is the path of a file in which the source keeps what it has read.
	// Without it, everything in the folder is read again after a restart, which
	// doubles no shot but costs time.
	Ledger string
	Log    *slog.Logger // slog.DiscardHandler
	// Since is the time since the machine was started; the system's.
	Since func() time.Duration
}

// Folder reads finished files, each once: exports that appear when a session
// ends. A file that is written again with other content is read again; the
// lines it shares with the earlier one have the same shot ids.
type Folder struct {
	cfg FolderConfig
	stateBox
	seen   map[string]sighting // of files that are not read yet
	mute   string              // the last file, if nothing in it was a line of data
	clock  string              // what is odd about the times of the last file
	look   time.Duration       // how long the last look at the whole folder took
	begun  time.Duration       // when the last whole look began, by Since; 0: there was none
	still  time.Duration       // when the folder and the file read last were seen to be as they were
	folder int64               // the folder's own time at the last whole look
	last   found               // the file that was read last
	links  links
	stuck  map[string]string // files that can't be read, and why; all others go on
}

// sighting is what a file looked like when it was last seen to change.
type sighting struct {
	size, mtime int64
	path        string
	since       time.Duration // looked the same for so long
	seen        time.Time     // when it was first seen so
	after       time.Duration // when it was last seen not to be so, by FolderConfig.Since; 0: never
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
	if cfg.Since == nil {
		cfg.Since = steady.System().Since
	}
	return &Folder{cfg: cfg, links: links{follow: cfg.Links, log: cfg.Log}, stuck: map[string]string{}}, nil
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
	w := newWatch(s.cfg.Dir, s.notices, s.cfg.Poll)
	defer w.close()
	defer func() { s.set(StateStopped, fmt.Sprint(err)) }()
	s.set(StateOK, "")
	s.begun, s.still, s.folder = 0, 0, 0
	looked := time.Time{}
	last := time.Now()
	for {
		names, all := w.took()
		names = s.owners(names)
		all = all || s.begun == 0 || time.Since(looked) > s.rest(w.added)
		if all {
			looked = time.Now()
		}
		waited := min(time.Since(last), 2*s.cfg.Poll)
		last = time.Now()
		err := s.pass(ctx, &pos, book, emit, waited, names, all)
		var broken *emitError
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case errors.As(err, &broken):
			return broken.err
		case err != nil:
			w.lost()
			s.begun = 0
			s.set(StateAway, err.Error())
		case len(s.stuck) > 0:
			s.set(StateAway, s.stuckText())
		case s.mute != "":
			s.set(StateMute, s.mute+" has bytes and no line of data: check format, encoding and csv.skip in the map, and that the file is the "+
				"device's")
		default:
			s.set(StateOK, s.clock)
		}
		// A file comes to rest without a notice, so looks come at a steady pace
		// while one is awaited; else the notice of the next file ends the wait.
		switch {
		case len(s.seen) > fewFiles:
			err = pause(ctx, s.cfg.Poll)
			w.noticed()
		case len(s.seen) > 0:
			err = w.waitAtLeast(ctx, s.cfg.Poll, s.unchanged)
		default:
			err = w.waitAtLeast(ctx, s.rest(w.added), s.unchanged)
		}
		if err != nil {
			return err
		}
	}
}

// fewFiles is how many files at once may be a device's that exports each shot,
// or each session, when it is made; more were copied here.
const fewFiles = 16

// unchanged looks whether the folder and the file that was read last are as they
// were, at next to no cost, and notes when that was: it is what a file that
// appears next was written after. What has changed is told by a notice, or by
// the next look.
func (s *Folder) unchanged() bool {
	at := s.cfg.Since()
	dir, err := os.Stat(s.cfg.Dir)
	if err != nil || mtime(dir) != s.folder {
		return true
	}
	if s.last.path != "" {
		now, err := s.stat(s.last.path)
		if err != nil || now.Size() != s.last.info.Size() || mtime(now) != mtime(s.last.info) {
			return true
		}
	}
	for _, was := range s.seen {
		if now, err := s.stat(was.path); err != nil || now.Size() != was.size || mtime(now) != was.mtime {
			return true
		}
	}
	s.still = at
	return true
}

// rest is how long the whole folder is left alone unless a notice comes: a look
// at 100,000 files takes its time, and must not become a load of its own.
func (s *Folder) rest(noticed bool) time.Duration {
	if noticed {
		return max(4*s.cfg.Poll, min(2000*s.look, 5*time.Minute))
	}
	return max(s.cfg.Poll, 100*s.look)
}

// pass reads every file that is finished and was not read, oldest first. Between
// two looks at the whole folder only those are looked at that are coming to rest
// or of which a notice came.
func (s *Folder) pass(ctx context.Context, pos *position, book *ledger, emit Emit, waited time.Duration, names map[string]bool,
	all bool) error {
	began, since := time.Now(), s.cfg.Since()
	var files []found
	dir, err := os.Stat(s.cfg.Dir)
	if err != nil {
		return fmt.Errorf("look at the feed's folder: %w", err)
	}
	whole := all
	if all {
		if files, err = list(s.cfg.Dir, s.follows, s.links.allow); err != nil {
			return err
		}
		files = s.wholes(files)
		book.keep(files)
		s.forgetGone(files)
		s.look = time.Since(began)
	} else {
		whole = s.unnoticed(names, book)
		files = s.waiting(names)
	}
	waiting := map[string]sighting{}
	var ready []arrival
	for _, f := range files {
		if book.has(f) {
			continue
		}
		now := s.sight(f, book, began, waited)
		if now.since < s.cfg.Stable {
			waiting[f.name] = now
			continue
		}
		ready = append(ready, arrival{f, now})
	}
	s.seen = waiting
	if all {
		s.begun = since
	}
	if whole {
		s.folder, s.still = mtime(dir), since
	}
	g := group{s: s, book: book, emit: emit, pos: pos, many: len(ready) > fewFiles}
	for _, a := range ready {
		err := g.read(ctx, a)
		var file *fileError
		switch {
		case err == nil:
			delete(s.stuck, a.found.name)
		case errors.As(err, &file) && ctx.Err() == nil:
			// It is looked at again with the next look; the others' turn comes all the same.
			s.seen[a.found.name] = a.sighting
			s.setAside(a.found.name, file.err)
		default:
			return fmt.Errorf("read %s: %w", a.found.path, err)
		}
	}
	return g.flush(ctx)
}

// unnoticed adds the files that are in the folder by now and whose notices have
// yet to come, where few come at once: then all that is there is known.
func (s *Folder) unnoticed(names map[string]bool, book *ledger) (whole bool) {
	if len(names) == 0 || len(names) > fewFiles {
		return false
	}
	there, err := os.ReadDir(s.cfg.Dir)
	for _, e := range there {
		name := e.Name()
		_, waits := s.seen[name]
		if _, read := book.byName[name]; !read && !waits && s.follows(name) {
			names[name] = true
		}
	}
	return err == nil
}

// arrival is a finished file, and how it came.
type arrival struct {
	found
	sighting
}

// sight is how a file looks now, and since when.
func (s *Folder) sight(f found, book *ledger, at time.Time, waited time.Duration) sighting {
	now := sighting{size: f.info.Size(), mtime: mtime(f.info), path: f.path, seen: at, after: s.still}
	if _, read := book.byName[f.name]; read && f.name != s.last.name {
		now.after = s.begun // it was written again, which the folder's own time does not show
	}
	if before, ok := s.seen[f.name]; ok && before.size == now.size && before.mtime == now.mtime {
		now.since, now.seen, now.after = before.since+waited, before.seen, before.after
	}
	return now
}

// waiting looks again at the files that are coming to rest, and at those of the names.
func (s *Folder) waiting(names map[string]bool) (files []found) {
	look := func(name, path string) {
		if info, ok := plainFile(path, name, s.links.allow); ok {
			files = append(files, found{name, path, info})
		}
	}
	for name, was := range s.seen {
		look(name, was.path)
	}
	for name := range names {
		if _, known := s.seen[name]; !known {
			look(name, filepath.Join(s.cfg.Dir, name))
		}
	}
	files = s.wholes(files)
	slices.SortFunc(files, byAge)
	return files
}

func (s *Folder) follows(base string) bool {
	if _, ok := s.beside(base); ok {
		return false
	}
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
	files, err := list(dir, func(base string) bool { return !strings.HasPrefix(base, ".") },
		func(string) bool { return true })
	for _, f := range files {
		paths = append(paths, f.path)
	}
	return paths, err
}
