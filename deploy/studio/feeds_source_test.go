package studio

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
)

// renamed writes a file beside its place and moves it there, as editors and devices do: nobody sees half of it.
func renamed(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path+".new", []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(path+".new", path); err != nil {
		t.Fatal(err)
	}
}

// TestACorrectedMapIsTakenUp changes a feed's map while it runs: first into one
// that cannot be used, then into one that says another unit.
func TestACorrectedMapIsTakenUp(t *testing.T) {
	dir := t.TempDir()
	mapFile, out := filepath.Join(dir, "m.yaml"), filepath.Join(dir, "out.csv")
	write := func(path, text string) { t.Helper(); renamed(t, path, text) }
	text := "map: 1\ndevice: alder\nrole: ball\nformat: csv\nshot_id: {column: No}\nfields:\n  ball_speed: {column: Ball, unit: %s}\n"
	write(mapFile, fmt.Sprintf(text, "m/s"))
	write(out, "No,Ball\n1,50\n")
	l := &lazySource{path: mapFile, log: slog.New(slog.DiscardHandler), every: 5 * time.Millisecond}
	l.open = func(context.Context) (feed.Source, error) {
		m, err := feed.LoadMap(mapFile)
		if err != nil {
			return nil, err
		}
		return feed.NewTail(feed.TailConfig{Map: m, Path: out, Poll: 5 * time.Millisecond})
	}
	entries := make(chan *event.Entry, 16)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() {
		done <- l.Run(ctx, nil, func(_ context.Context, b feed.Batch) error {
			for _, d := range b.Drafts {
				entries <- d.Finish(feed.Stamp{Studio: "harbour-row", Bay: "north", Feed: "one", Received: time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)})
			}
			return nil
		})
	}()
	next := func() (float64, string) {
		t.Helper()
		select {
		case e := <-entries:
			v, _ := e.Get(event.Field_FIELD_BALL_SPEED)
			return v, e.MapVersion
		case <-time.After(30 * time.Second):
			t.Fatal("no entry came")
			return 0, ""
		}
	}
	until := func(what string, ok func() bool) {
		t.Helper()
		for end := time.After(30 * time.Second); !ok(); {
			select {
			case <-end:
				t.Fatal(what)
			case <-time.After(2 * time.Millisecond):
			}
		}
	}
	v, first := next()
	if v != 50 {
		t.Errorf("the first shot has %v m/s", v)
	}
	write(mapFile, fmt.Sprintf(text, "parsecs"))
	until("a bad map was not said", func() bool { return l.State().Detail != "" })
	l.mu.Lock()
	before := l.source
	l.mu.Unlock()
	write(mapFile, fmt.Sprintf(text, "mph"))
	until("the corrected map was not taken up", func() bool {
		l.mu.Lock()
		defer l.mu.Unlock()
		return l.source != before
	})
	write(out, "No,Ball\n1,50\n2,100\n")
	v, second := next()
	if v != 100*.44704 || first == second || second == "" {
		t.Errorf("after the correction: %v m/s, map %q then %q", v, first, second)
	}
	cancel()
	if err := <-done; !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}
