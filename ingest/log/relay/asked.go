package relay

import (
	"context"

	"github.com/nats-io/nats.go"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/stream"
)

// Asked answers what is asked of a place. A heartbeat is given at once. What a
// journal holds takes reading up to fifty thousand records, and is read beside:
// an audit must not make its bay look silent.
type Asked struct {
	Journal   *journal.Journal
	Form      Form
	Heartbeat func() *event.Heartbeat

	reads chan *nats.Msg
}

// Subscribe takes requests for a place; Run reads what they want of the journal.
// More reads than there is room for are not answered: an audit then says
// 'unknown' of what it asked, and asks again another time.
func (a *Asked) Subscribe(nc *nats.Conn, place stream.Place) error {
	a.reads = make(chan *nats.Msg, 16)
	_, err := nc.Subscribe(place.AskSubject(), func(m *nats.Msg) {
		if wanted(m.Data) != nil {
			select {
			case a.reads <- m:
			default:
			}
			return
		}
		if data, err := proto.Marshal(a.Heartbeat()); err == nil {
			m.Respond(data)
		}
	})
	return err
}

// Run reads, one request at a time, until ctx ends.
func (a *Asked) Run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case m := <-a.reads:
			if data, err := Answer(m.Data, a.Journal, a.Form, a.Heartbeat); err == nil {
				m.Respond(data)
			}
		}
	}
}
