package erase

import (
	"context"
	"log/slog"
	"time"
)

// AfterWhoAsked is how long the hub leaves an erasure that is due to whoever may
// wait for it at a terminal.
const AfterWhoAsked = 10 * time.Minute

// Watch carries erasures out once they are due, looking each minute, until ctx
// ends. One that fails is tried again: each step of it may be repeated.
func Watch(ctx context.Context, log *slog.Logger, list func(context.Context) ([]Request, error), do func(context.Context, Request) error) {
	tick := time.NewTicker(time.Minute)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		all, err := list(ctx)
		if err != nil {
			log.Debug("erasures that are asked for can't be read", "error", err)
			continue
		}
		runDue(ctx, log, all, time.Now(), do)
	}
}

func runDue(ctx context.Context, log *slog.Logger, all []Request, now time.Time, do func(context.Context, Request) error) {
	for _, r := range all {
		if !r.Waits() || !r.IsDue(now.Add(-AfterWhoAsked)) {
			continue
		}
		if err := do(ctx, r); err != nil {
			log.Error("an erasure that is due is not carried out yet", "player", r.Player, "error", err)
			continue
		}
		log.Info("erased", "player", r.Player)
	}
}
