package sink

import (
	"context"
	"time"

	"fairlead/ingest/log/stream"
)

// unread is a stored entry whose bytes nobody can decode.
type unread struct {
	place stream.Place
	data  []byte
}

// takeOut sets entries aside that were met in the store and can't be decoded,
// until ctx ends. Their journals have them still: what is missing in the store
// is asked for.
func (p *Process) takeOut(ctx context.Context, met <-chan unread, recount func()) {
	for {
		var u unread
		select {
		case <-ctx.Done():
			return
		case u = <-met:
		}
		out, err := p.store.TakeOut(ctx, u.place, u.data)
		for _, a := range out {
			p.metrics.setAsideRow(p.log, a)
		}
		if err != nil && ctx.Err() == nil {
			p.log.Warn("entries that can't be decoded are still in the store", "bay", u.place.Bay, "error", err)
			select { // who meets them next time says so again
			case <-ctx.Done():
			case <-time.After(time.Second):
			}
		}
		if len(out) > 0 && recount != nil {
			recount()
		}
	}
}

// hearUnreadable has the store tell of such entries. Those that there is no room
// for are met again.
func (p *Process) hearUnreadable() <-chan unread {
	met := make(chan unread, 256)
	p.store.OnUnreadable(func(place stream.Place, data []byte) {
		select {
		case met <- unread{place, data}:
		default:
		}
	})
	return met
}
