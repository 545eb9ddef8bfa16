package collector

import (
	"context"
	"log/slog"
	"time"

	"fairlead/ingest/log/journal"
)

// scrubEvery is how often all that the journals hold is read through; the first
// time soon after the start.
const (
	scrubFirst = 5 * time.Minute
	scrubEvery = 7 * 24 * time.Hour
)

// scrub reads the journals through until ctx ends. Damage that it meets stands in
// the heartbeat then, and what was not sent yet is read again from the device.
func scrub(ctx context.Context, j *journal.Journal, log *slog.Logger) {
	for wait := scrubFirst; sleep(ctx, wait); wait = scrubEvery {
		n, err := j.Scrub(ctx)
		if err != nil && ctx.Err() == nil {
			log.Warn("the journals could not be read through", "records", n, "error", err)
		} else if err == nil {
			log.Info("the journals were read through", "records", n)
		}
	}
}

// readAgain has the feeds begin again where they were before records that were
// damaged before they could be sent. The device's file has those lines still, and
// what is read twice counts once.
func (in *intake) readAgain(id string, from, to uint64) {
	positions, err := in.journal.PositionsBefore(id, from)
	in.log.Error("entries were damaged before they could be sent: the devices' files are read again from before them",
		"journal", id, "from", from, "to", to, "error", err)
	if err != nil {
		return
	}
	in.mu.Lock()
	defer in.mu.Unlock()
	for name := range in.journal.Positions() {
		f := in.feed(name)
		f.rewind, f.rewinds = positions[name], true
		if f.end != nil {
			f.end()
		}
	}
}

// begin is where a source begins, and how long it lives: until ctx ends, or it has
// to begin again elsewhere.
func (in *intake) begin(ctx context.Context, name string) (life context.Context, from []byte, end context.CancelFunc) {
	life, end = context.WithCancel(ctx)
	in.mu.Lock()
	defer in.mu.Unlock()
	f := in.feed(name)
	f.end = end
	from = in.journal.Positions()[name]
	if f.rewinds {
		from, f.rewind, f.rewinds = f.rewind, nil, false
	}
	return life, from, end
}
