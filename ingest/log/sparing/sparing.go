// Package sparing keeps a flood out of a process's log: of lines that say the same it
// lets some through at once, then one a second, and says how many it left out. Half a
// million bad messages then cost a few hundred lines, and no disk.
package sparing

import (
	"context"
	"log/slog"
	"sync"
	"time"
)

// AtOnce is how many lines of one message are let through in a row, Each how often one
// more is after that.
const (
	AtOnce = 30
	Each   = time.Second
)

// mostMessages are told apart; a flood that changes its words shares one count.
const mostMessages = 1000

// LeftOut is the attribute with how many lines of the same message were not written
// before this one.
const LeftOut = "left_out"

// New writes to a handler what is let through. A line's message and level say which
// lines say the same; its attributes do not count. Time is the lines' own.
func New(to slog.Handler) slog.Handler {
	return &handler{to, &shares{by: map[said]*share{}}}
}

type handler struct {
	slog.Handler
	shares *shares
}

type said struct {
	level   slog.Level
	message string
}

// share is what a message may still write.
type share struct {
	left    float64
	at      time.Time
	leftOut uint64
}

type shares struct {
	mu     sync.Mutex
	by     map[said]*share
	looked time.Time // for messages to let go of
}

// Handle is slog.Handler's.
func (h *handler) Handle(ctx context.Context, r slog.Record) error {
	leftOut, ok := h.shares.take(said{r.Level, r.Message}, r.Time)
	if !ok {
		return nil
	}
	if leftOut > 0 {
		r = r.Clone()
		r.AddAttrs(slog.Uint64(LeftOut, leftOut))
	}
	return h.Handler.Handle(ctx, r)
}

// WithAttrs is slog.Handler's.
func (h *handler) WithAttrs(attrs []slog.Attr) slog.Handler {
	return &handler{h.Handler.WithAttrs(attrs), h.shares}
}

// WithGroup is slog.Handler's.
func (h *handler) WithGroup(name string) slog.Handler {
	return &handler{h.Handler.WithGroup(name), h.shares}
}

// take says whether a line may be written, and how many of its kind were not since the
// last one that was.
func (s *shares) take(what said, at time.Time) (leftOut uint64, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	one := s.by[what]
	if one == nil {
		if len(s.by) >= mostMessages && at.Sub(s.looked) >= Each {
			s.looked = at
			s.forget(at)
		}
		if len(s.by) >= mostMessages {
			what = said{what.level, ""}
		}
		if one = s.by[what]; one == nil {
			one = &share{left: AtOnce, at: at}
			s.by[what] = one
		}
	}
	if passed := at.Sub(one.at); passed > 0 {
		one.left, one.at = min(AtOnce, one.left+float64(passed)/float64(Each)), at
	}
	if one.left < 1 {
		one.leftOut++
		return 0, false
	}
	one.left--
	leftOut, one.leftOut = one.leftOut, 0
	return leftOut, true
}

// forget lets go of messages that may write all they want again.
func (s *shares) forget(at time.Time) {
	for what, one := range s.by {
		if one.leftOut == 0 && one.left+float64(at.Sub(one.at))/float64(Each) >= AtOnce {
			delete(s.by, what)
		}
	}
}
