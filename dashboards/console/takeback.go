package console

import (
	"context"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
)

// takeBack writes events into the journal that bays kept copies of and the hub has
// no more: its disk was lost or set back. They get new numbers; those that the
// journal holds are left out. Nothing is asked about them: they were taken once.
func (w *Writer) takeBack(ctx context.Context, copies [][]byte) *event.RepairReply {
	reply := &event.RepairReply{}
	var events []*event.VisitEvent
	wanted := map[string]*event.VisitEvent{}
	for _, data := range copies {
		ev := &event.VisitEvent{}
		if err := proto.Unmarshal(data, ev); err == nil && ev.Id != "" && ev.Studio == w.studio && w.logs[ev.Bay] != nil {
			wanted[ev.Id] = ev
			events = append(events, ev)
		}
	}
	fresh, err := w.putBack(ctx, events, wanted)
	if err != nil {
		reply.Error = err.Error()
		return reply
	}
	touched := map[string]bool{}
	for _, ev := range fresh {
		// A bay that was off when the player was erased has no erasure among its copies.
		if open := ev.GetSessionOpened(); open != nil && w.returned != nil && w.keys.Forgot(ev.Session) {
			w.returned(open.Player)
		}
		if !touched[ev.Bay] {
			touched[ev.Bay] = true
			w.changed(ev.Bay)
		}
	}
	if len(fresh) > 0 {
		w.log.Warn("visit events that this hub had no more came back from the copies of the bays", "events", len(fresh))
	}
	reply.Sent = uint64(len(fresh))
	return reply
}

// putBack writes those of the events that the journal does not hold.
func (w *Writer) putBack(ctx context.Context, events []*event.VisitEvent, wanted map[string]*event.VisitEvent) (fresh []*event.VisitEvent,
	err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.drop(wanted)
	for _, ev := range events {
		if wanted[ev.Id] == ev {
			fresh = append(fresh, ev)
		}
	}
	if len(fresh) == 0 {
		return nil, nil
	}
	if err := w.append(ctx, fresh); err != nil {
		return nil, err
	}
	for _, ev := range fresh {
		w.open(ev)
		w.note(ev)
	}
	return fresh, nil
}

// drop takes out of wanted what the journal holds, of whatever age.
func (w *Writer) drop(wanted map[string]*event.VisitEvent) {
	for _, info := range w.journal.Journals() {
		r := w.journal.Read(info.ID, info.First)
		for {
			e, ok, err := r.TryNext()
			if !ok || err != nil {
				break
			}
			ev := &event.VisitEvent{}
			if proto.Unmarshal(e.Payload, ev) == nil {
				delete(wanted, ev.Id)
			}
		}
		r.Close()
	}
}
