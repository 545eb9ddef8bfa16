// Package sparing keeps a flood out of a process's log: of lines that say the same it
// lets some through at once, then one a second, and says how many it left out. Half a
// million bad messages then cost a few hundred lines, and no disk.
package sparing

import (
	"context"
	"log/slog"
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
	return &handler{to, NewLimit(AtOnce, Each, mostMessages, func(what said) said { return said{what.level, ""} })}
}

type handler struct {
	slog.Handler
	limit *Limit[said]
}

type said struct {
	level   slog.Level
	message string
}

// Handle is slog.Handler's.
func (h *handler) Handle(ctx context.Context, r slog.Record) error {
	leftOut, ok := h.limit.Take(said{r.Level, r.Message}, r.Time)
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
	return &handler{h.Handler.WithAttrs(attrs), h.limit}
}

// WithGroup is slog.Handler's.
func (h *handler) WithGroup(name string) slog.Handler {
	return &handler{h.Handler.WithGroup(name), h.limit}
}
