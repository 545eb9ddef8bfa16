package relay

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/nats-io/nats.go"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/stream"
)

// States lists the journals on this disk for a heartbeat.
func States(j *journal.Journal) (out []*event.JournalState) {
	for _, info := range j.Journals() {
		s := &event.JournalState{Journal: info.ID, First: info.First, Last: info.Last, Active: info.Active}
		for _, q := range info.Quarantined {
			if q.Records() > 0 {
				s.Quarantined = append(s.Quarantined, &event.Range{From: q.First, To: q.Last})
			}
		}
		out = append(out, s)
	}
	return out
}

// FollowMarks asks the hub what the store holds: entries below may leave the
// journal once they are older than the retention, and a mark beyond our last
// seq says that this disk was set back to an earlier state, so that its numbers
// are used up and a new journal has to begin.
func FollowMarks(ctx context.Context, nc *nats.Conn, place stream.Place, j *journal.Journal, olderThan time.Time, log *slog.Logger) error {
	request := &event.MarksRequest{}
	for _, info := range j.Journals() {
		request.Journals = append(request.Journals, info.ID)
	}
	data, err := proto.Marshal(request)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	msg, err := nc.RequestWithContext(ctx, place.MarksSubject(), data)
	if err != nil {
		return fmt.Errorf("ask the hub what is stored: %w", err)
	}
	var reply event.MarksReply
	if err := proto.Unmarshal(msg.Data, &reply); err != nil {
		return fmt.Errorf("ask the hub what is stored: %w", err)
	}
	var problems []error
	for _, m := range reply.Marks {
		j.SetFloor(m.Journal, m.StoredBelow)
		// Read after the reply: what the store holds was in the journal before.
		if last := j.Last(); m.Journal == j.ID() && m.Highest > last {
			reason := fmt.Sprintf("the store holds seq %d, this disk only %d: it was set back to an earlier state", m.Highest, last)
			log.Warn("beginning a new journal", "journal", m.Journal, "reason", reason)
			problems = append(problems, j.Rotate(reason))
		}
	}
	_, err = j.Trim(olderThan)
	return errors.Join(append(problems, err)...)
}
