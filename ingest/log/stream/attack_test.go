package stream

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// studioUnderAttack is a broker with TLS and all identities of a studio, and one of another.
type studioUnderAttack struct {
	t       *testing.T
	broker  *Broker
	keyring *Keyring
	js      jetstream.JetStream // the process's
	keys    map[string]Grant

	mu    sync.Mutex
	heard map[string]int // by the process, by subject
	inbox int            // what reached somebody else's inbox
}

var north, south = Place{"harbour-row", "north"}, Place{"harbour-row", "south"}

func underAttack(t *testing.T) *studioUnderAttack {
	t.Helper()
	s := &studioUnderAttack{t: t, keyring: &Keyring{Dir: filepath.Join(t.TempDir(), "keys")}, keys: map[string]Grant{},
		heard: map[string]int{}}
	a, shows := certified(t)
	for _, g := range []Grant{
		{Name: "process", Role: RoleProcess}, {Name: "console", Role: RoleConsole, Studio: north.Studio},
		{Name: "tools", Role: RoleTools, Studio: north.Studio},
		{Name: "bay-north", Role: RoleBay, Studio: north.Studio, Bay: north.Bay},
		{Name: "bay-south", Role: RoleBay, Studio: south.Studio, Bay: south.Bay},
		{Name: "other-console", Role: RoleConsole, Studio: "mill-lane"}, {Name: "studio-stone-quay", Role: RoleStudio, Studio: "stone-quay"},
	} {
		if err := s.keyring.Ensure(g); err != nil {
			t.Fatal(err)
		}
		if _, err := s.keyring.Carry(g.Name, a.PEM()); err != nil {
			t.Fatal(err)
		}
		s.keys[g.Name] = g
	}
	layout := DefaultLayout()
	var err error
	if s.broker, err = StartBroker(BrokerOptions{Listen: "127.0.0.1:0", DataDir: t.TempDir(), Keyring: s.keyring,
		Layout: &layout, TLS: shows.Config()}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.broker.Stop)
	nc, js := s.as("process")
	s.js = js
	// A hub that answers whatever it is asked, with nothing: what made it a tool
	// of who asks.
	for _, subject := range []string{"hub.>", "health.*.*"} {
		if _, err := nc.Subscribe(subject, func(m *nats.Msg) {
			s.mu.Lock()
			s.heard[m.Subject]++
			s.mu.Unlock()
			if m.Reply != "" {
				m.Respond(nil)
			}
		}); err != nil {
			t.Fatal(err)
		}
	}
	southern, jsSouth := s.as("bay-south")
	if _, err := southern.Subscribe(south.InboxPrefix()+".private", func(*nats.Msg) { s.mu.Lock(); s.inbox++; s.mu.Unlock() }); err != nil {
		t.Fatal(err)
	}
	_, jsNorth := s.as("bay-north")
	_, jsConsole := s.as("console")
	flush(t, nc, southern)
	for range 3 {
		for _, do := range []func() (*jetstream.PubAck, error){
			func() (*jetstream.PubAck, error) {
				return jsNorth.Publish(t.Context(), north.ShotsSubject(), []byte("{}"))
			},
			func() (*jetstream.PubAck, error) {
				return jsSouth.Publish(t.Context(), south.ShotsSubject(), []byte("{}"))
			},
			func() (*jetstream.PubAck, error) { return jsConsole.Publish(t.Context(), north.VisitsSubject(), nil) },
		} {
			if _, err := do(); err != nil {
				t.Fatal(err)
			}
		}
	}
	return s
}

func (s *studioUnderAttack) as(name string) (*nats.Conn, jetstream.JetStream) {
	s.t.Helper()
	g := s.keys[name]
	inbox := g.Role.inbox()
	if g.Role == RoleBay {
		inbox = g.place().InboxPrefix()
	}
	l := Link{URL: "nats://" + address(s.broker), Name: name, SeedFile: s.keyring.SeedFile(name), Inbox: inbox}
	if g.Role == RoleTools || g.Role == RoleConsole {
		l.API = ToolsAPI
	}
	return connect(s.t, l)
}

func flush(t *testing.T, conns ...*nats.Conn) {
	t.Helper()
	for _, nc := range conns {
		if err := nc.Flush(); err != nil {
			t.Fatal(err)
		}
	}
}

// held counts what the log holds, by subject, and the streams.
func (s *studioUnderAttack) held() map[string]uint64 {
	s.t.Helper()
	out := map[string]uint64{}
	for _, name := range []string{Shots, Visits, "KV_" + Leases, "KV_" + People} {
		stream, err := s.js.Stream(s.t.Context(), name)
		if err != nil {
			s.t.Fatalf("stream %s: %v", name, err)
		}
		info, err := stream.Info(s.t.Context(), jetstream.WithSubjectFilter(">"))
		if err != nil {
			s.t.Fatal(err)
		}
		out["stream "+name] = 1
		maps.Copy(out, info.State.Subjects)
	}
	return out
}

// foreign are subjects that are nobody's to send to, by hand or by a reply.
func foreign(of Grant) (subjects []string) {
	for _, s := range []string{Shots, Visits, "KV_" + Leases, "KV_" + People} {
		for _, call := range []string{"STREAM.DELETE.", "STREAM.PURGE.", "STREAM.UPDATE.", "STREAM.MSG.DELETE.", "STREAM.SNAPSHOT.",
			"STREAM.RESTORE.", "STREAM.LEADER.STEPDOWN."} {
			subjects = append(subjects, api(call+s))
		}
	}
	subjects = append(subjects, api("META.LEADER.STEPDOWN"), "$SYS.REQ.SERVER.PING", "$SYS.REQ.SERVER.RELOAD", "hub.marks.mill-lane.console",
		south.ShotsSubject(), south.HealthSubject(), south.MarksSubject(), south.RepairSubject(), south.AskSubject(), south.DeskSubject(),
		south.InboxPrefix()+".private",
		"shots.mill-lane.one", "visits.mill-lane.one", "health.mill-lane.one", south.LiveSubject("state"), "$KV."+Leases+"."+south.String())
	if of.Role != RoleConsole || of.Studio != north.Studio {
		subjects = append(subjects, north.VisitsSubject())
	}
	if of.Role == RoleProcess { // asks bays, shows states and holds leases
		subjects = slices.DeleteFunc(subjects, func(s string) bool {
			return slices.Contains([]string{south.RepairSubject(), south.AskSubject(), south.LiveSubject("state"),
				"$KV." + Leases + "." + south.String()}, s)
		})
	}
	if of.Role == RoleConsole && of.Studio == north.Studio { // sets up its bays' devices
		subjects = slices.DeleteFunc(subjects, func(s string) bool { return s == south.DeskSubject() })
	}
	if of.Role == RoleTools { // asks bays for their heartbeat
		subjects = slices.DeleteFunc(subjects, func(s string) bool { return s == south.AskSubject() })
	}
	return subjects
}

// With each identity's key, everything is tried that is not its own to do:
// publishing, requests whose answer is to go elsewhere, and calls of the log.
func TestNoIdentityReachesBeyondItsOwn(t *testing.T) {
	s := underAttack(t)
	for _, name := range []string{"bay-north", "console", "tools", "other-console", "studio-stone-quay", "process"} {
		t.Run(name, func(t *testing.T) {
			settle(t, s)
			before := s.held()
			g := s.keys[name]
			nc, _ := s.as(name)
			asks := g.doors().ask
			tried := 0
			for _, to := range foreign(g) {
				if err := nc.Publish(to, nil); err != nil {
					t.Fatal(err)
				}
				for _, ask := range slices.Concat(asks, g.doors().follow) {
					ask = literal(local(ask))
					for _, data := range [][]byte{nil, []byte(`{"seq":1,"batch":10}`)} {
						if err := nc.PublishRequest(ask, to, data); err != nil {
							t.Fatal(err)
						}
						tried++
					}
				}
			}
			flush(t, nc)
			settle(t, s)
			after := s.held()
			for subject, n := range before {
				if after[subject] < n {
					t.Errorf("%s: %d, had %d", subject, after[subject], n)
				}
			}
			own := map[string][]string{"bay-north": {north.ShotsSubject()}, "console": {north.VisitsSubject()},
				"other-console":     {"visits.mill-lane.north", "visits.mill-lane.one"},
				"studio-stone-quay": {"shots.stone-quay.north", "visits.stone-quay.north"}}[name]
			for subject, n := range after {
				if n != before[subject] && !slices.Contains(own, subject) {
					t.Errorf("%s: %d messages, had %d", subject, n, before[subject])
				}
			}
			s.mu.Lock()
			defer s.mu.Unlock()
			for _, subject := range []string{south.HealthSubject(), south.MarksSubject(), "health.mill-lane.one"} {
				if s.heard[subject] > 0 {
					t.Errorf("the hub hears %d times %s", s.heard[subject], subject)
				}
			}
			if s.inbox > 0 {
				t.Errorf("%d messages in another bay's inbox", s.inbox)
			}
			t.Logf("%d requests with a foreign reply, %d foreign subjects", tried, len(foreign(g)))
		})
	}
}

// literal gives a subject that a pattern covers, for a bay named north.
func literal(pattern string) string {
	parts := strings.Split(pattern, ".")
	for i, part := range parts {
		if part == "*" || part == ">" {
			parts[i] = north.Bay
		}
	}
	return strings.Join(parts, ".")
}

// settle waits until everything sent before has been worked through: the
// connections' messages are handled in order, and a bay's own message goes the
// whole way after them.
func settle(t *testing.T, s *studioUnderAttack) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	nc, js := s.as("bay-south")
	_, console := s.as("console")
	for i := range 3 {
		if _, err := nc.RequestWithContext(ctx, ClockSubject, nil); err != nil {
			t.Fatalf("the hub does not answer any more: %v", err)
		}
		if _, err := js.Publish(ctx, south.ShotsSubject(), []byte("{}"), jetstream.WithMsgID("settled")); err != nil {
			t.Fatalf("round %d: a bay can't publish any more: %v", i, err)
		}
		if _, err := console.Publish(ctx, north.VisitsSubject(), nil, jetstream.WithMsgID("settled")); err != nil {
			t.Fatalf("round %d: the console can't publish any more: %v", i, err)
		}
	}
}

// Nobody hears what is not meant for it.
func TestNoIdentityListensIn(t *testing.T) {
	s := underAttack(t)
	process, _ := s.as("process")
	for _, name := range []string{"bay-north", "other-console"} {
		nc, _ := s.as(name)
		overheard := make(chan string, 100)
		for _, pattern := range []string{">", "*.>", "shots.>", "visits.>", "health.>", "live.>", "hub.>", "_INBOX.>", "_INBOX_process.>",
			"_R_.>", "$JS.>", "$KV.>", "$SYS.>",
			"repair.harbour-row.south", "ask.harbour-row.south", south.InboxPrefix() + ".>"} {
			if _, err := nc.Subscribe(pattern, func(m *nats.Msg) { overheard <- m.Subject }); err != nil {
				t.Fatal(err)
			}
		}
		flush(t, nc)
		if err := process.Publish(south.LiveSubject("state"), []byte("x")); err != nil {
			t.Fatal(err)
		}
		if err := process.PublishRequest(south.RepairSubject(), "_INBOX_process.x", nil); err != nil {
			t.Fatal(err)
		}
		flush(t, process)
		settle(t, s)
		flush(t, nc)
		select {
		case subject := <-overheard:
			t.Errorf("%s hears %s", name, subject)
		default:
		}
	}
}

// Tools read the log; what a reader could have the log send elsewhere, they can't.
func TestToolsReadAndNothingElse(t *testing.T) {
	s := underAttack(t)
	nc, js := s.as("tools")
	c, err := js.OrderedConsumer(t.Context(), Shots, jetstream.OrderedConsumerConfig{FilterSubjects: []string{south.ShotsSubject()}})
	if err != nil {
		t.Fatal(err)
	}
	it, err := c.Messages()
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if _, err := it.Next(jetstream.NextMaxWait(20 * time.Second)); err != nil {
			t.Fatal(err)
		}
	}
	it.Stop()
	read := 0
	_, console := s.as("console")
	if err := Scan(t.Context(), console, Visits, "visits.harbour-row.*", time.Now().Add(-time.Hour),
		func(*nats.Msg) error { read++; return nil }); err != nil || read != 3 {
		t.Errorf("the console reads %d visit events: %v", read, err)
	}
	settle(t, s)
	before := s.held()
	push, err := json.Marshal(map[string]any{"stream_name": Visits, "config": map[string]any{
		"deliver_subject": south.ShotsSubject(), "deliver_policy": "all", "ack_policy": "none", "name": "thief",
		"inactive_threshold": int64(time.Minute)}})
	if err != nil {
		t.Fatal(err)
	}
	_, err = nc.Request(fmt.Sprintf("LOG.API.CONSUMER.CREATE.%s.thief", Visits), push, 5*time.Second)
	if err != nil {
		t.Fatal(err)
	}
	settle(t, s)
	after := s.held()
	for subject, n := range before {
		if after[subject] != n {
			t.Errorf("%s: %d, had %d", subject, after[subject], n)
		}
	}
}

// What a bay says of itself is heard where its studio looks, and nowhere else:
// by the hub, the studio's console and tools.
func TestHeartbeatsAreHeardInTheStudio(t *testing.T) {
	s := underAttack(t)
	heard := make(chan string, 100)
	for _, name := range []string{"console", "tools", "other-console"} {
		nc, _ := s.as(name)
		if _, err := nc.Subscribe("health.*.*", func(m *nats.Msg) { heard <- name + " " + m.Subject + " " + string(m.Data) }); err != nil {
			t.Fatal(err)
		}
		flush(t, nc)
	}
	bay, _ := s.as("bay-north")
	if err := bay.Publish(north.HealthSubject(), []byte("alive")); err != nil {
		t.Fatal(err)
	}
	flush(t, bay)
	want := map[string]bool{"console " + north.HealthSubject() + " alive": true, "tools " + north.HealthSubject() + " alive": true}
	for len(want) > 0 {
		select {
		case got := <-heard:
			if !want[got] {
				t.Fatalf("heard %q, which is not awaited or came twice", got)
			}
			delete(want, got)
		case <-time.After(20 * time.Second):
			t.Fatalf("not heard: %v", want)
		}
	}
	settle(t, s)
	select {
	case got := <-heard:
		t.Errorf("%q was heard too", got)
	default:
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.heard[north.HealthSubject()] != 1 {
		t.Errorf("the hub heard the heartbeat %d times", s.heard[north.HealthSubject()])
	}
}

// The studio's console sets up its bays' devices, and nobody else does.
func TestTheConsoleAloneAsksADesk(t *testing.T) {
	s := underAttack(t)
	bay, _ := s.as("bay-north")
	if _, err := bay.Subscribe(north.DeskSubject(), func(m *nats.Msg) { m.Respond([]byte("from " + north.Bay)) }); err != nil {
		t.Fatal(err)
	}
	flush(t, bay)
	console, _ := s.as("console")
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	if m, err := console.RequestWithContext(ctx, north.DeskSubject(), nil); err != nil || string(m.Data) != "from north" {
		t.Fatalf("the console: %v, %v", m, err)
	}
	for _, name := range []string{"tools", "process", "other-console", "bay-south"} {
		nc, _ := s.as(name)
		if m, err := nc.Request(north.DeskSubject(), nil, 300*time.Millisecond); err == nil {
			t.Errorf("%s was answered %q", name, m.Data)
		}
	}
}
