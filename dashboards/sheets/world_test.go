package sheets

import (
	"context"
	"fmt"
	"log/slog"
	"math"
	"math/rand"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go/jetstream"
	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/goleak"
	"google.golang.org/protobuf/proto"

	"fairlead/deploy/chromium"
	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/golf/club"
	"fairlead/processors/hub/process"
	"fairlead/processors/hub/store"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(chromium.Wrap(enginetest.Wrap(m))) }

const testStudio = "harbour-row"

// hostile is what somebody might type as a name.
const hostile = `<script>alert("ada")</script> & Ada`

// studio is a studio with the real broker, hub and engine, whose visits are
// made up here.
type studio struct {
	t       *testing.T
	store   *store.Store
	printer *Printer
	js      jetstream.JetStream
	at      time.Time
	bay     string
	visit   string
	session string
	seq     uint64
	shots   int
	random  *rand.Rand
}

func newStudio(t *testing.T) *studio {
	t.Helper()
	s := store.New(enginetest.New(t).Open(t))
	b, err := stream.StartBroker(stream.BrokerOptions{Listen: "127.0.0.1:0", DataDir: filepath.Join(t.TempDir(), "broker"), NoSync: true})
	must(t, err)
	t.Cleanup(b.Stop)
	nc, js, err := stream.Connect(stream.Link{URL: b.URL(), Name: "test"})
	must(t, err)
	t.Cleanup(nc.Close)
	must(t, stream.Declare(t.Context(), js, stream.DefaultLayout()))
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() {
		done <- process.Run(ctx, process.Options{Conn: nc, JS: js, Layout: stream.DefaultLayout(), Store: s, Registry: prometheus.NewRegistry(),
			Logger: slog.New(slog.DiscardHandler),
			Bays:   []stream.Place{{Studio: testStudio, Bay: "north"}, {Studio: testStudio, Bay: "south"}}})
	}()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
	return &studio{t: t, store: s, js: js, random: rand.New(rand.NewSource(7))}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// source reads the studio's papers.
func (s *studio) source() *Source {
	return &Source{Store: s.store, Studio: testStudio, Zone: time.UTC, Name: func(id string) string {
		switch id {
		case "p-ada":
			return hostile
		case "f-rowan":
			return "Rowan"
		}
		return id
	}}
}

// serve shows the studio's papers.
func (s *studio) serve() string {
	source := s.source()
	s.printer = NewPrinter()
	h := New(Options{Studio: testStudio, Imperial: true, Store: func() *store.Store { return s.store }, Name: source.Name, Zone: time.UTC,
		Printer: s.printer})
	server := httptest.NewServer(h)
	s.t.Cleanup(server.Close)
	s.t.Cleanup(s.printer.Close)
	return server.URL
}

// say publishes what the fitter did; id may be empty.
func (s *studio) say(id string, body any) *event.VisitEvent {
	s.t.Helper()
	s.seq++
	s.at = s.at.Add(time.Second)
	if id == "" {
		id = fmt.Sprintf("e-%03d", s.seq)
	}
	ev := &event.VisitEvent{Contract: 1, Id: id, Studio: testStudio, Bay: s.bay, Journal: "00000000000000c0", Seq: s.seq, Who: "f-rowan",
		EffectiveUnixNs: s.at.UnixNano(), RecordedUnixNs: s.at.UnixNano(), Visit: s.visit, Session: s.session}
	switch b := body.(type) {
	case *event.SessionOpened:
		ev.Body = &event.VisitEvent_SessionOpened{SessionOpened: b}
	case *event.SessionClosed:
		ev.Body = &event.VisitEvent_SessionClosed{SessionClosed: b}
	case *event.SettingChanged:
		ev.Body = &event.VisitEvent_SettingChanged{SettingChanged: b}
	case *event.TrialStarted:
		ev.Body = &event.VisitEvent_TrialStarted{TrialStarted: b}
	case *event.BuildAmended:
		ev.Body = &event.VisitEvent_BuildAmended{BuildAmended: b}
	case *event.FeelNoted:
		ev.Body = &event.VisitEvent_FeelNoted{FeelNoted: b}
	case *event.ShotsExcluded:
		ev.Body = &event.VisitEvent_ShotsExcluded{ShotsExcluded: b}
	case *event.VerdictGiven:
		ev.Body = &event.VisitEvent_VerdictGiven{VerdictGiven: b}
	case *event.HitChecked:
		ev.Body = &event.VisitEvent_HitChecked{HitChecked: b}
	case *event.Voided:
		ev.Body = &event.VisitEvent_Voided{Voided: b}
	default:
		s.t.Fatalf("no event of %T", body)
	}
	data, err := proto.Marshal(ev)
	must(s.t, err)
	_, err = s.js.Publish(s.t.Context(), stream.Place{Studio: testStudio, Bay: s.bay}.VisitsSubject(), data)
	must(s.t, err)
	return ev
}

// swing is how the shots of a trial come out.
type swing struct{ speed, ball, launch, spin, carry, carrySD, direction, directionSD float64 }

// hit publishes n shots and returns their ids.
func (s *studio) hit(n int, w swing) (ids [][]byte) {
	s.t.Helper()
	for range n {
		s.shots++
		s.at = s.at.Add(20 * time.Second)
		id := event.ShotIDFor("alder", fmt.Sprint(s.shots))
		e := &event.Entry{Contract: 1, Studio: testStudio, Bay: s.bay, Journal: "00000000000000" + s.bay[:1] + "a", Seq: uint64(s.shots),
			ShotId: id[:], Device: "alder", Feed: "alder", File: "shots.csv",
			Raw: []byte(id.String()), ReceivedUnixNs: s.at.UnixNano(), EffectiveUnixNs: s.at.UnixNano(), Certainty: event.Certainty_CERTAINTY_SYNCED}
		e.Journal = map[string]string{"north": "00000000000000aa", "south": "00000000000000bb"}[s.bay]
		r := s.random.NormFloat64
		carry, direction := w.carry+w.carrySD*r(), w.direction+w.directionSD*r()
		for f, v := range map[event.Field]float64{
			event.Field_FIELD_CLUBHEAD_SPEED: w.speed + 0.5*r(), event.Field_FIELD_BALL_SPEED: w.ball + 0.6*r(),
			event.Field_FIELD_LAUNCH_ANGLE: w.launch + r(), event.Field_FIELD_SPIN_RATE: w.spin + 150*r(),
			event.Field_FIELD_CARRY: carry, event.Field_FIELD_OFFLINE: carry * math.Tan(direction*math.Pi/180),
			event.Field_FIELD_LANDING_ANGLE: 38 + r(),
			event.Field_FIELD_ATTACK_ANGLE:  -1 + 0.5*r(), event.Field_FIELD_CLUB_PATH: 1 + 0.7*r(), event.Field_FIELD_FACE_ANGLE: 0.3 + 0.7*r(),
			event.Field_FIELD_STRIKE_X: 0.004 * r(), event.Field_FIELD_STRIKE_Y: 0.004 * r(),
		} {
			e.Measures = append(e.Measures, &event.Measure{Field: f, Value: v, Provenance: event.Provenance_PROVENANCE_MEASURED})
		}
		data, err := proto.Marshal(e)
		must(s.t, err)
		_, err = s.js.Publish(s.t.Context(), stream.Place{Studio: testStudio, Bay: s.bay}.ShotsSubject(), data)
		must(s.t, err)
		ids = append(ids, id[:])
	}
	return ids
}

func (s *studio) begin(bay, visit, session, category string, at time.Time, aim string) {
	s.bay, s.visit, s.session, s.at = bay, visit, session, at
	s.say("", &event.SessionOpened{Player: "p-ada", Hand: event.Hand_HAND_RIGHT, Category: category, Fitter: "f-rowan", Aim: aim,
		PoolingConsent: true})
}

// stored waits until the hub has stored all that was said and hit.
func (s *studio) stored() {
	s.t.Helper()
	var events, shots uint64
	for range 3000 {
		err := s.store.Conn().QueryRow(s.t.Context(), `SELECT (SELECT uniqExact(id) FROM visit_events), (SELECT count() FROM entries FINAL WHERE status IN ('counts', 'excluded'))`).Scan(&events, &shots)
		if err == nil && events == s.seq && shots == uint64(s.shots) {
			var verdicts uint64
			must(s.t, s.store.Conn().QueryRow(s.t.Context(), "SELECT (SELECT uniqExact(id) FROM verdicts)").Scan(&verdicts))
			if verdicts == 5 {
				var checked bool
				must(s.t, s.store.Conn().QueryRow(s.t.Context(),
					"SELECT count() = 1 FROM promises_checked WHERE verdict = 'v-build' AND outcome = 'carry' AND isNotNull(measured)").Scan(&checked))
				if checked {
					return
				}
			}
		}
		proof.Pause(s.t, 10*time.Millisecond)
	}
	s.t.Fatalf("never stored: %d of %d events, %d of %d shots", events, s.seq, shots, s.shots)
}

const (
	stated   = event.Knowledge_KNOWLEDGE_STATED
	measured = event.Knowledge_KNOWLEDGE_MEASURED
)

func num(f event.BuildField, k event.Knowledge, x float64) *event.Spec {
	return &event.Spec{Field: f, Knowledge: k, Number: x}
}

func txt(f event.BuildField, x string) *event.Spec { return &event.Spec{Field: f, Text: x} }

func sw(t *testing.T, text string) float64 {
	t.Helper()
	w, err := club.ParseSwingWeight(text)
	must(t, err)
	return w.Moment()
}

func ownDriver(t *testing.T) *event.Build {
	return &event.Build{Name: "own driver", ClubId: "", Gamer: true, Specs: []*event.Spec{
		txt(event.BuildField_BUILD_HEAD_MODEL, "Gannet"), num(event.BuildField_BUILD_STATED_LOFT, stated, 10.5),
		num(event.BuildField_BUILD_LENGTH, measured, 45.75*club.Inch),
		txt(event.BuildField_BUILD_SHAFT_MODEL, "Withy 50"), num(event.BuildField_BUILD_SWING_WEIGHT, measured, sw(t, "D5")),
		txt(event.BuildField_BUILD_GRIP_MODEL, "Kelp round"),
	}}
}

func chosenDriver(t *testing.T) *event.Build {
	return &event.Build{Name: "Fulmar <b>short</b>", ClubId: "TC-17", Specs: []*event.Spec{
		txt(event.BuildField_BUILD_HEAD_MODEL, "Fulmar"), num(event.BuildField_BUILD_STATED_LOFT, stated, 10.5),
		num(event.BuildField_BUILD_LOFT, measured, 9.9), num(event.BuildField_BUILD_LIE, measured, 58),
		num(event.BuildField_BUILD_HEAD_WEIGHT, measured, 0.200), txt(event.BuildField_BUILD_SHAFT_MODEL, "Osier 60"),
		num(event.BuildField_BUILD_SHAFT_WEIGHT, measured, 0.062), txt(event.BuildField_BUILD_FLEX, "S"),
		num(event.BuildField_BUILD_TIP_TRIM, stated, 0.5*club.Inch), num(event.BuildField_BUILD_LENGTH, measured, 45*club.Inch),
		txt(event.BuildField_BUILD_LENGTH_METHOD, "60° plane to the sole"),
		txt(event.BuildField_BUILD_GRIP_MODEL, "Kelp round"), num(event.BuildField_BUILD_GRIP_WEIGHT, stated, 0.050),
		num(event.BuildField_BUILD_SWING_WEIGHT, measured, sw(t, "D3")), num(event.BuildField_BUILD_TOTAL_WEIGHT, measured, 0.316),
		txt(event.BuildField_BUILD_HOSEL_SETTING, "neutral"),
	}}
}

var thisYear = time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)

// fill makes up two years: Ada's driver in 2025, her visit of 2026 with driver
// and irons, and a day with a wedge on which everything went wrong on paper.
func (s *studio) fill() {
	t := s.t
	own := swing{speed: 42, ball: 61, launch: 12, spin: 2900, carry: 205, carrySD: 8, direction: 1, directionSD: 4}
	s.begin("south", "v-25", "s-25", "driver", thisYear.AddDate(-1, 0, 0), "")
	s.say("", &event.SettingChanged{Place: "indoor", Surface: "mat", BallModel: "Pebble", BallClass: "premium"})
	s.say("", &event.TrialStarted{Trial: "t-25", Build: ownDriver(t)})
	slower := own
	slower.speed = 38
	s.hit(12, slower)
	s.say("", &event.SessionClosed{})

	s.begin("north", "v-26", "s-26", "driver", thisYear, "straighter & longer")
	s.say("", &event.SettingChanged{Place: "indoor", Surface: "mat", BallModel: "Pebble", BallClass: "premium"})
	s.say("", &event.TrialStarted{Trial: "t-own", Build: ownDriver(t)})
	ids := s.hit(15, own)
	s.say("", &event.FeelNoted{Trial: "t-own", Words: "heavy, late", Liking: -1})
	s.say("", &event.ShotsExcluded{ShotIds: ids[:1], Reason: "topped"})
	s.say("", &event.TrialStarted{Trial: "t-new", Build: chosenDriver(t)})
	s.hit(15, swing{speed: 42.3, ball: 63.5, launch: 13.5, spin: 2500, carry: 228, carrySD: 6, direction: 0.5, directionSD: 2})
	s.say("", &event.FeelNoted{Trial: "t-new", Words: "easy to <i>square</i>", Liking: 2})
	s.say("", &event.TrialStarted{Trial: "t-own2", Build: ownDriver(t)})
	s.hit(6, own)
	s.say("v-build", &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD, Trial: "t-new", Baseline: "t-own", Build: chosenDriver(t),
		Words: "as tested", Promises: []*event.Promise{
			{Outcome: "carry", Change: 9.144, Low: 4.572, High: 13.716, ProbabilityBetter: 0.999},
			{Outcome: "direction", Change: math.Log(0.6), Low: math.Log(0.4), High: math.Log(0.9), ProbabilityBetter: 0.98}}})
	s.say("", &event.SessionClosed{})

	s.session = "s-26i"
	s.say("", &event.SessionOpened{Player: "p-ada", Hand: event.Hand_HAND_RIGHT, Category: "iron", Fitter: "f-rowan"})
	s.say("", &event.TrialStarted{Trial: "t-7", Build: &event.Build{Name: "own seven", Gamer: true}})
	seven := swing{speed: 35, ball: 48, launch: 17, spin: 6400, carry: 140, carrySD: 6, directionSD: 3}
	s.hit(8, seven)
	s.say("", &event.TrialStarted{Trial: "t-7b",
		Build: &event.Build{Name: "Puffin seven", Specs: []*event.Spec{num(event.BuildField_BUILD_LIE, measured, 63)}}})
	s.hit(8, seven)
	s.say("v-keep", &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_KEEP_GAMER, Trial: "t-7", Words: "no gain seen"})
	s.say("", &event.SessionClosed{})

	s.begin("south", "v-27", "s-27", "wedge", thisYear.AddDate(0, 1, 0), "")
	s.say("", &event.TrialStarted{Trial: "t-w", Build: &event.Build{Name: "own wedge", Gamer: true,
		Specs: []*event.Spec{txt(event.BuildField_BUILD_HEAD_MODEL, "Tern"), num(event.BuildField_BUILD_LOFT, stated, 54)}}})
	s.hit(3, swing{speed: 30, ball: 36, launch: 28, spin: 9000, carry: 80, carrySD: 3, directionSD: 2})
	heavy := &event.Build{Name: "Tern heavy", Specs: []*event.Spec{txt(event.BuildField_BUILD_HEAD_MODEL, "Tern"),
		num(event.BuildField_BUILD_LOFT, measured, 56), num(event.BuildField_BUILD_STATED_LOFT, stated, 54),
		num(event.BuildField_BUILD_HEAD_WEIGHT, measured, 0.320), num(event.BuildField_BUILD_SHAFT_WEIGHT, measured, 0.115),
		num(event.BuildField_BUILD_GRIP_WEIGHT, measured, 0.050),
		num(event.BuildField_BUILD_LENGTH, measured, 35.5*club.Inch), num(event.BuildField_BUILD_SWING_WEIGHT, stated, sw(t, "C8")),
		num(event.BuildField_BUILD_TOTAL_WEIGHT, stated, 0.450)}}
	s.say("", &event.TrialStarted{Trial: "t-w2", Build: heavy})
	s.say("v-void", &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD, Trial: "t-w2", Build: heavy})
	s.say("", &event.Voided{Event: "v-void", Reason: "wrong trial"})
	s.say("v-amend", &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD, Trial: "t-w2", Baseline: "t-w", Build: heavy})
	right := proto.Clone(heavy).(*event.Build)
	right.Specs[3].Number = 0.305
	s.say("", &event.BuildAmended{Trial: "t-w2", Build: right})
	s.say("v-later", &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_TEST_AGAIN, Trial: "t-w2"})
	s.say("", &event.SessionClosed{})

	// The driver is delivered, and hit beside the own club.
	s.begin("north", "v-28", "s-28", "driver", thisYear.AddDate(0, 2, 0), "")
	s.say("", &event.SettingChanged{Place: "indoor", Surface: "mat", BallModel: "Pebble", BallClass: "premium"})
	s.say("", &event.TrialStarted{Trial: "t-own28", Build: ownDriver(t)})
	s.hit(10, own)
	s.say("", &event.TrialStarted{Trial: "t-check", Build: chosenDriver(t)})
	s.hit(10, swing{speed: 42.3, ball: 63.5, launch: 13.5, spin: 2500, carry: 215, carrySD: 7, direction: 0.5, directionSD: 2})
	s.say("", &event.HitChecked{Verdict: "v-build", Trial: "t-check", Build: chosenDriver(t)})
	s.say("", &event.SessionClosed{})
	s.stored()
}

// has fails for each text that a page does not hold.
func has(t *testing.T, what, page string, texts ...string) {
	t.Helper()
	for _, x := range texts {
		if !strings.Contains(page, x) {
			t.Errorf("%s does not say %q", what, x)
		}
	}
}

func hasNot(t *testing.T, what, page string, texts ...string) {
	t.Helper()
	for _, x := range texts {
		if strings.Contains(page, x) {
			t.Errorf("%s says %q", what, x)
		}
	}
}
