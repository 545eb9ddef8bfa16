package group

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"slices"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/prometheus/client_golang/prometheus"
	"golang.org/x/time/rate"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/store"
)

// Options configure a studio's forwarding.
type Options struct {
	Studio string
	Store  *store.Store // the studio's own
	// Conn and JS lead to the head office's broker.
	Conn    *nats.Conn
	JS      jetstream.JetStream
	Persons *Pseudonyms
	// Bytes a second is what may be sent in the long run.
	Bytes int64
	// Every is how often the store is looked at; 0: each two seconds.
	Every time.Duration
	// Keep is told how it goes, each time it was looked at.
	Keep     func(State)
	Begin    State  // as Keep was told last, before a restart
	Pulse    *Pulse // told that it gets on; nil: nobody asks
	Logger   *slog.Logger
	Registry prometheus.Registerer
}

const (
	// beats, in looks: each ten seconds.
	beats = 5
	// forgets is how often it is asked whether the head office forgot whom the studio
	// forgot, in looks: each minute.
	forgets = 30
	// stretch is how many numbers of a journal are read at a time.
	stretch = 500
	// atOnce bounds the messages that wait for the head office's word at a time.
	atOnce = 128
	// askFor is how long the head office may take to answer.
	askFor = 10 * time.Second
)

var (
	// errOwn says that the trouble is not with the head office.
	errOwn  = errors.New("the studio's own store")
	errAway = errors.New("the head office's broker can't be reached")
)

// carrier is one studio's forwarding. What was sent is known to it in memory only:
// when it starts it asks the head office what is stored there.
type carrier struct {
	Options
	source  source
	limit   *rate.Limiter
	metrics *metrics

	sent  map[gap.Key]uint64 // the highest number that the head office's log has
	there map[gap.Key]uint64 // the highest that its rows had at the start
	beat  time.Time
	// forgot is when the head office was last asked whom it has forgotten.
	forgot time.Time
	state  State
	// kept is when the state was handed on, and whether nothing waited then.
	kept     time.Time
	keptAll  bool
	window   window
	line     line // what the head office asks for
	compared comparison
}

// Run carries until ctx ends. It waits for the store and the head office as long
// as it takes.
func Run(ctx context.Context, o Options) error {
	m, err := newMetrics(o.Registry)
	if err != nil {
		return fmt.Errorf("forwarding: %w", err)
	}
	if o.Every == 0 {
		o.Every = 2 * time.Second
	}
	if o.Keep == nil {
		o.Keep = func(State) {}
	}
	burst := int(max(o.Bytes, 64<<10))
	c := &carrier{Options: o, metrics: m, sent: map[gap.Key]uint64{}, there: map[gap.Key]uint64{}, state: o.Begin,
		limit: rate.NewLimiter(rate.Limit(o.Bytes), burst), window: window{bytes: leastWindow, most: burst / 2},
		source: source{store: o.Store, studio: o.Studio, persons: o.Persons}}
	if err := c.answerAt(); err != nil {
		return fmt.Errorf("forwarding: %w", err)
	}
	said := ""
	for {
		more, err := c.round(ctx)
		if ctx.Err() != nil {
			return nil
		}
		c.tell(err)
		if text := fmt.Sprint(err); err != nil && text != said {
			c.Logger.Warn("nothing goes to the head office at the moment; the studio keeps it", "error", err)
			said = text
		} else if err == nil && said != "" {
			c.Logger.Info("the head office takes again what the studio stored")
			said = ""
		}
		if more {
			continue
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(c.Every):
		}
	}
}

// round looks at the store and sends what is new in it, and what the head office asked
// for; more says that a heartbeat was due before all of it was sent.
func (c *carrier) round(ctx context.Context) (more bool, err error) {
	now := time.Now()
	if err := c.source.look(ctx, now); err != nil {
		return false, fmt.Errorf("%w: %w", errOwn, err)
	}
	c.line.say(c.heartbeats(), c.source.held)
	if !c.Conn.IsConnected() {
		return false, errAway
	}
	if now.Sub(c.beat) >= beats*c.Every {
		if err := c.beatAll(ctx); err != nil {
			return false, fmt.Errorf("the head office's broker: %w", err)
		}
		c.beat = now
	}
	if err := c.begin(ctx); err != nil {
		return false, err
	}
	if now.Sub(c.forgot) >= forgets*c.Every {
		if err := c.forgotten(ctx); err != nil {
			return false, err
		}
		c.forgot = now
	}
	for more = true; more; {
		if more, err = c.again(ctx); err != nil {
			return false, err
		}
		for _, h := range c.journals() {
			some, err := c.carry(ctx, h)
			if err != nil {
				return false, err
			}
			more = more || some
		}
		c.tell(nil)
		if more && time.Since(c.beat) >= beats*c.Every {
			return true, nil
		}
	}
	return false, c.compare(ctx, now)
}

// journals are those of visit events first: they say whose the entries are.
func (c *carrier) journals() []*held {
	return slices.SortedFunc(maps.Values(c.source.held), func(a, b *held) int {
		rank := func(h *held) int {
			if h.Place.Bay == stream.ConsoleBay {
				return 0
			}
			return 1
		}
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a.Place.Bay, b.Place.Bay), cmp.Compare(a.Journal, b.Journal))
	})
}

// begin asks the head office how far it has each journal that nothing was sent of yet.
func (c *carrier) begin(ctx context.Context) error {
	asks := map[stream.Place]*event.MarksRequest{}
	for key := range c.source.held {
		if _, ok := c.sent[key]; !ok {
			if asks[key.Place] == nil {
				asks[key.Place] = &event.MarksRequest{}
			}
			asks[key.Place].Journals = append(asks[key.Place].Journals, key.Journal)
		}
	}
	for place, ask := range asks {
		reply := &event.MarksReply{}
		if err := c.ask(ctx, place.MarksSubject(), ask, reply); err != nil {
			return err
		}
		for _, m := range reply.Marks {
			key := gap.Key{Place: place, Journal: m.Journal}
			c.sent[key], c.there[key] = m.Highest, m.Highest
			if h := c.source.held[key]; h != nil && m.Highest > h.Highest() {
				c.setBack(h, m.Highest)
			}
		}
		if len(reply.Marks) < len(ask.Journals) {
			c.beat = time.Time{} // it counts what a heartbeat names
		}
	}
	return nil
}

// setBack goes through a journal anew of which the head office has more than the studio:
// the studio's folders were set back to an older copy, and its numbers may be given to
// other records since. Each is known by its content, so what the head office has it takes
// for a repeat, and what it has not comes beside.
func (c *carrier) setBack(h *held, there uint64) {
	c.sent[h.Key] = 0
	c.state.SetBack = time.Now().UTC()
	c.Logger.Warn("the head office has more of a journal than this studio: were its folders set back to an older copy? All of it is sent "+
		"again; see `fairlead forward check`", "bay", h.Place.Bay, "journal", h.Journal, "here", h.Highest(), "head office", there)
}

// ask puts a question to the head office.
func (c *carrier) ask(ctx context.Context, subject string, ask, reply proto.Message) error {
	data, err := proto.Marshal(ask)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, askFor)
	defer cancel()
	m, err := c.Conn.RequestWithContext(ctx, subject, data)
	if err == nil {
		err = proto.Unmarshal(m.Data, reply)
	}
	if err != nil {
		return fmt.Errorf("the head office does not answer: %w", err)
	}
	c.state.Heard = time.Now().UTC()
	return nil
}

// forgotten learns whom of those that the studio forgot the head office has forgotten too.
func (c *carrier) forgotten(ctx context.Context) error {
	own, err := c.Store.Erasures(ctx, c.Studio)
	if err != nil {
		return fmt.Errorf("%w: %w", errOwn, err)
	}
	waits := slices.ContainsFunc(slices.Collect(maps.Values(own)), func(e store.Erasure) bool { return c.state.Forgotten[e.Player].IsZero() })
	if !waits {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, askFor)
	defer cancel()
	there, err := Ask[map[string]time.Time](ctx, c.Conn, c.Studio, AskForgotten)
	if err != nil {
		return err
	}
	told := map[string]time.Time{} // a new one: the old one was handed on
	for player := range own {
		if at := there[c.Persons.Of(player)]; !at.IsZero() {
			told[player] = at
		}
	}
	c.state.Forgotten = told
	return nil
}

// carry sends the next stretch of a journal and says whether there may be more.
func (c *carrier) carry(ctx context.Context, h *held) (more bool, err error) {
	sent, ok := c.sent[h.Key]
	last := h.Highest()
	if !ok || sent >= last {
		return false, nil
	}
	to := min(sent+stretch, last)
	batch, err := c.source.messages(ctx, h.Key, sent+1, to, "")
	if err != nil {
		return false, fmt.Errorf("%w: %w", errOwn, err)
	}
	if err := c.send(ctx, batch); err != nil {
		return false, err
	}
	c.sent[h.Key] = to
	return to < last, nil
}

// send publishes messages no faster than is allowed, and no more at a time than the head
// office takes in good time.
func (c *carrier) send(ctx context.Context, all []stream.Message) error {
	for len(all) > 0 {
		n, size := 0, 0
		for n < len(all) && n < atOnce && (n == 0 || size < c.window.bytes) {
			size += len(all[n].Subject) + len(all[n].ID) + len(all[n].Data)
			n++
		}
		if err := c.limit.WaitN(ctx, min(size, c.limit.Burst())); err != nil {
			return err
		}
		if !c.Conn.IsConnected() {
			return errAway
		}
		sent := time.Now()
		_, err := stream.Publish(ctx, c.JS, all[:n])
		c.window.took(time.Since(sent), n == atOnce || size >= c.window.bytes, err != nil)
		if err != nil {
			return fmt.Errorf("the head office's broker: %w", err)
		}
		c.Pulse.sent()
		c.metrics.sent.Add(float64(n))
		c.metrics.bytes.Add(float64(size))
		c.state.Heard, c.state.Sent = time.Now().UTC(), c.state.Sent+uint64(n)
		all = all[n:]
	}
	return nil
}
