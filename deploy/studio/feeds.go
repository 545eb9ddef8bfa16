package studio

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"fairlead/ingest/bay/collector"
	"fairlead/ingest/bay/feed"
)

// Feeds makes the sources of a bay. A feed whose map or address can't be used
// does not keep the others from running: it reports why, and is tried again.
func (c *Config) Feeds(b *Bay, log *slog.Logger) []collector.Feed {
	var out []collector.Feed
	for _, f := range b.Feeds {
		out = append(out, c.feed(b, f, log))
	}
	return out
}

// feed makes the source of one feed.
func (c *Config) feed(b *Bay, f Feed, log *slog.Logger) collector.Feed {
	return collector.Feed{Name: f.Name, Source: c.lazy(b, f, log)}
}

func (c *Config) lazy(b *Bay, f Feed, log *slog.Logger) *lazySource {
	log = log.With("feed", f.Name)
	return &lazySource{path: c.Path(f.Map), log: log, guard: newGuard(),
		open: func(ctx context.Context) (feed.Source, error) { return c.open(ctx, b, f, log) }}
}

// source is how a feed's lines come: the key of the configuration, and what
// stands there.
func (f *Feed) source() (kind, place string) {
	switch {
	case f.Tail != "":
		return "tail", f.Tail
	case f.Folder != "":
		return "folder", f.Folder
	case f.Lines != "":
		return "lines", f.Lines
	}
	return "http", f.HTTP
}

// open makes one source; an HTTP source also begins to listen.
func (c *Config) open(ctx context.Context, b *Bay, f Feed, log *slog.Logger) (feed.Source, error) {
	m, err := feed.LoadMap(c.Path(f.Map))
	if err != nil {
		return nil, err
	}
	switch {
	case f.Tail != "" && (m.Whole() || feed.Packed(f.Tail)):
		memory, err := c.memoryOf(b, f)
		if err != nil {
			return nil, err
		}
		return feed.NewDocument(feed.DocumentConfig{Map: m, Path: c.Path(f.Tail), Settle: time.Duration(f.Settle), Memory: memory, Log: log})
	case f.Tail != "":
		return feed.NewTail(feed.TailConfig{Map: m, Path: c.Path(f.Tail), Links: f.Links, Quiet: time.Duration(f.Settle), Log: log})
	case f.Folder != "":
		ledger, err := c.memoryOf(b, f)
		if err != nil {
			return nil, err
		}
		return feed.NewFolder(feed.FolderConfig{Map: m, Dir: c.Path(f.Folder), Pattern: f.Pattern, Unfinished: f.Unfinished, Links: f.Links,
			Stable: time.Duration(f.Settle), Ledger: ledger, Log: log})
	case f.Lines != "":
		return feed.NewWire(feed.WireConfig{Map: m, URL: f.Lines, Log: log})
	}
	h, err := feed.NewHTTP(feed.HTTPConfig{Map: m, Token: f.Token, Log: log})
	if err != nil {
		return nil, err
	}
	served := map[string]*feed.HTTP{f.Name: h}
	l, err := feed.Listen(f.HTTP, served)
	if err != nil {
		return nil, err
	}
	go func() {
		if err := feed.Serve(ctx, l, served); err != nil && ctx.Err() == nil {
			log.Error("feed is not served any more", "error", err)
		}
	}()
	return h, nil
}

// memoryOf is the file in which a feed keeps what it has read.
func (c *Config) memoryOf(b *Bay, f Feed) (string, error) {
	path := filepath.Join(c.JournalDir(b.Name), "..", b.Name+"-"+f.Name+".read")
	return path, os.MkdirAll(filepath.Dir(path), 0o700)
}

// mapVersion is the version of the map as it stands in its file; empty when it
// cannot be read.
func mapVersion(path string) string {
	data, err := os.ReadFile(path)
	if err != nil {
		return ""
	}
	return feed.MapVersionOf(data)
}
