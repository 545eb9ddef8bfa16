package sink

import (
	"context"
	"fmt"
	"time"

	"github.com/nats-io/nats.go/jetstream"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
)

// What is entered in one bay may bear on rows of another: a club that was fitted
// here is collected and hit there. Each worker hears such events of the whole
// studio and writes its own bay's rows again; so nobody writes another's.

// abroadOf reads the events of all bays of a studio that say something of other
// bays, in pieces, and goes on with those that follow until ctx ends. It is read
// beside the worker: what is known later is written later, under a higher version.
func abroadOf(ctx context.Context, js jetstream.JetStream, studio string) (<-chan []*event.VisitEvent, error) {
	s, err := js.Stream(ctx, stream.Visits)
	if err != nil {
		return nil, fmt.Errorf("visit events of %s: %w", studio, err)
	}
	all := stream.Place{Studio: studio, Bay: "*"}.VisitsSubject()
	c, err := s.OrderedConsumer(ctx, jetstream.OrderedConsumerConfig{FilterSubjects: []string{all}})
	if err != nil {
		return nil, fmt.Errorf("visit events of %s: %w", studio, err)
	}
	out := make(chan []*event.VisitEvent)
	go func() {
		defer close(out)
		for ctx.Err() == nil {
			readAbroad(ctx, c, studio, out)
			select { // the broker is away
			case <-ctx.Done():
			case <-time.After(time.Second):
			}
		}
	}()
	return out, nil
}

// readAbroad hands pieces on until the consumer breaks.
func readAbroad(ctx context.Context, c jetstream.Consumer, studio string, out chan<- []*event.VisitEvent) {
	it, err := c.Messages()
	if err != nil {
		return
	}
	defer it.Stop()
	stop := context.AfterFunc(ctx, it.Stop)
	defer stop()
	var piece []*event.VisitEvent
	for {
		m, err := it.Next()
		if err != nil {
			return
		}
		ev := &event.VisitEvent{}
		if proto.Unmarshal(m.Data(), ev) == nil && ev.Studio == studio && speaksAbroad(ev) {
			piece = append(piece, ev)
		}
		meta, err := m.Metadata()
		if err == nil && meta.NumPending > 0 && len(piece) < maxBatch || len(piece) == 0 {
			continue
		}
		select {
		case out <- piece:
			piece = nil
		case <-ctx.Done():
			return
		}
	}
}

func speaksAbroad(ev *event.VisitEvent) bool {
	k := visit.KindOf(ev)
	return k != nil && k.Abroad
}

// storedAbroad is what the store knows of it, should the log have been set back.
func storedAbroad(ctx context.Context, s *store.Store, studio string) ([]*event.VisitEvent, error) {
	var kinds []string
	for _, k := range visit.Kinds() {
		if k.Abroad {
			kinds = append(kinds, k.Name)
		}
	}
	return s.EventsOfKinds(ctx, studio, kinds)
}

// takeAbroad learns events of any bay and returns the sessions of this one
// whose verdicts they bear on.
func (w *Worker) takeAbroad(events []*event.VisitEvent) (sessions map[string]bool) {
	changed := false
	for _, ev := range events {
		changed = w.checks.Add(ev) || changed
	}
	if !changed {
		return nil
	}
	before := w.verdictTrials()
	w.checked = w.checks.Trials()
	after := w.verdictTrials()
	sessions = map[string]bool{}
	for verdict, is := range after {
		if is.trial != before[verdict].trial {
			sessions[is.session] = true
		}
	}
	return sessions
}

type checkedIn struct{ session, trial string }

// verdictTrials gives of each verdict of the bay its session and the trial in
// which its club was checked.
func (w *Worker) verdictTrials() map[string]checkedIn {
	out := map[string]checkedIn{}
	for _, v := range visit.Verdicts(w.bay.Log(), "", w.checked) {
		out[v.Event] = checkedIn{v.Session, v.CheckTrial}
	}
	return out
}

// rejudge writes the verdicts of sessions again.
func (w *Worker) rejudge(sessions map[string]bool) {
	var out write
	for id := range sessions {
		out.verdicts = append(out.verdicts, w.verdicts(id)...)
	}
	w.push(out)
}
