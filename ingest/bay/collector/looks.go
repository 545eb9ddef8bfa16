package collector

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"time"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/log/stream"
)

// looks is what one life leaves to the next: when each feed was last looked at
// and all of it was in the journal, and where the hub's clock stood. It is
// written without waiting for the disk: an older one only says less, and after
// the machine lost its power its devices have mostly lost theirs too.
type looks struct {
	Journal string          `json:"journal"` // that held all that was seen
	Last    uint64          `json:"last"`    // and up to where
	Boot    string          `json:"boot"`
	Offset  *stream.Offset  `json:"offset,omitempty"` // in this boot
	Feeds   map[string]look `json:"feeds"`
}

type look struct {
	Mono time.Duration `json:"mono"` // in the boot
	Hub  int64         `json:"hub"`  // Unix ns; 0: not known
}

const (
	looksFile  = "looks.json"
	looksEvery = time.Second
)

// keepLooks writes them down until ctx ends.
func (in *intake) keepLooks(ctx context.Context, dir string) {
	for sleep(ctx, looksEvery) {
		in.writeLooks(dir)
	}
}

func (in *intake) writeLooks(dir string) {
	m := in.clock.now()
	l := looks{Boot: in.clock.steady.Boot, Feeds: map[string]look{}}
	if o, ok := in.clock.best(); ok {
		l.Offset = &o
	}
	in.mu.Lock()
	for name, f := range in.feeds {
		at := time.Duration(0)
		if s, ok := f.source.(feed.Looker); ok {
			at = s.Looked()
		}
		switch {
		case at > 0 && m.synced:
			l.Feeds[name] = look{at, m.hub(at)}
		case at > 0:
			l.Feeds[name] = look{at, f.look.Hub}
		case f.look != (look{}) && f.lookBoot == l.Boot:
			l.Feeds[name] = f.look
		case f.look.Hub != 0:
			l.Feeds[name] = look{Hub: f.look.Hub}
		}
	}
	in.mu.Unlock()
	// The journal is asked after the feeds: it holds what they have seen.
	all := in.journal.Journals()
	if len(all) == 0 {
		return
	}
	l.Journal, l.Last = all[len(all)-1].ID, all[len(all)-1].Last
	data, err := json.Marshal(l)
	if err != nil {
		return
	}
	draft := filepath.Join(dir, "."+looksFile)
	if os.WriteFile(draft, data, 0o644) == nil {
		os.Rename(draft, filepath.Join(dir, looksFile))
	}
}

// readLooks takes over what an earlier life left, if this journal holds what
// that life had seen: else lines that were seen may be read again.
func (in *intake) readLooks(dir string) {
	data, err := os.ReadFile(filepath.Join(dir, looksFile))
	var l looks
	if err != nil || json.Unmarshal(data, &l) != nil {
		return
	}
	held := false
	for _, info := range in.journal.Journals() {
		held = held || info.ID == l.Journal && info.Last >= l.Last
	}
	if !held {
		return
	}
	in.mu.Lock()
	defer in.mu.Unlock()
	for name, at := range l.Feeds {
		if l.Boot != in.clock.steady.Boot {
			at.Mono = 0
		}
		f := in.feed(name)
		f.look, f.lookBoot = at, in.clock.steady.Boot
	}
	if l.Boot == in.clock.steady.Boot && l.Offset != nil {
		in.clock.remember(*l.Offset)
	}
}

// remember takes an offset that an earlier life had in this boot.
func (c *clock) remember(o stream.Offset) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.known = &o
}

// knows says whether an earlier life in this boot left an offset.
func (c *clock) knows() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.known != nil
}
