package process

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/answers"
	"fairlead/processors/ask/erase"
	"fairlead/processors/hub/group"
	"fairlead/processors/hub/health"
	"fairlead/processors/hub/store"
)

// office is the head office's side of what studios send (processors/hub/group). Their
// entries and events take the way of all others; here they are counted as a bay's
// are, summed for who compares, and forgotten where a studio forgot.
type office struct {
	nc      *nats.Conn
	store   *store.Store
	studios []string
	checker *checker
	log     *slog.Logger
	priors  *answers.Giver

	asked chan struct{} // a studio asks whom this store has forgotten

	heard  *prometheus.GaugeVec // studio
	behind *prometheus.GaugeVec // studio
}

// forgetEvery is how often it is looked whether a studio forgot somebody.
const forgetEvery = 30 * time.Second

func newOffice(o Options, c *checker) (*office, error) {
	f := &office{nc: o.Conn, store: o.Store, studios: o.Studios, checker: c, log: o.Logger, asked: make(chan struct{}, 1),
		priors: answers.NewGiver(answers.New(o.Store, answers.Options{Logger: o.Logger}), o.Home, o.Sign),
		heard: prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "office", Name: "heard_timestamp_seconds",
			Help: "When a studio that sends from elsewhere was last heard, Unix time."}, []string{"studio"}),
		behind: prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "office", Name: "forgetting",
			Help: "Players whom a studio forgot and whom this store still has rows of."}, []string{"studio"}),
	}
	for _, g := range []*prometheus.GaugeVec{f.heard, f.behind} {
		if err := o.Registry.Register(g); err != nil {
			return nil, fmt.Errorf("head office's metrics: %w", err)
		}
	}
	return f, nil
}

// listen hears the studios and answers them.
func (f *office) listen(ctx context.Context) error {
	if len(f.studios) == 0 {
		return nil
	}
	_, err := f.nc.Subscribe("health.*.*", func(m *nats.Msg) {
		place, ok := stream.PlaceOf(m.Subject)
		if !ok || !slices.Contains(f.studios, place.Studio) || event.CheckName("bay", place.Bay) != nil {
			return
		}
		h := &event.Heartbeat{}
		if proto.Unmarshal(m.Data, h) != nil {
			return
		}
		f.heard.WithLabelValues(place.Studio).SetToCurrentTime()
		f.checker.heard(ctx, health.Bay{Place: place, Heartbeat: h, Seen: time.Now()})
	})
	if err != nil {
		return err
	}
	_, err = f.nc.Subscribe(stream.GroupSubject("*", "*"), func(m *nats.Msg) {
		parts := strings.Split(m.Subject, ".")
		if len(parts) != 4 || !slices.Contains(f.studios, parts[2]) || !stream.AnswerTo(m.Reply, stream.Place{}) {
			return
		}
		go f.answer(ctx, m, parts[2], parts[3])
	})
	return err
}

// answer tells a studio what is asked of its own rows, and of nobody else's.
func (f *office) answer(ctx context.Context, m *nats.Msg, studio, what string) {
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	var told any
	var err error
	switch what {
	case group.AskSums:
		told, err = f.store.DaySums(ctx, studio)
	case group.AskBlocks:
		told, err = f.store.BlockSums(ctx, studio)
	case group.AskForgotten:
		told, err = f.forgotten(ctx, studio)
		select {
		case f.asked <- struct{}{}: // who asks waits for somebody to be forgotten
		default:
		}
	case group.AskPriors:
		told, err = f.priors.Offers(ctx)
	case group.AskPrior:
		told, err = f.priors.Give(ctx, string(m.Data))
	default:
		err = fmt.Errorf("this head office knows no question %q", what)
	}
	var reply []byte
	if err == nil {
		reply, err = group.Pack(told)
	}
	if err != nil {
		f.log.Warn("a studio's question can't be answered", "studio", studio, "what", what, "error", err)
		reply, _ = group.Pack(group.Refusal{Error: err.Error()})
	}
	if err := m.Respond(reply); err != nil {
		f.log.Debug("a studio's question was not answered", "studio", studio, "what", what, "error", err)
	}
}

// forgotten says whom of a studio this store has forgotten, and when.
func (f *office) forgotten(ctx context.Context, studio string) (map[string]time.Time, error) {
	all, err := f.store.Erasures(ctx, studio)
	out := map[string]time.Time{}
	for player, e := range all {
		if !e.Finished.IsZero() {
			out[player] = e.Finished
		}
	}
	return out, err
}

// run forgets whom studios forgot, until ctx ends.
func (f *office) run(ctx context.Context) {
	done := map[string]string{} // of a studio: the players whose erasure was carried out at the last look
	for len(f.studios) > 0 {
		for _, studio := range f.studios {
			n, err := f.forget(ctx, studio, done)
			if err != nil && ctx.Err() == nil {
				f.log.Warn("whom a studio forgot is not forgotten here yet; it is tried again", "studio", studio, "error", err)
			}
			f.behind.WithLabelValues(studio).Set(float64(n))
		}
		select {
		case <-ctx.Done():
			return
		case <-f.asked:
		case <-time.After(forgetEvery):
		}
	}
}

// errNotSaid says that the studio has not sent the erasure of every session yet.
var errNotSaid = errors.New("the studio has not said so of all of the player's sessions yet")

// forget scrubs what sessions that a studio erased left behind: old rows and copies.
// The events themselves came with the others, and the processors have honoured them.
func (f *office) forget(ctx context.Context, studio string, done map[string]string) (waits int, err error) {
	events, err := f.store.EventsOfKinds(ctx, studio, []string{"session_erased"})
	if err != nil {
		return 0, err
	}
	players := map[string]int{}
	for _, ev := range events {
		if p := ev.GetSessionErased().GetPlayer(); p != "" {
			players[p]++
		}
	}
	sign := fmt.Sprint(players)
	if done[studio] == sign {
		return 0, nil
	}
	before, err := f.store.Erasures(ctx, studio)
	if err != nil {
		return 0, err
	}
	places, err := f.store.Places(ctx)
	if err != nil {
		return 0, err
	}
	places = slices.DeleteFunc(places, func(p stream.Place) bool { return p.Studio != studio })
	e := erase.Eraser{Store: f.store, Studio: studio, Places: places, Now: time.Now, Wait: forgetEvery, Who: "head office",
		Write: func(context.Context, string, *event.VisitEvent) error { return errNotSaid }}
	var problems []error
	for player := range players {
		if b, ok := before[player]; ok && !b.Finished.IsZero() {
			if held, err := f.store.Spoken(ctx, studio, player, b.Sessions); err == nil && held.Sum() == 0 && len(b.Sessions) >= players[player] {
				continue
			}
		}
		plan, err := e.Plan(ctx, player)
		if err == nil {
			_, err = e.Run(ctx, plan)
		}
		if err != nil {
			waits++
			problems = append(problems, fmt.Errorf("player %s: %w", player, err))
			continue
		}
		f.log.Info("forgotten, as the studio said", "studio", studio, "player", player)
	}
	if waits == 0 {
		done[studio] = sign
	}
	return waits, errors.Join(problems...)
}
