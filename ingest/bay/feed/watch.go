package feed

import (
	"context"
	"path/filepath"
	"time"

	"github.com/fsnotify/fsnotify"
)

// watch wakes a source when something happens in a folder: by the operating
// system's notice within a millisecond or so, and by polling where there is
// none (network shares, a folder that does not exist yet).
type watch struct {
	dir   string
	match func(base string) bool
	poll  time.Duration
	fs    *fsnotify.Watcher
	added bool
	names map[string]bool // of which notices came since they were last taken
	over  bool            // notices were lost
}

func newWatch(dir string, match func(string) bool, poll time.Duration) *watch {
	w := &watch{dir: dir, match: match, poll: poll}
	w.fs, _ = fsnotify.NewWatcher() // without one (too many watches) polling does it
	w.add()
	return w
}

func (w *watch) add() {
	if w.fs != nil && !w.added {
		w.added = w.fs.Add(w.dir) == nil
	}
}

// lost says that the folder was not there: it must be watched anew.
func (w *watch) lost() {
	if w.added {
		w.fs.Remove(w.dir)
		w.added = false
	}
}

func (w *watch) close() {
	if w.fs != nil {
		w.fs.Close()
	}
}

// glance is how often a source that waits looks whether all is still as it was.
const glance = 50 * time.Millisecond

// waitAtMost returns when something may have changed, after the polling interval,
// or after most; 0: no such end. unchanged, where given, is asked meanwhile
// whether nothing has.
func (w *watch) waitAtMost(ctx context.Context, most time.Duration, unchanged func() bool) error {
	w.add()
	every := w.poll
	if w.added {
		every *= 4
	}
	if most > 0 {
		every = min(every, most)
	}
	return w.waitFor(ctx, every, unchanged)
}

// waitAtLeast is waitAtMost without an end, whose guarding look comes no sooner than after least.
func (w *watch) waitAtLeast(ctx context.Context, least time.Duration, unchanged func() bool) error {
	w.add()
	return w.waitFor(ctx, least, unchanged)
}

// noticed says whether a notice is waiting, and takes it.
func (w *watch) noticed() bool {
	if w.fs == nil || !w.added {
		return true
	}
	some := false
	for {
		select {
		case e := <-w.fs.Events:
			some = w.note(e) || some
		case <-w.fs.Errors:
			some, w.over = true, true
		default:
			return some
		}
	}
}

func (w *watch) waitFor(ctx context.Context, every time.Duration, unchanged func() bool) error {
	timer := time.NewTimer(every)
	defer timer.Stop()
	var glances <-chan time.Time
	if unchanged != nil {
		ticker := time.NewTicker(min(glance, w.poll))
		defer ticker.Stop()
		glances = ticker.C
	}
	var events chan fsnotify.Event
	var errors chan error
	if w.fs != nil {
		events, errors = w.fs.Events, w.fs.Errors
	}
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-timer.C:
			return nil
		case <-glances:
			if !unchanged() {
				return nil
			}
		case <-errors:
			w.over = true
			return nil // an overflow: something did happen
		case e, ok := <-events:
			if !ok {
				events = nil
				continue
			}
			if !w.note(e) {
				continue
			}
			w.drain()
			return nil
		}
	}
}

// drain takes the notices that already wait: one look at the folder serves all.
func (w *watch) drain() {
	for {
		select {
		case e := <-w.fs.Events:
			w.note(e)
		default:
			return
		}
	}
}

// mostNames bounds the names kept of notices; more of them are as good as none.
const mostNames = 10_000

// note keeps the name of which a notice speaks; false: it is none of the feed's.
func (w *watch) note(e fsnotify.Event) bool {
	base := filepath.Base(e.Name)
	if e.Has(fsnotify.Chmod) && !e.Has(fsnotify.Write) || !w.match(base) {
		return false
	}
	if w.names == nil {
		w.names = map[string]bool{}
	}
	if w.over = w.over || len(w.names) >= mostNames; !w.over {
		w.names[base] = true
	}
	return true
}

// took returns the names of which notices came, once; whole says that some are
// not known, so that everything has to be looked at.
func (w *watch) took() (names map[string]bool, whole bool) {
	names, whole = w.names, w.over || !w.added
	w.names, w.over = nil, false
	return names, whole
}

// pause waits for d or until ctx ends.
func pause(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}
