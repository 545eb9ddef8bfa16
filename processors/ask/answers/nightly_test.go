package answers

import (
	"context"
	"testing"
	"time"

	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
	"fairlead/processors/hub/store"
	"fairlead/processors/sim"
)

func TestANightIsDueOnceADay(t *testing.T) {
	at := func(day, hour int) time.Time { return time.Date(2026, 3, day, hour, 30, 0, 0, time.UTC) }
	for _, c := range []struct {
		name      string
		now, last time.Time
		want      bool
	}{
		{"never asked", at(5, 12), time.Time{}, true},
		{"asked this night", at(5, 12), at(5, 3), false},
		{"asked yesterday night, not yet three", at(5, 1), at(4, 3), false},
		{"asked yesterday night, past three", at(5, 4), at(4, 3), true},
		{"asked yesterday noon by hand", at(5, 4), at(4, 12), true},
	} {
		if got := due(c.now, c.last, 3); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// taken is a lease that another process has.
type taken struct{}

func (taken) Hold(ctx context.Context) (context.Context, func(), bool) { return ctx, func() {}, false }

func TestOnlyTheHolderOfTheLeaseAsks(t *testing.T) {
	f, _, s := planted(t, sim.FleetOptions{Players: 60, Seed: 2, Shots: 8, PerStudio: 60})
	m := newNightMetrics(nil)
	if err := f.night(t.Context(), RunOptions{Store: s, Location: time.UTC, Lease: taken{}}, m); err != nil {
		t.Fatal(err)
	}
	if lines, err := f.Lines(t.Context(), 10); err != nil || len(lines) != 0 {
		t.Fatalf("asked without the lease: %v %v", lines, err)
	}
	o := RunOptions{Store: s, Location: time.UTC, Lease: alone{}}
	if err := f.night(t.Context(), o, m); err != nil {
		t.Fatal(err)
	}
	lines, err := f.Lines(t.Context(), 100)
	if err != nil || len(lines) < 8 {
		t.Fatalf("%d answers, %v", len(lines), err)
	}
	mark, err := f.Latest(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	grid, err := f.Grid(t.Context(), mark)
	if err != nil || len(grid) != len(lines) {
		t.Fatalf("%d questions in the grid, %d answers, %v", len(grid), len(lines), err)
	}
	for _, q := range grid {
		if _, err := f.Newest(t.Context(), q); err != nil {
			t.Errorf("%s %s: %v", q.Outcome, q.Label(), err)
		}
	}
	// A second look the same night asks nothing again.
	if err := f.night(t.Context(), o, m); err != nil {
		t.Fatal(err)
	}
	again, err := f.Lines(t.Context(), 100)
	if err != nil || len(again) != len(lines) || !again[0].Asked.Equal(lines[0].Asked) {
		t.Fatalf("asked again: %d and %d, %v", len(lines), len(again), err)
	}
}

func TestANightWithoutTrialsAsksNothing(t *testing.T) {
	db := enginetest.New(t)
	s := store.New(db.Open(t))
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	ctx, end := context.WithCancel(t.Context())
	done := make(chan error)
	go func() { done <- Run(ctx, RunOptions{Store: s, Check: time.Millisecond}) }()
	proof.Pause(t, 50*time.Millisecond) // fifty looks
	end()
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	if lines, err := New(s, Options{}).Lines(t.Context(), 10); err != nil || len(lines) != 0 {
		t.Fatalf("%v %v", lines, err)
	}
}
