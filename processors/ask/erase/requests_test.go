package erase

import (
	"context"
	"errors"
	"log/slog"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

// An erasure can be taken back until it is due, not after it was done; a file
// that is read anew says the same.
func TestRequestsWaitAndCanBeTakenBack(t *testing.T) {
	file := filepath.Join(t.TempDir(), "erasures.json")
	q, err := OpenRequests(file)
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	ask := func(player string, delay time.Duration) Request {
		t.Helper()
		r, err := q.Ask(Request{Player: player, Asked: now, Due: now.Add(delay), By: "f-1"})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	first := ask("p-1", time.Hour)
	if again := ask("p-1", 3*time.Hour); again != first {
		t.Errorf("a second request moved the first: %+v", again)
	}
	if _, err := q.Finish("p-1", now); err == nil {
		t.Error("it was carried out before it was due")
	}
	if _, err := q.Keep("p-1", "f-2", now); err != nil {
		t.Error(err)
	}
	if _, err := q.Keep("p-1", "f-2", now); !errors.Is(err, ErrNoRequest) {
		t.Errorf("taken back twice: %v", err)
	}
	if r := ask("p-1", 2*time.Hour); !r.Due.Equal(now.Add(2 * time.Hour)) {
		t.Errorf("asked anew: %+v", r)
	}
	ask("p-2", 0)
	if q, err = OpenRequests(file); err != nil || len(q.List()) != 3 {
		t.Fatalf("%v %v", q.List(), err)
	}
	var did []string
	run := func(at time.Time) {
		runDue(t.Context(), slog.New(slog.DiscardHandler), q.List(), at, func(_ context.Context, r Request) error {
			did = append(did, r.Player)
			_, err := q.Finish(r.Player, at)
			return err
		})
	}
	if run(now); len(did) != 0 {
		t.Errorf("at once: %v", did)
	}
	run(now.Add(time.Hour))
	run(now.Add(time.Hour))
	if run(now.Add(3 * time.Hour)); !slices.Equal(did, []string{"p-2", "p-1"}) {
		t.Errorf("carried out: %v", did)
	}
	if _, err := q.Keep("p-1", "f-2", now); err == nil {
		t.Error("what was erased was taken back")
	}
}
