package sparing

import (
	"fmt"
	"testing"
	"time"
)

func TestALineThatGoesOnIsWrittenOnceAMinute(t *testing.T) {
	s := NewLimit(1, time.Minute, 256, func(string) string { return "" })
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	written, left := 0, 0
	for range 3600 { // an hour of a bay that is refused every second
		if n, ok := s.Take("one", now); ok {
			written, left = written+1, left+int(n)
		}
		now = now.Add(time.Second)
	}
	if written != 60 || written+left != 3600-59 {
		t.Errorf("%d written, %d counted", written, left)
	}
	if _, ok := s.Take("other", now); !ok {
		t.Error("another kind is kept back")
	}
	for i := range 10 * s.many {
		s.Take(fmt.Sprint(i), now)
	}
	if len(s.by) > s.many+1 {
		t.Errorf("%d kinds are kept", len(s.by))
	}
}
