package serve

import (
	"context"
	"time"
)

// watch kills the session's statement when the client goes away. The returned function ends the watch and
// waits for it, so that no kill can meet the next statement of the session.
func (s *Server) watch(ctx context.Context, on *session) (stop func()) {
	over := make(chan struct{})
	done := make(chan struct{})
	go func() {
		defer close(done)
		select {
		case <-over:
			return
		case <-ctx.Done():
		}
		s.metrics.killed.Inc()
		// The statement may be about to begin, and then there is nothing to kill yet: try again until it ended.
		again := time.NewTicker(50 * time.Millisecond)
		defer again.Stop()
		for {
			if err := s.pool.kill(on); err != nil {
				s.log.Warn("could not kill a statement whose client went away", "error", err)
			}
			select {
			case <-over:
				return
			case <-again.C:
			}
		}
	}()
	return func() { close(over); <-done }
}
