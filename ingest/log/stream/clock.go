package stream

import (
	"context"
	"fmt"
	"time"

	"github.com/nats-io/nats.go"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
)

// ServeClock answers clock requests with the hub's time until the connection
// closes. epoch names the stretch in which that runs without a step.
func ServeClock(nc *nats.Conn, now func() time.Time, epoch string) (*nats.Subscription, error) {
	return nc.Subscribe(ClockSubject, func(m *nats.Msg) {
		if !AnswerTo(m.Reply, Place{}) {
			return
		}
		reply, err := proto.Marshal(&event.ClockReply{HubUnixNs: now().UnixNano(), Epoch: epoch})
		if err == nil {
			m.Respond(reply)
		}
	})
}

// Offset is what a clock exchange found: hub time = local monotonic time + Ahead.
type Offset struct {
	// Ahead is the hub's Unix time less the local monotonic reading.
	Ahead time.Duration
	// RTT is the round trip of the exchange that gave it: half of it bounds the error.
	RTT time.Duration
	// Epoch is the stretch of the hub's clock that it holds in.
	Epoch string
}

// Exchange asks the hub for its time n times and returns the offset of the
// exchange with the shortest round trip. mono reads a clock that never steps.
func Exchange(ctx context.Context, nc *nats.Conn, mono func() time.Duration, n int) (best Offset, err error) {
	got := false
	for range n {
		before := mono()
		msg, err := nc.RequestWithContext(ctx, ClockSubject, nil)
		after := mono()
		if err != nil {
			return best, fmt.Errorf("clock exchange: %w", err)
		}
		var reply event.ClockReply
		if err := proto.Unmarshal(msg.Data, &reply); err != nil {
			return best, fmt.Errorf("clock exchange: %w", err)
		}
		o := Offset{Ahead: time.Duration(reply.HubUnixNs) - before - (after-before)/2, RTT: after - before, Epoch: reply.Epoch}
		if !got || o.Epoch != best.Epoch || o.RTT < best.RTT {
			best, got = o, true
		}
	}
	return best, nil
}
