package process

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/health"
	"fairlead/processors/hub/store"
)

const (
	// homeEvery is how often it is looked whether a bay's events changed.
	homeEvery = 2 * time.Second
	// homeWhole is how often a bay's copies are compared though nothing seems to have changed.
	homeWhole = time.Hour
	// homeRetry is when a bay is asked again that could not answer.
	homeRetry = 30 * time.Second
	// homeShare bounds what comparing takes: after it, so many times as long nothing.
	homeShare = 50
	// carry bounds the bytes of events in one message.
	carry = 300 << 10
)

// secondHome has each bay keep copies of its visit events, and takes back what
// the hub has no more: its log, its store and the console's journal stand on one
// machine, and an older copy of that machine's folders must not forget what was
// said since. What comes back is written by the console, as all events are.
type secondHome struct {
	nc    *nats.Conn
	js    jetstream.JetStream
	store *store.Store
	bays  *health.Bays
	log   *slog.Logger

	copies *prometheus.GaugeVec // bay
	back   prometheus.Counter

	known map[stream.Place]*homeState
}

// homeState is what was last found equal of a bay.
type homeState struct {
	stored     string // a sign of what the store holds
	kept, sum  uint64 // as the bay says
	whole      time.Time
	notBefore  time.Time
	said       bool
	incomplete bool
}

func newSecondHome(o Options, bays *health.Bays) (*secondHome, error) {
	h := &secondHome{
		nc: o.Conn, js: o.JS, store: o.Store, bays: bays, log: o.Logger, known: map[stream.Place]*homeState{},
		copies: prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "visits", Name: "copies",
			Help: "Visit events of a bay that its own PC keeps a copy of."}, []string{"bay"}),
		back: prometheus.NewCounter(prometheus.CounterOpts{Namespace: "fairlead", Subsystem: "visits", Name: "taken_back_total",
			Help: "Visit events that the hub had no more and took back from the bays' copies: its folders were lost or set back."}),
	}
	for _, c := range []prometheus.Collector{h.copies, h.back} {
		if err := o.Registry.Register(c); err != nil {
			return nil, fmt.Errorf("second home metrics: %w", err)
		}
	}
	return h, nil
}

// run keeps bays and hub alike until ctx ends.
func (h *secondHome) run(ctx context.Context) {
	for {
		if signs, err := h.store.EventSigns(ctx); err == nil {
			for _, bay := range h.bays.All() {
				if bay.Place.Bay != ConsoleBay && ctx.Err() == nil {
					h.look(ctx, bay, signs[bay.Place])
				}
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(homeEvery):
		}
	}
}

// look compares a bay where something may have changed.
func (h *secondHome) look(ctx context.Context, bay health.Bay, stored string) {
	now := time.Now()
	s := h.known[bay.Place]
	if s == nil {
		s = &homeState{}
		h.known[bay.Place] = s
	}
	b := bay.Heartbeat
	same := s.stored == stored && s.kept == b.KeptEvents && s.sum == b.KeptSum && now.Sub(s.whole) < homeWhole
	if same && !s.incomplete || now.Before(s.notBefore) {
		return
	}
	if s.stored == stored && now.Sub(bay.Seen) > health.SilentAfter {
		return
	}
	back, err := h.alike(ctx, bay.Place)
	s.notBefore = now.Add(homeShare * time.Since(now))
	if err != nil {
		s.notBefore = now.Add(homeRetry)
		if ctx.Err() == nil && !s.said {
			s.said = true
			h.log.Info("a bay keeps no copies of its visit events", "bay", bay.Place.Bay, "error", err)
		}
		return
	}
	// What was brought shows in the next heartbeat only.
	s.stored, s.kept, s.sum, s.whole, s.said, s.incomplete = stored, b.KeptEvents, b.KeptSum, now, false, back > 0
	if back > 0 {
		s.notBefore = now.Add(homeRetry / 3) // until they are stored
	}
}

// alike brings a bay what it lacks and takes back what the hub lacks; it returns
// how many of those there were.
func (h *secondHome) alike(ctx context.Context, place stream.Place) (back int, err error) {
	own, err := h.store.EventSums(ctx, place)
	if err != nil {
		return 0, err
	}
	logged, err := gap.InLog(ctx, h.js, stream.Visits, place.VisitsSubject())
	if err != nil {
		return 0, err
	}
	theirs := map[string]uint32{}
	for after, more := "", true; more; {
		reply, err := h.ask(ctx, place, &event.Keep{List: true, After: after})
		if err != nil {
			return 0, err
		}
		for _, k := range reply.Kept {
			theirs[k.Id], after = k.Sum, k.Id
		}
		more = reply.More && len(reply.Kept) > 0
	}
	h.copies.WithLabelValues(place.Bay).Set(float64(len(theirs)))
	var bring, take []string
	for id, e := range own {
		// What the log does not hold nobody may have said.
		if have, ok := theirs[id]; (!ok || have != e.Sum) && logged[e.Journal].Has(e.Seq) {
			bring = append(bring, id)
		}
	}
	for id := range theirs {
		if _, ok := own[id]; !ok {
			take = append(take, id)
		}
	}
	if err := h.bring(ctx, place, bring); err != nil {
		return 0, err
	}
	slices.Sort(take)
	return len(take), h.takeBack(ctx, place, take, logged)
}

func (h *secondHome) bring(ctx context.Context, place stream.Place, ids []string) error {
	return h.store.EventBytes(ctx, place, ids, carry, func(events [][]byte) error {
		_, err := h.ask(ctx, place, &event.Keep{Events: events})
		return err
	})
}

// takeBack gives the console events that the store does not hold. What the log
// holds is on its way into the store, or comes when the bay is taken over.
func (h *secondHome) takeBack(ctx context.Context, place stream.Place, ids []string, logged map[string]gap.Ranges) error {
	for len(ids) > 0 {
		reply, err := h.ask(ctx, place, &event.Keep{Want: ids})
		if err != nil {
			return err
		}
		var events [][]byte
		for _, k := range reply.Kept {
			ev := &event.VisitEvent{}
			if proto.Unmarshal(k.Event, ev) == nil && !logged[ev.Journal].Has(ev.Seq) {
				events = append(events, k.Event)
			}
		}
		if len(events) > 0 {
			took, err := h.ask(ctx, stream.Place{Studio: place.Studio, Bay: ConsoleBay}, &event.Keep{Events: events})
			if err != nil {
				return fmt.Errorf("the console takes nothing back: %w", err)
			}
			if took.Sent > 0 {
				h.back.Add(float64(took.Sent))
				h.log.Error("the hub had visit events no more, and took them back from the bay's copies: were its folders set back?",
					"bay", place.Bay, "events", took.Sent)
			}
		}
		if !reply.More || len(reply.Kept) == 0 {
			return nil
		}
		last, _ := slices.BinarySearch(ids, reply.Kept[len(reply.Kept)-1].Id)
		ids = ids[last+1:]
	}
	return nil
}

func (h *secondHome) ask(ctx context.Context, place stream.Place, k *event.Keep) (*event.RepairReply, error) {
	data, err := proto.Marshal(&event.RepairRequest{Keep: k})
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	m, err := h.nc.RequestWithContext(ctx, place.RepairSubject(), data)
	if err != nil {
		return nil, err
	}
	reply := &event.RepairReply{}
	if err := proto.Unmarshal(m.Data, reply); err != nil {
		return nil, err
	}
	if reply.Error != "" {
		return nil, errors.New(reply.Error)
	}
	return reply, nil
}
