package studio

import (
	"errors"
	"fmt"
	"log/slog"
	"os"
	"slices"
	"strings"
	"sync"

	"fairlead/ingest/bay/collector"
	"fairlead/ingest/bay/desk"
	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/durable"
)

// feedBench is what the console may see and change of a bay's feeds.
type feedBench struct {
	c    *Config
	runs collector.Following
	log  *slog.Logger

	mu   sync.Mutex
	b    Bay
	held held // what the hub gave
}

// Bench makes the bay's side of the console's page of devices.
func (c *Config) Bench(b *Bay, log *slog.Logger) func(collector.Following) desk.Bench {
	return func(runs collector.Following) desk.Bench {
		own := *b
		own.Feeds = slices.Clone(b.Feeds)
		out := &feedBench{c: c, runs: runs, log: log, b: own}
		out.begin()
		return out
	}
}

func (b *feedBench) feeds() []Feed {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.b.Feeds)
}

// Feeds implements desk.Bench.
func (b *feedBench) Feeds() (out []desk.Feed, folders []desk.Folder, err error) {
	all := b.feeds()
	for _, f := range all {
		kind, place := f.source()
		shown := desk.Feed{Name: f.Name, Kind: kind, Place: place}
		if text, err := os.ReadFile(b.c.Path(f.Map)); err == nil {
			shown.Map, shown.Version = string(text), feed.MapVersionOf(text)
			if m, err := feed.ParseMap(f.Map, text); err == nil {
				shown.Device = m.Device()
			}
		}
		for _, o := range all {
			shown.Shared = shown.Shared || o.Name != f.Name && b.c.Path(o.Map) == b.c.Path(f.Map)
		}
		out = append(out, shown)
	}
	folders, err = b.folders()
	return out, folders, err
}

// Work implements desk.Bench.
func (b *feedBench) Work(w desk.Work) (version string, err error) {
	m, err := feed.ParseMap("the map", []byte(w.Map))
	if err != nil {
		return "", err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	at := slices.IndexFunc(b.b.Feeds, func(f Feed) bool { return f.Name == w.Feed })
	if w.Was == "" {
		if at >= 0 {
			return "", fmt.Errorf("bay %s has a feed %s already: choose it, or give the new one another name", b.b.Name, w.Feed)
		}
		return m.Version(), b.add(w)
	}
	if at < 0 {
		return "", fmt.Errorf("bay %s has no feed %s any more", b.b.Name, w.Feed)
	}
	if b.gave(w.Feed) {
		return m.Version(), b.replaceGiven(w)
	}
	return m.Version(), b.replace(&b.b.Feeds[at], m, w)
}

// replace gives a feed another map; the one before stays beside it.
func (b *feedBench) replace(f *Feed, m *feed.Map, w desk.Work) error {
	path := b.c.Path(f.Map)
	was, err := os.ReadFile(path)
	if err != nil {
		return fmt.Errorf("the map that works now can't be read: %w", err)
	}
	if feed.MapVersionOf(was) != w.Was {
		return errors.New("the feed's map was changed meanwhile: look at it again first")
	}
	if f.HTTP != "" {
		if _, err := feed.NewHTTP(feed.HTTPConfig{Map: m}); err != nil {
			return err
		}
	}
	info, err := os.Stat(path)
	if err == nil {
		err = durable.WriteFile(path+"."+w.Was, was, info.Mode().Perm())
	}
	if err == nil {
		err = durable.WriteFile(path, []byte(w.Map), info.Mode().Perm())
	}
	if err != nil {
		return fmt.Errorf("the map can't be written on the bay's PC: %w: give its collector the right to, or copy the map there by hand", err)
	}
	b.log.Info("the feed's map was replaced from the console", "feed", f.Name, "map", path, "was", w.Was, "is", m.Version())
	return nil
}

// add puts a new feed to work, at once and at every start from now on.
func (b *feedBench) add(w desk.Work) error {
	if event.CheckName("feed", w.Feed) != nil {
		return fmt.Errorf("%q is not a feed's name: use 1 to 32 of a-z, 0-9 and -", w.Feed)
	}
	dir, err := b.folder(w.Folder)
	if err != nil {
		return err
	}
	f := Feed{Name: w.Feed}
	m, err := feed.ParseMap("the new map", []byte(w.Map))
	if err != nil {
		return err
	}
	if m.Whole() && strings.ContainsAny(pattern(w.Pattern), "*?[") {
		w.Grows = false // several files that are read as a whole are a folder's
	}
	if f.Folder = dir; w.Grows {
		f.Folder, f.Tail = "", dir+string(os.PathSeparator)+pattern(w.Pattern)
	} else {
		f.Pattern = w.Pattern
	}
	for _, o := range b.b.Feeds {
		if o.Folder == f.Folder && o.Tail == f.Tail && o.Pattern == f.Pattern {
			return fmt.Errorf("feed %s reads that already: put the map to work there", o.Name)
		}
	}
	if f, err = b.c.writeAdded(b.b.Name, f, w.Map); err != nil {
		return err
	}
	b.b.Feeds = append(b.b.Feeds, f)
	own := b.b
	b.runs.Put(b.c.feed(&own, f, b.log))
	b.log.Info("a feed was put to work from the console", "feed", f.Name, "folder", dir)
	return nil
}

func pattern(p string) string {
	if p == "" {
		return "*"
	}
	return p
}
