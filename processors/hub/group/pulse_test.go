package group

import (
	"strings"
	"testing"
	"time"
)

func TestThePulseSaysWhyNothingGetsOn(t *testing.T) {
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	p := NewPulse()
	p.now = func() time.Time { return now }
	said := func(want string) {
		t.Helper()
		err := p.Stuck(t.Context())
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	passes := func(d time.Duration, waits uint64, trouble string) {
		for end := now.Add(d); now.Before(end); now = now.Add(10 * time.Second) {
			p.turn(waits, trouble)
		}
	}
	said("") // not begun
	passes(10*time.Minute, 0, "")
	said("")
	passes(30*time.Second, 7, "the head office does not answer")
	said("")
	passes(time.Minute, 7, "the head office does not answer")
	said("with 7 waiting: the head office does not answer")
	p.sent()
	said("")
	passes(2*time.Minute, 6, "")
	said("the head office takes nothing")
	passes(10*time.Second, 5, "") // fewer: it gets on
	said("")
	passes(90*time.Second, 0, "the studio's own store")
	said("the studio's own store")
	passes(10*time.Second, 0, "")
	said("")
	now = now.Add(3 * time.Minute)
	said("its loop stands since 3m")
	if p.Hung(t.Context()) == nil {
		t.Error("a loop that stands does not count as hung")
	}
	(*Pulse)(nil).turn(1, "")
	(*Pulse)(nil).sent()
}
