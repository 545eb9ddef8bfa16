package bays

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nats-io/nats.go"
	"google.golang.org/protobuf/proto"

	"fairlead/deploy/studio"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/stream"
)

// await says when the hub has stored the first line of this machine's journal.
// running ends with the collector where that runs here.
func (j Join) await(ctx context.Context, c *studio.Config, bay string, running <-chan error) error {
	place := c.Place(bay)
	nc, _, err := stream.Connect(c.Link(stream.BayCredential(bay), place))
	if err != nil {
		return err
	}
	defer nc.Close()
	fmt.Fprintf(j.Out, "hit a shot: waiting up to %s for the first one to be stored at the hub (Ctrl-C does not take anything back)\n", j.Wait)
	var end <-chan time.Time
	if j.Wait > 0 {
		t := time.NewTimer(j.Wait)
		defer t.Stop()
		end = t.C
	}
	tick := time.NewTicker(500 * time.Millisecond)
	defer tick.Stop()
	said := ""
	for {
		n, err := stored(ctx, nc, place, c.JournalDir(bay))
		switch {
		case n > 0:
			fmt.Fprintf(j.Out, "the first shot went through: the hub has stored line %d of this bay\n", n)
			return follow(ctx, running)
		case err != nil && err.Error() != said && nc.IsConnected():
			said = err.Error()
		}
		select {
		case <-ctx.Done():
			return nil
		case err := <-running:
			return fmt.Errorf("the collector ended: %w", err)
		case <-end:
			why := "nothing was hit, or the feed finds nothing: `fairlead doctor --config " + c.File() + "`"
			if !nc.IsConnected() {
				why = fmt.Sprintf("the hub's broker %s is not reached (%v): is its port open?", c.BrokerURL(), nc.LastError())
			} else if said != "" {
				why = said
			}
			return fmt.Errorf("no shot came within %s: %s. What is hit from now on is kept and sent all the same", j.Wait, why)
		case <-tick.C:
		}
	}
}

// follow stays with a collector that runs here.
func follow(ctx context.Context, running <-chan error) error {
	if running == nil {
		return nil
	}
	select {
	case <-ctx.Done():
		return nil
	case err := <-running:
		return err
	}
}

// stored is the highest number of this machine's journals that the hub has stored.
func stored(ctx context.Context, nc *nats.Conn, place stream.Place, dir string) (highest uint64, err error) {
	ids, err := journal.IDs(dir)
	if err != nil || len(ids) == 0 {
		return 0, err
	}
	data, err := proto.Marshal(&event.MarksRequest{Journals: ids})
	if err != nil {
		return 0, err
	}
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	m, err := nc.RequestWithContext(ctx, place.MarksSubject(), data)
	var reply event.MarksReply
	switch {
	case errors.Is(err, nats.ErrNoResponders):
		return 0, errors.New("the hub does not say what it has stored: is `fairlead up` running there?")
	case err != nil:
		return 0, err
	}
	if err := proto.Unmarshal(m.Data, &reply); err != nil {
		return 0, err
	}
	for _, mark := range reply.Marks {
		highest = max(highest, mark.Highest)
	}
	return highest, nil
}
