package stream

import (
	"bytes"
	"fmt"
	"log/slog"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nkeys"
)

func TestALineThatGoesOnIsWrittenOnceAMinute(t *testing.T) {
	var s seldom
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	written, left := 0, 0
	for range 3600 { // an hour of a bay that is refused every second
		if n, ok := s.say("one", now); ok {
			written, left = written+1, left+n
		}
		now = now.Add(time.Second)
	}
	if written != 60 || written+left != 3600-59 {
		t.Errorf("%d written, %d counted", written, left)
	}
	if _, ok := s.say("other", now); !ok {
		t.Error("another kind is kept back")
	}
	for i := range 10 * mostKinds {
		s.say(fmt.Sprint(i), now)
	}
	if len(s.by) > mostKinds+1 {
		t.Errorf("%d kinds are kept", len(s.by))
	}
}

// A bay whose key was taken back comes again and again: the broker says so once, and
// each minute.
func TestARefusedBayIsNotSaidEachTime(t *testing.T) {
	var out bytes.Buffer
	a := &slogAdapter{log: slog.New(slog.NewTextHandler(&out, nil)), failed: func() {}}
	refused := func(key string, n int) {
		for i := range n {
			a.Errorf("%s", fmt.Sprintf("127.0.0.1:%d - cid:%d - authentication error - Nkey %q", 41000+i, i, key))
		}
	}
	keys := make([]string, 2)
	for i := range keys {
		pair, err := nkeys.CreateUser()
		if err != nil {
			t.Fatal(err)
		}
		if keys[i], err = pair.PublicKey(); err != nil {
			t.Fatal(err)
		}
	}
	refused(keys[0], 50)
	refused(keys[1], 50)
	if n := strings.Count(out.String(), "authentication error"); n != 2 || !strings.Contains(out.String(), keys[1]) {
		t.Errorf("%d lines: %s", n, out.String())
	}
	a.Errorf("another thing, cid:%d", 7)
	if !strings.Contains(out.String(), "another thing, cid:7") {
		t.Errorf("other lines are kept back: %s", out.String())
	}
}
