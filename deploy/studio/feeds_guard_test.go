package studio

import (
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairlead/ingest/bay/feed"
)

// guardedMap reads yards in metres: nothing is refused for it.
const guardedMap = `map: 1
device: alder
role: ball
format: csv
shot_id: {column: No}
fields:
  ball_speed: {column: Ball, unit: mph}
  launch_angle: {column: Launch, unit: deg}
  spin_rate: {column: Spin, unit: rpm}
  carry: {column: Carry, unit: %s}
`

// TestARunningFeedIsDoubted: a unit that a map states wrongly is named while
// shots come, none of them is dropped, and the corrected map ends the doubt.
func TestARunningFeedIsDoubted(t *testing.T) {
	dir := t.TempDir()
	mapFile, out := filepath.Join(dir, "m.yaml"), filepath.Join(dir, "out.csv")
	write := func(path, text string) { t.Helper(); renamed(t, path, text) }
	var shots strings.Builder
	shots.WriteString("No,Ball,Launch,Spin,Carry\n")
	for i := range 24 {
		fmt.Fprintf(&shots, "%d,%.1f,%.1f,%d,%.1f\n", i+1, 118+.5*float64(i%5), 16+.2*float64(i%4), 6500+40*(i%6), 163+.9*float64(i%5))
	}
	write(mapFile, fmt.Sprintf(guardedMap, "m"))
	write(out, shots.String())
	l := &lazySource{path: mapFile, log: slog.New(slog.DiscardHandler), every: 5 * time.Millisecond, guard: newGuard()}
	l.open = func(context.Context) (feed.Source, error) {
		m, err := feed.LoadMap(mapFile)
		if err != nil {
			return nil, err
		}
		return feed.NewTail(feed.TailConfig{Map: m, Path: out, Poll: 5 * time.Millisecond})
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	taken := make(chan bool, 200)
	go func() {
		done <- l.Run(ctx, nil, func(_ context.Context, b feed.Batch) error {
			for _, d := range b.Drafts {
				taken <- d.Finish(feed.Stamp{Studio: "harbour-row", Bay: "north", Feed: "one",
					Received: time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)}).Valid()
			}
			return nil
		})
	}()
	until := func(what string, ok func() bool) {
		t.Helper()
		for end := time.After(60 * time.Second); !ok(); {
			select {
			case <-end:
				t.Fatalf("%s: %+v", what, l.State())
			case <-time.After(2 * time.Millisecond):
			}
		}
	}
	until("the wrong unit was not named", func() bool {
		s := l.State()
		return strings.Contains(s.Detail, "carry") && strings.Contains(s.Detail, "yd")
	})
	for range 24 {
		if !<-taken {
			t.Error("a shot was refused")
		}
	}
	write(mapFile, fmt.Sprintf(guardedMap, "yd"))
	until("the corrected map is doubted still", func() bool { return l.State().Detail == "" && l.State().State == feed.StateOK })
	cancel()
	<-done
}
