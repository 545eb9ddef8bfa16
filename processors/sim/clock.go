package sim

import (
	"context"
	"time"
)

// Clock is the time of a bay.
type Clock interface {
	Now() time.Time
	// Sleep waits; it returns the context's error when that ends first.
	Sleep(ctx context.Context, d time.Duration) error
}

// WallClock is the machine's own time.
type WallClock struct{}

// Now is the time of day.
func (WallClock) Now() time.Time { return time.Now() }

// Sleep waits for real.
func (WallClock) Sleep(ctx context.Context, d time.Duration) error {
	if d <= 0 {
		return ctx.Err()
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}

// VirtualClock moves only when somebody sleeps on it, at once. It serves one
// goroutine.
type VirtualClock struct{ At time.Time }

// Now is where the clock stands.
func (c *VirtualClock) Now() time.Time { return c.At }

// Sleep moves the clock.
func (c *VirtualClock) Sleep(ctx context.Context, d time.Duration) error {
	c.At = c.At.Add(max(0, d))
	return ctx.Err()
}
