package sparing

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"strings"
	"testing"
	"time"
)

// A flood of one message costs a bounded number of lines, which say what they stand
// for; other messages are written as ever.
func TestAFloodIsToldInAFewLines(t *testing.T) {
	var out bytes.Buffer
	h := New(slog.NewTextHandler(&out, nil)).WithAttrs([]slog.Attr{slog.String("process", "collector")})
	at := time.Unix(1000, 0)
	say := func(message string, at time.Time) {
		r := slog.NewRecord(at, slog.LevelWarn, message, 0)
		r.AddAttrs(slog.Int("line", out.Len()))
		if err := h.Handle(context.Background(), r); err != nil {
			t.Fatal(err)
		}
	}
	for i := range 100_000 {
		say("bad message", at.Add(time.Duration(i)*100*time.Microsecond)) // ten seconds
	}
	say("the disk is low", at.Add(10*time.Second))
	if n := strings.Count(out.String(), "bad message"); n < AtOnce || n > AtOnce+11 {
		t.Errorf("%d lines of a flood", n)
	}
	if !strings.Contains(out.String(), "the disk is low") {
		t.Error("another message is lost in the flood")
	}
	say("bad message", at.Add(time.Minute))
	last := out.String()[strings.LastIndex(strings.TrimSpace(out.String()), "\n")+1:]
	if !strings.Contains(last, LeftOut+"=") || !strings.Contains(last, "process=collector") {
		t.Errorf("the line after a flood does not say what was left out: %s", last)
	}
}

// A flood that changes its words is bounded too.
func TestAFloodOfManyWords(t *testing.T) {
	var out bytes.Buffer
	h := New(slog.NewTextHandler(&out, nil))
	for i := range 20_000 {
		if err := h.Handle(context.Background(), slog.NewRecord(time.Unix(1000, 0), slog.LevelError, fmt.Sprint("bad ", i), 0)); err != nil {
			t.Fatal(err)
		}
	}
	if n := strings.Count(out.String(), "\n"); n > mostMessages+AtOnce {
		t.Errorf("%d lines", n)
	}
}
