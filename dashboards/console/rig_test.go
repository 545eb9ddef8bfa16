package console

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/goleak"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"fairlead/dashboards/gate"
	"fairlead/deploy/chromium"
	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/answers"
	"fairlead/processors/hub/process"
	"fairlead/processors/hub/sink"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(chromium.Wrap(enginetest.Wrap(m))) }

// rig is a console with a real broker and journal, and a small hub that tags
// the shots it is given and publishes states as the real one does.
type rig struct {
	t    *testing.T
	url  string
	nc   *nats.Conn
	js   jetstream.JetStream
	dir  string
	stop func()
	// bytes that must stay free on the disk
	minFree int64
	fleet   func() *answers.Fleet
	ops     *Ops
	enrol   *Enrol // nil: no bay comes by this console
	gate    *gate.Gate
	// how long an erasure can be taken back
	eraseAfter time.Duration
	store      *store.Store // with one, the real hub tags, stores and publishes

	hold bool // nothing is published while many shots are made

	mu      sync.Mutex
	events  map[string]*visit.Log
	entries map[string][]*event.Entry
	hub     map[string][]byte
}

const testStudio = "harbour-row"

func newRig(t *testing.T) *rig { return newRigWith(t, nil, nil) }

// newRigWith makes a rig whose console asks a fleet, and whose hub is the real
// one if there is a store.
func newRigWith(t *testing.T, fleet func() *answers.Fleet, s *store.Store) *rig {
	t.Helper()
	return newRigOf(t, &rig{fleet: fleet, store: s})
}

// newRigOf makes a rig of what is set of it.
func newRigOf(t *testing.T, r *rig) *rig {
	t.Helper()
	r.t, r.dir = t, t.TempDir()
	r.events, r.entries, r.hub = map[string]*visit.Log{"north": {}, "south": {}}, map[string][]*event.Entry{}, map[string][]byte{}
	b, err := stream.StartBroker(stream.BrokerOptions{Listen: "127.0.0.1:0", DataDir: filepath.Join(r.dir, "broker"), NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Stop)
	r.nc, r.js, err = stream.Connect(stream.Link{URL: b.URL(), Name: "test"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(r.hangUp)
	if err := stream.Declare(t.Context(), r.js, stream.DefaultLayout()); err != nil {
		t.Fatal(err)
	}
	if r.store != nil {
		r.runHub(b.URL())
		r.start(b.URL())
		return r
	}
	for bay := range r.events {
		place := stream.Place{Studio: testStudio, Bay: bay}
		if _, err := r.nc.Subscribe(sink.StateSubject(place), func(m *nats.Msg) {
			r.mu.Lock()
			defer r.mu.Unlock()
			if s := r.hub[bay]; s != nil {
				m.Respond(s)
			}
		}); err != nil {
			t.Fatal(err)
		}
		if _, err := r.nc.Subscribe(place.VisitsSubject(), func(m *nats.Msg) {
			ev := &event.VisitEvent{}
			if err := proto.Unmarshal(m.Data, ev); err != nil {
				t.Error(err)
				return
			}
			r.mu.Lock()
			r.events[bay].Add(ev)
			r.mu.Unlock()
			r.publish(bay)
		}); err != nil {
			t.Fatal(err)
		}
	}
	r.start(b.URL())
	return r
}

// hangUp closes the connection once what came on it has been dealt with: the
// last event of a test may still be on its way to the stand-in for the hub.
func (r *rig) hangUp() {
	closed := make(chan struct{})
	r.nc.SetClosedHandler(func(*nats.Conn) { close(closed) })
	if err := r.nc.Drain(); err != nil {
		r.nc.Close()
	}
	<-closed
}

// runHub runs the real hub until the test ends.
func (r *rig) runHub(broker string) {
	nc, js, err := stream.Connect(stream.Link{URL: broker, Name: "hub"})
	if err != nil {
		r.t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(r.t.Context())
	done := make(chan error, 1)
	go func() {
		done <- process.Run(ctx, process.Options{Conn: nc, JS: js, Layout: stream.DefaultLayout(), Store: r.store,
			Registry: prometheus.NewRegistry(),
			Bays:     []stream.Place{{Studio: testStudio, Bay: "north"}, {Studio: testStudio, Bay: "south"}},
			Logger:   slog.New(slog.NewTextHandler(testWriter{r.t}, &slog.HandlerOptions{Level: slog.LevelError}))})
	}()
	r.t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			r.t.Error(err)
		}
		nc.Close()
	})
}

// start runs a console; stop ends it.
func (r *rig) start(broker string) {
	ctx, cancel := context.WithCancel(r.t.Context())
	ready, done := make(chan string, 1), make(chan error, 1)
	go func() {
		done <- Run(ctx, Options{
			Ops: r.ops, Enrol: r.enrol, Gate: r.gate, EraseAfter: r.eraseAfter,
			Studio: testStudio, Bays: []string{"north", "south"}, Listen: "127.0.0.1:0", JournalDir: filepath.Join(r.dir, "visits"),
			PeopleFile: filepath.Join(r.dir, "people.json"), Machine: "one", Fleet: r.fleet, MinFree: r.minFree,
			Link: stream.Link{URL: broker, Name: "console"}, Version: "test",
			Logger: slog.New(slog.NewTextHandler(testWriter{r.t}, &slog.HandlerOptions{Level: slog.LevelWarn})), Registry: prometheus.NewRegistry(),
			Store: func() *store.Store { return r.store },
			Ready: func(address string) { ready <- address },
		})
	}()
	var once sync.Once
	r.stop = func() {
		once.Do(func() {
			cancel()
			if err := <-done; err != nil {
				r.t.Error(err)
			}
		})
	}
	r.t.Cleanup(func() { r.stop() })
	select {
	case address := <-ready:
		r.url = "http://" + address
	case err := <-done:
		done <- nil
		r.t.Fatal(err)
	}
}

type testWriter struct{ t *testing.T }

func (w testWriter) Write(p []byte) (int, error) {
	w.t.Log(strings.TrimSpace(string(p)))
	return len(p), nil
}

// publish makes the bay's state and sends it.
func (r *rig) publish(bay string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.hold {
		return
	}
	tl := r.events[bay].Timeline()
	var facts []tag.Fact
	for _, e := range r.entries[bay] {
		facts = append(facts, tag.FactOf(e))
	}
	tags := tag.Compute(r.events[bay], facts)
	s := rolling.Snapshot{Studio: testStudio, Bay: bay, Timeline: tl, At: time.Now().UnixNano()}
	if last := tl.Latest(visit.Never, func(s *visit.Session) bool { return s.MovedTo == "" }); last != nil {
		s.Session = last.ID
	}
	for i, e := range r.entries[bay] {
		t := tags[facts[i].Key]
		values := shot.Of(e, shot.Frame{})
		shown := rolling.Shot{Key: facts[i].Key, Tag: &t, Values: &values, Received: e.ReceivedUnixNs, Device: e.Device}
		for _, o := range r.entries[bay] {
			if t.Status != tag.Paired && t.PairedWith.ID == o.ID() {
				shown.Second = o.Device
			}
		}
		if t.Status == tag.Between {
			s.Open = append(s.Open, shown)
		}
		if t.Status.Ordered() && t.Session == s.Session {
			s.Shots = append(s.Shots, shown)
		} else {
			s.Loose = append(s.Loose, shown)
		}
	}
	data, err := json.Marshal(rolling.Build(s))
	if err != nil {
		r.t.Error(err)
		return
	}
	r.hub[bay] = data
	if err := r.nc.Publish(stream.Place{Studio: testStudio, Bay: bay}.LiveSubject("state"), data); err != nil {
		r.t.Error(err)
	}
}

// hit adds a shot to a bay, and returns its id.
func (r *rig) hit(bay string, carry, offline float64) string {
	r.mu.Lock()
	n := len(r.entries[bay]) + 1
	now := time.Now().UnixNano()
	id := event.ShotIDFor("radar", bay+string(rune('A'+n)))
	e := &event.Entry{Contract: 1, Studio: testStudio, Bay: bay, Journal: "00000000000000aa", Seq: uint64(n), ShotId: id[:], Device: "radar",
		Raw: []byte(id.String()), ReceivedUnixNs: now, EffectiveUnixNs: now, Certainty: event.Certainty_CERTAINTY_SYNCED}
	for f, v := range map[event.Field]float64{
		event.Field_FIELD_CARRY: carry, event.Field_FIELD_OFFLINE: offline, event.Field_FIELD_BALL_SPEED: 52 + offline/9,
		event.Field_FIELD_LAUNCH_ANGLE: 17 + offline/8,
		event.Field_FIELD_SPIN_RATE:    6200 + 40*offline, event.Field_FIELD_LANDING_ANGLE: 45, event.Field_FIELD_STRIKE_X: offline / 1000,
		event.Field_FIELD_STRIKE_Y: (carry - 150) / 2000,
	} {
		e.Measures = append(e.Measures, &event.Measure{Field: f, Value: v, Provenance: event.Provenance_PROVENANCE_MEASURED})
	}
	r.entries[bay] = append(r.entries[bay], e)
	r.mu.Unlock()
	if r.store != nil {
		data, err := proto.Marshal(e)
		if err == nil {
			_, err = r.js.Publish(r.t.Context(), stream.Place{Studio: testStudio, Bay: bay}.ShotsSubject(), data)
		}
		if err != nil {
			r.t.Fatal(err)
		}
		return id.String()
	}
	r.publish(bay)
	return id.String()
}

// late makes the last shot of a bay one whose line was read late: it was hit since
// a moment, nobody knows when.
func (r *rig) late(bay string, since time.Time) {
	r.mu.Lock()
	last := r.entries[bay][len(r.entries[bay])-1]
	last.Certainty, last.EarliestUnixNs, last.LatestUnixNs = event.Certainty_CERTAINTY_BETWEEN, since.UnixNano(), last.EffectiveUnixNs
	r.mu.Unlock()
	r.publish(bay)
}

// seen adds another device's view of the club of a bay's last shot.
func (r *rig) seen(bay, device string) {
	r.mu.Lock()
	entries := r.entries[bay]
	last := entries[len(entries)-1]
	last.Role = event.Role_ROLE_BALL
	id := event.ShotIDFor(device, string(last.Raw))
	r.entries[bay] = append(entries, &event.Entry{Contract: 1, Studio: testStudio, Bay: bay, Journal: last.Journal, Seq: last.Seq + 1,
		ShotId: id[:], Device: device,
		Role: event.Role_ROLE_CLUB, Raw: []byte(id.String()), ReceivedUnixNs: last.ReceivedUnixNs, EffectiveUnixNs: last.EffectiveUnixNs,
		Certainty: last.Certainty,
		Measures:  []*event.Measure{{Field: event.Field_FIELD_CLUBHEAD_SPEED, Value: 38, Provenance: event.Provenance_PROVENANCE_MEASURED}}})
	r.mu.Unlock()
	r.publish(bay)
}

// post sends an event to the API.
func (r *rig) post(bay string, ev *event.VisitEvent) (int, Answer, problem) {
	r.t.Helper()
	body, err := protojson.MarshalOptions{UseProtoNames: true}.Marshal(ev)
	if err != nil {
		r.t.Fatal(err)
	}
	code, text := r.raw("POST", "/api/bays/"+bay+"/events", body)
	var a Answer
	var p problem
	if code == http.StatusOK {
		err = json.Unmarshal(text, &a)
	} else {
		err = json.Unmarshal(text, &p)
	}
	if err != nil {
		r.t.Fatalf("%s: %v", text, err)
	}
	return code, a, p
}

// must is post for what has to be taken.
func (r *rig) must(bay string, ev *event.VisitEvent) Answer {
	r.t.Helper()
	code, a, p := r.post(bay, ev)
	if code != http.StatusOK {
		r.t.Fatalf("%d %+v", code, p)
	}
	return a
}

func (r *rig) raw(method, path string, body []byte) (int, []byte) {
	r.t.Helper()
	request, err := http.NewRequestWithContext(r.t.Context(), method, r.url+path, bytes.NewReader(body))
	if err != nil {
		r.t.Fatal(err)
	}
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		r.t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	http.DefaultClient.CloseIdleConnections()
	return answer.StatusCode, text
}

// state asks the API for a bay's state.
func (r *rig) state(bay string) rolling.State {
	r.t.Helper()
	code, text := r.raw("GET", "/api/bays/"+bay+"/state", nil)
	var s rolling.State
	if err := json.Unmarshal(text, &s); err != nil || code != http.StatusOK {
		r.t.Fatalf("%d %s %v", code, text, err)
	}
	return s
}

// until waits for what must come; it fails after far longer than it takes.
func (r *rig) until(what string, ok func() bool) {
	r.t.Helper()
	proof.Until(r.t, what, ok)
}

func open(player string) *event.VisitEvent {
	return &event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: player,
		Hand: event.Hand_HAND_RIGHT, Category: "iron", PoolingConsent: true}}}
}

func start(name string, gamer bool, specs ...*event.Spec) *event.VisitEvent {
	return &event.VisitEvent{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Build: &event.Build{Name: name,
		Gamer: gamer, Specs: specs}}}}
}

// form posts a form of a bay's page as a browser without scripts does.
func (r *rig) form(bay, act, values string) (int, string) {
	r.t.Helper()
	answer, err := http.Post(r.url+"/bays/"+bay+"/"+act, "application/x-www-form-urlencoded", strings.NewReader(values))
	return r.told(answer, err)
}

// told reads an answer to its end.
func (r *rig) told(answer *http.Response, err error) (int, string) {
	r.t.Helper()
	if err != nil {
		r.t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	http.DefaultClient.CloseIdleConnections()
	return answer.StatusCode, string(text)
}

// log is what the API lists of a bay's events.
func (r *rig) log(bay string) (out []*event.VisitEvent) {
	r.t.Helper()
	_, text := r.raw("GET", "/api/bays/"+bay+"/events", nil)
	for line := range strings.Lines(string(text)) {
		ev := &event.VisitEvent{}
		if err := protojson.Unmarshal([]byte(line), ev); err != nil {
			r.t.Fatalf("%s: %v", line, err)
		}
		out = append(out, ev)
	}
	return out
}
