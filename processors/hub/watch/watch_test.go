package watch

import (
	"context"
	"errors"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/processors/hub/health"
)

// said keeps what a sender was asked to tell; broken: it can't.
type said struct {
	name     string
	messages []Message
	broken   bool
}

func (s *said) Name() string { return s.name }

func (s *said) Send(_ context.Context, m Message) error {
	if s.broken {
		return errors.New("no way out")
	}
	s.messages = append(s.messages, m)
	return nil
}

// scene is a watch over alarms that the test sets, in synctest's time.
type scene struct {
	file   string
	alarms []Alarm
	quiet  string
}

func (s *scene) run(t *testing.T, senders ...Sender) (stop func()) {
	t.Helper()
	quiet, err := ParseHours(s.quiet)
	if err != nil {
		t.Fatal(err)
	}
	w, err := New(Options{Studio: "harbour-row", File: s.file, Look: func(context.Context) []Alarm { return s.alarms }, Senders: senders,
		Quiet: quiet, Now: func() time.Time { return time.Now().UTC() }, Logger: slog.New(slog.DiscardHandler),
		Registry: prometheus.NewRegistry(), Every: 5 * time.Second})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); w.Run(ctx) }()
	return func() { cancel(); <-done }
}

func passes(d time.Duration) {
	<-time.After(d) // of a synctest bubble
	synctest.Wait()
}

var silent = Alarm{"bay north", "silent", "nothing heard", Critical}
var skewed = Alarm{"bay south", "skew", "the clock is off", Warning}

func TestPeopleAreToldOnceAndWhenItIsOver(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &scene{file: filepath.Join(t.TempDir(), "watch.json"), alarms: []Alarm{silent}}
		people := &said{name: "people"}
		stop := s.run(t, people)
		passes(10 * time.Second)
		s.alarms = []Alarm{silent, skewed}
		passes(40 * time.Minute)
		if len(people.messages) != 2 || people.messages[0].Began[0].Where != "bay north" || people.messages[1].Began[0].Where != "bay south" {
			t.Fatalf("said %+v", people.messages)
		}
		// Who begins again says nothing twice, though it has to find it all anew.
		stop()
		s.alarms = nil
		stop = s.run(t, people)
		passes(40 * time.Second)
		s.alarms = []Alarm{silent, skewed}
		passes(40 * time.Minute)
		if len(people.messages) != 2 {
			t.Fatalf("after a restart: %+v", people.messages[2:])
		}
		s.alarms = nil
		passes(time.Minute)
		stop()
		last := people.messages[len(people.messages)-1]
		if len(people.messages) != 3 || len(last.Resolved) != 2 || !strings.Contains(last.Text, "Resolved: bay north, silent") {
			t.Fatalf("said %+v", people.messages[2:])
		}
	})
}

func TestWhatComesTogetherIsToldTogether(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &scene{file: filepath.Join(t.TempDir(), "watch.json"), alarms: []Alarm{silent, skewed}}
		people := &said{name: "people"}
		defer s.run(t, people)()
		passes(90 * time.Second)
		if len(people.messages) != 1 || len(people.messages[0].Began) != 2 ||
			people.messages[0].Subject() != "harbour-row: bay north: silent, bay south: skew" {
			t.Errorf("said %+v", people.messages)
		}
	})
}

func TestWhatMendsItselfOrFlutters(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &scene{file: filepath.Join(t.TempDir(), "watch.json"), alarms: []Alarm{silent}}
		people := &said{name: "people"}
		defer s.run(t, people)()
		passes(10 * time.Second)
		s.alarms = nil
		passes(5 * time.Minute)
		if len(people.messages) != 0 {
			t.Errorf("ten seconds of trouble were told: %+v", people.messages)
		}
		for range 10 {
			s.alarms = []Alarm{silent}
			passes(25 * time.Second)
			s.alarms = nil
			passes(15 * time.Second)
		}
		if len(people.messages) != 1 {
			t.Errorf("one flutter, %d messages", len(people.messages))
		}
	})
}

func TestQuietHoursKeepWarningsForTheMorning(t *testing.T) {
	synctest.Test(t, func(t *testing.T) { // begins at midnight UTC
		s := &scene{file: filepath.Join(t.TempDir(), "watch.json"), alarms: []Alarm{skewed}, quiet: "22:00-07:00"}
		people := &said{name: "people"}
		defer s.run(t, people)()
		passes(6*time.Hour + 30*time.Minute)
		if len(people.messages) != 0 {
			t.Fatalf("at night: %+v", people.messages)
		}
		s.alarms = append(s.alarms, silent)
		passes(time.Minute)
		if len(people.messages) != 1 || len(people.messages[0].Began) != 1 || people.messages[0].Began[0].Where != "bay north" {
			t.Fatalf("what is critical is told at night, and only that: %+v", people.messages)
		}
		passes(40 * time.Minute)
		if len(people.messages) != 2 || people.messages[1].Began[0].Where != "bay south" {
			t.Errorf("in the morning: %+v", people.messages)
		}
	})
}

func TestOneSenderThatFailsKeepsNoOtherBack(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &scene{file: filepath.Join(t.TempDir(), "watch.json"), alarms: []Alarm{silent}}
		one, other := &said{name: "one", broken: true}, &said{name: "other"}
		defer s.run(t, one, other)()
		passes(time.Minute)
		if len(other.messages) != 1 {
			t.Fatalf("the other said %d", len(other.messages))
		}
		one.broken = false
		passes(time.Minute)
		if len(one.messages) != 1 || len(other.messages) != 1 {
			t.Errorf("later: %d and %d messages", len(one.messages), len(other.messages))
		}
	})
}

func TestTheCauseIsNamedAndNotWhatFollows(t *testing.T) {
	at := time.Now()
	silence := []health.Alarm{{Bay: "north", What: "silent", Text: "nothing heard"}, {Bay: "south", What: "skew", Text: "off"}}
	stuck := func(where string) []Alarm { return []Alarm{{where, Stuck, "hangs", Critical}} }
	for name, c := range map[string]struct {
		seen Seen
		want string
	}{
		"a bay is silent":  {Seen{Bays: silence, Open: true}, "bay north silent, bay south skew"},
		"the broker hangs": {Seen{Bays: silence, Hub: stuck(Broker), Open: true}, "broker stuck, bay south skew"},
		"the engine hangs": {Seen{Hub: append(stuck(Engine), Alarm{Process, Stuck, idle + " (bays: no progress)", Critical},
			Alarm{"bay north", "behind", "waits", Warning}), Open: true}, "engine stuck"},
		"engine and processor hang": {Seen{Hub: append(stuck(Engine), stuck(Process)...), Open: true}, "engine stuck, process stuck"},
		"the log is full": {Seen{Hub: []Alarm{{Broker, "full", "no room", Critical}, {Process, Stuck, idle + " (bays: no progress)", Critical}},
			Bays: []health.Alarm{{Bay: "north", What: "late"}}, Open: true}, "broker full"},
		"the processor hangs":  {Seen{Hub: stuck(Process), Open: true}, "process stuck"},
		"the studio is closed": {Seen{Bays: silence}, "bay south skew"},
		"the studio opens": {Seen{Bays: append([]health.Alarm{{Bay: "quay", What: "silent", Heard: at.Add(-5 * time.Minute)}}, silence...),
			Open: true, Opened: at.Add(-10 * time.Minute)}, "bay quay silent, bay south skew"},
		"a PC stays off": {Seen{Bays: silence, Open: true, Opened: at.Add(-20 * time.Minute)}, "bay north silent, bay south skew"},
		"switched off in trouble": {Seen{Bays: []health.Alarm{{Bay: "north", What: "silent"}, {Bay: "north", What: "feed"},
			{Bay: "north", What: "late"}, {Bay: "north", What: "low"}, {Bay: "south", What: "feed"}}}, "bay north low, bay south feed"},
		"its key was revoked": {Seen{Bays: silence, Hub: []Alarm{{"bay north", Revoked, "refused", Critical}}, Open: true},
			"bay north revoked, bay south skew"},
		"the console hangs": {Seen{Bays: []health.Alarm{{Bay: "console", What: "silent"}}, Hub: stuck(Console), Open: true},
			"console stuck"},
		"the watch has just begun": {Seen{Bays: silence, Open: true, Since: at.Add(-10 * time.Second)}, "bay south skew"},
	} {
		c.seen.At = at
		if c.seen.Since.IsZero() {
			c.seen.Since = at.Add(-time.Hour)
		}
		var got []string
		for _, a := range c.seen.Causes() {
			got = append(got, a.Where+" "+a.What)
		}
		if strings.Join(got, ", ") != c.want {
			t.Errorf("%s: %v, want %s", name, got, c.want)
		}
	}
}

func TestHours(t *testing.T) {
	at := func(clock string) time.Time {
		x, err := time.Parse("15:04", clock)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	for text, holds := range map[string]map[string]bool{
		"22:00-07:00": {"23:10": true, "00:00": true, "06:59": true, "07:00": false, "12:00": false, "21:59": false, "22:00": true},
		"8:00-20:30":  {"07:59": false, "08:00": true, "20:29": true, "20:30": false},
		"":            {"12:00": false},
	} {
		h, err := ParseHours(text)
		if err != nil {
			t.Errorf("%s: %v", text, err)
		}
		for clock, want := range holds {
			if h.Hold(at(clock)) != want {
				t.Errorf("%s at %s: %v", text, clock, !want)
			}
			if begun := h.Began(at(clock)); want != !begun.IsZero() || want && (at(clock).Sub(begun) < 0 || at(clock).Sub(begun) >= 24*time.Hour ||
				!h.Hold(begun)) {
				t.Errorf("%s at %s began at %s", text, clock, begun)
			}
		}
	}
	for _, text := range []string{"22-7", "22:00", "25:00-07:00", "07:00-07:00", "at night"} {
		if _, err := ParseHours(text); err == nil {
			t.Errorf("%q was taken", text)
		}
	}
}
