package feed

import (
	"fmt"
	"log/slog"
	"slices"
	"strings"
)

// fileError is a file that can't be read: it stops nobody but itself.
type fileError struct{ err error }

func (e *fileError) Error() string { return e.err.Error() }
func (e *fileError) Unwrap() error { return e.err }

// setAside notes a file that can't be read, and says so once.
func (s *Folder) setAside(name string, err error) {
	if s.stuck[name] != err.Error() {
		s.stuck[name] = err.Error()
		s.cfg.Log.Error("a file can't be read; the others are, and it is tried again", "file", name, "error", err)
	}
}

// forgetGone lets go of files that are no longer in the folder.
func (s *Folder) forgetGone(files []found) {
	for name := range s.stuck {
		if !slices.ContainsFunc(files, func(f found) bool { return f.name == name }) {
			delete(s.stuck, name)
		}
	}
}

// stuckText says which files can't be read, and why of the first.
func (s *Folder) stuckText() string {
	var names []string
	for name := range s.stuck {
		names = append(names, name)
	}
	slices.Sort(names)
	why := s.stuck[names[0]]
	if len(names) > 3 {
		return fmt.Sprintf("%d files can't be read, such as %s: %s; give the collector's user the right to read them", len(names), names[0], why)
	}
	return fmt.Sprintf("%s can't be read: %s; give the collector's user the right to read", strings.Join(names, ", "), why)
}

// links decides about symbolic links.
type links struct {
	follow bool
	log    *slog.Logger
	told   map[string]bool
}

// allow says whether a link is followed; of one that is not it tells once.
func (l *links) allow(name string) bool {
	if l.follow {
		return true
	}
	if !l.told[name] && len(l.told) < 100 {
		if l.told == nil {
			l.told = map[string]bool{}
		}
		l.told[name] = true
		l.log.Warn("a symbolic link is passed over: say links: true in the feed if it shall be followed", "file", name)
	}
	return false
}
