package sink

import (
	"errors"
	"strings"
	"testing"
	"time"
)

func TestPulseAsksForProgress(t *testing.T) {
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	p := NewPulse()
	p.now = func() time.Time { return now }
	is := func(what string, err error, words string) {
		t.Helper()
		if words == "" && err != nil || words != "" && (err == nil || !strings.Contains(err.Error(), words)) {
			t.Errorf("%s: %v, want %q", what, err, words)
		}
	}
	pass := func(d time.Duration) { now = now.Add(d) }
	p.taking("north")
	pass(stuckAfter)
	p.gaveUp("north", errors.New("max query size"))
	p.taking("north")
	is("a bay that can't be taken over", p.Stuck(t.Context()), "max query size")
	is("but its loop does not stand", p.Hung(t.Context()), "")
	p.turned("north", 3)
	is("taken over", p.Stuck(t.Context()), "")
	pass(stuckAfter / 2)
	p.turned("north", 3)
	p.advanced("north")
	pass(stuckAfter / 2)
	p.turned("north", 3)
	is("some was done", p.Stuck(t.Context()), "")
	p.failed("north", errors.New("disk full"))
	pass(stuckAfter / 2)
	is("nothing since", p.Stuck(t.Context()), "with 3 waiting: disk full")
	p.turned("north", 0)
	pass(hungAfter)
	is("no work", p.Stuck(t.Context()), "")
	p.works("north")
	pass(hungAfter - time.Second)
	is("in the middle of a long round", p.Hung(t.Context()), "")
	pass(time.Second)
	is("it does not turn", p.Hung(t.Context()), "bay north: its loop stands")
	p.left("north")
	is("another serves it", p.Hung(t.Context()), "")
}
