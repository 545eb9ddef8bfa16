package process

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"
	"github.com/prometheus/client_golang/prometheus"

	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/answers"
	"fairlead/processors/hub/group"
	"fairlead/processors/hub/store"
	"fairlead/processors/sim"
	"fairlead/processors/visit"
)

// road is a way to the head office that can be cut.
type road struct {
	listener net.Listener

	mu    sync.Mutex
	cut   bool
	conns map[net.Conn]bool
}

func newRoad(t *testing.T, to func() string) *road {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	w := &road{listener: l, conns: map[net.Conn]bool{}}
	var running sync.WaitGroup
	running.Go(func() {
		for {
			in, err := l.Accept()
			if err != nil {
				return
			}
			out, err := net.Dial("tcp", to())
			if err != nil || !w.keep(in, out) {
				in.Close()
				if out != nil {
					out.Close()
				}
				continue
			}
			for _, way := range [][2]net.Conn{{in, out}, {out, in}} {
				running.Go(func() { io.Copy(way[0], way[1]); in.Close(); out.Close() })
			}
		}
	})
	t.Cleanup(func() { l.Close(); w.set(true); running.Wait() })
	return w
}

func (w *road) keep(conns ...net.Conn) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, c := range conns {
		w.conns[c] = true
	}
	return !w.cut
}

// set cuts the way, or lets it be.
func (w *road) set(cut bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.cut = cut
	if cut {
		for c := range w.conns {
			c.Close()
		}
		clear(w.conns)
	}
}

// forwarding is a studio's process that sends to its head office.
type forwarding struct {
	b    *bench
	link stream.Link
	keys *group.Pseudonyms
	stop func()
	// every is how often its store is looked at, bytes what it may send a second.
	every time.Duration
	bytes int64

	mu    sync.Mutex
	state group.State
}

func (f *forwarding) start() {
	f.b.t.Helper()
	r := prometheus.NewRegistry()
	f.stop = f.b.run(func(ctx context.Context) error {
		nc, js, err := stream.Connect(f.link)
		if err != nil {
			return err
		}
		defer nc.Close()
		return group.Run(ctx, group.Options{Studio: f.b.studio, Store: f.b.store, Conn: nc, JS: js, Persons: f.keys, Bytes: f.bytes,
			Every: f.every, Begin: f.told(), Keep: func(s group.State) { f.mu.Lock(); f.state = s; f.mu.Unlock() },
			Logger: f.b.log, Registry: r})
	})
}

func (f *forwarding) told() group.State {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.state
}

// forward makes a studio's way to its head office.
func forward(b, head *bench, w *road) *forwarding {
	b.t.Helper()
	keys, err := group.OpenPseudonyms(b.dir + "/pseudonyms.key")
	if err != nil {
		b.t.Fatal(err)
	}
	return &forwarding{b: b, keys: keys, every: 250 * time.Millisecond, bytes: 1 << 20,
		link: stream.Link{URL: "nats://" + w.listener.Addr().String(), Name: "forward", Clear: true,
			Inside: true, Far: true, SeedFile: head.keyring.SeedFile(stream.StudioCredential(b.studio)), Inbox: "_INBOX_studio",
			Logger: slog.New(slog.DiscardHandler)}}
}

// merged waits until studio and head office have the same rows by table and day.
func (f *forwarding) merged(head *bench) {
	f.b.t.Helper()
	var m group.Merge
	defer func() {
		if f.b.t.Failed() {
			var text strings.Builder
			m.WriteText(&text)
			f.b.t.Log(text.String(), f.told())
		}
	}()
	proof.Until(f.b.t, f.b.studio+" and its head office have the same", func() bool {
		// Sums cost the store more than what they wait for.
		if s := f.told(); s.Entries+s.Events > 0 || s.Trouble != "" || !proof.Rest(f.b.t.Context(), 400*time.Millisecond) {
			return false
		}
		own, err := f.b.store.DaySums(f.b.t.Context(), f.b.studio)
		if err != nil {
			return false
		}
		there, err := head.store.DaySums(f.b.t.Context(), f.b.studio)
		m = group.Compare(f.b.studio, own, there)
		return err == nil && len(own) > 0 && m.Alike()
	})
}

// Studios with bays and devices of the same names work alone, and then send
// to one head office while the way is cut, its broker is killed, its hub and the
// senders end: both sides end with the same rows, by count and by sum of each day,
// each once. Whom a studio forgets its head office forgets too, and says so. No
// line of a device, no name and no pseudonym of a studio's leaves it.
func TestStudiosReachTheirHeadOffice(t *testing.T) {
	t.Parallel()
	names := []string{"harbour-row", "mill-lane", "stone-quay"}[:proof.Cases(2, 3)]
	head := newBench(t, setup{studio: "head", keys: true, studios: names})
	head.startHub()
	w := newRoad(t, func() string { return head.broker.listen })
	var all []*forwarding
	for _, name := range names {
		b := newBench(t, setup{studio: name})
		b.bay("north")
		b.startHub()
		b.bays[0].day()
		all = append(all, forward(b, head, w))
	}
	first := all[0].b
	backUp := all[1].b.bays[0].backUp()
	y := first.bays[0]
	y.say(&event.VisitEvent{Session: "s-ada", Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{
		Player: "p-ada", Fitter: "f-finn", Hand: event.Hand_HAND_LEFT, Category: "iron", PoolingConsent: true, Aim: "softer-landing-words"}}})
	y.say(&event.VisitEvent{Session: "s-ada", Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "t-ada",
		Build: &event.Build{Name: "adas-own", Gamer: true}}}})
	y.hit(12)
	y.write("ada,wrote,this")
	y.arrived()
	y.say(&event.VisitEvent{Session: "s-ada", Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}})

	for _, f := range all {
		f.start()
	}
	proof.Until(t, "something was sent", func() bool { return all[0].told().Sent > 10 })
	w.set(true)
	head.broker.kill()
	for i, f := range all { // the studios work on
		f.b.bays[0].hit(5 + i)
	}
	head.broker.start()
	w.set(false)
	last := all[len(all)-1]
	last.stop()
	head.stopHub()
	last.start()
	head.startHub()
	for _, f := range all {
		f.b.bays[0].arrived()
		f.merged(head)
	}
	for _, f := range all {
		proof.Until(t, "nothing waits", func() bool { s := f.told(); return s.Entries+s.Events == 0 && s.Since.IsZero() })
	}
	for _, table := range []string{"entries", "trials", "verdicts", "visit_events"} {
		n := head.countOf("SELECT count() FROM " + table + " WHERE multiSearchAny(toString(tuple(*)), " +
			"['p-ada', 'f-finn', 'softer-landing-words', 'adas-own', 'ada,wrote'])")
		if n > 0 {
			t.Errorf("%s of the head office: %d rows hold what should have stayed in the studio", table, n)
		}
	}
	if n := head.countOf("SELECT uniqExact(player) FROM trials FINAL WHERE n > 0"); n != uint64(len(names)+1) {
		t.Errorf("%d players at the head office, want p1 of each studio as another one, and one more", n)
	}

	joinedPlayers(t, head, all[0], all[1])
	e := first.eraser()
	plan, err := e.Plan(t.Context(), "p-ada")
	if err != nil {
		t.Fatal(err)
	}
	if left, err := e.Run(t.Context(), plan); err != nil || left.Sum() != 0 {
		t.Fatalf("left %+v, %v", left, err)
	}
	proof.Until(t, "the head office has forgotten too", func() bool {
		return slices.Contains(slices.Collect(maps.Keys(all[0].told().Forgotten)), "p-ada")
	})
	there := all[0].keys.Of("p-ada")
	if held, err := head.store.Spoken(t.Context(), first.studio, there, []string{"s-ada"}); err != nil || held.Sum() != 0 {
		t.Errorf("the head office still holds %+v, %v", held, err)
	}
	if n := head.countOf("SELECT count() FROM fleet_joins WHERE player = '" + there + "'"); n > 0 {
		t.Errorf("%d rows say as whom a forgotten player was told of", n)
	}
	if joins, err := head.store.JoinEvents(t.Context()); err != nil || len(visit.JoinsOf(joins[first.studio])) > 0 {
		t.Errorf("the join of a forgotten player stands: %v, %v", joins, err)
	}
	all[0].merged(head)
	setBack(t, head, all[1])
	numbersGivenAgain(t, head, all[1], w, backUp)
	priorsComeBack(t, head, all[0], w)
}

// setBack has a studio go on from an older copy of its store, which lacks the newest
// records of its journals: the head office keeps what it has, each once, and both sides
// say what differs; what the studio hit since comes beside.
func setBack(t *testing.T, head *bench, f *forwarding) {
	f.stop()
	older := enginetest.New(t)
	s := store.New(older.Open(t))
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	from, err := clickhouse.ParseDSN(f.b.dsn)
	if err != nil {
		t.Fatal(err)
	}
	tables := []string{"entries", "visit_events"}
	for _, table := range tables {
		if err := s.Conn().Exec(t.Context(), fmt.Sprintf("INSERT INTO %[1]s SELECT * FROM %[2]s.%[1]s WHERE studio = '%[3]s' AND (journal, seq) "+
			"NOT IN (SELECT journal, max(seq) FROM %[2]s.%[1]s GROUP BY journal)", table, from.Auth.Database, f.b.studio)); err != nil {
			t.Fatal(err)
		}
	}
	rows := func() (out []store.DaySum) {
		t.Helper()
		sums, err := head.store.DaySums(t.Context(), f.b.studio)
		if err != nil {
			t.Fatal(err)
		}
		return sums
	}
	before := rows()
	own := f.b.store
	f.b.store = s
	f.start()
	proof.Until(t, "all of it was sent again", func() bool {
		s := f.told()
		return !s.SetBack.IsZero() && s.Entries+s.Events == 0 && s.Trouble == "" && strings.Contains(s.Line(time.Now()), "set back")
	})
	f.stop()
	if after := rows(); !slices.Equal(after, before) {
		t.Errorf("the head office had %v and has %v", before, after)
	}
	here, err := s.DaySums(t.Context(), f.b.studio)
	if err != nil {
		t.Fatal(err)
	}
	var text strings.Builder
	m := group.Compare(f.b.studio, here, rows())
	if err := m.WriteText(&text); err != nil || m.Alike() || !strings.Contains(text.String(), "not here any more") {
		t.Errorf("%s, %v", text.String(), err)
	}
	f.b.store = own
	f.start()
	f.merged(head)
}

// numbersGivenAgain has a studio begin anew from a back-up of before its head office was
// reached, and hit on until its bay's journal is past what the head office has of it: each
// number stands for two shots then, and the head office ends with both, each once.
func numbersGivenAgain(t *testing.T, head *bench, f *forwarding, w *road, backUp string) {
	f.stop()
	ids := func(of *bench, where string) (out string) {
		t.Helper()
		err := of.store.Conn().QueryRow(t.Context(), "SELECT concat(toString(count()), ' of ', toString(uniqExact(shot_id)), ' ', "+
			"toString(sum(cityHash64(shot_id, seq, content)))) FROM entries FINAL WHERE studio = '"+f.b.studio+"' AND "+where).Scan(&out)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	before := ids(head, "1")
	b := newBench(t, setup{studio: f.b.studio})
	if err := os.CopyFS(filepath.Join(b.dir, "journal-north"), os.DirFS(backUp)); err != nil {
		t.Fatal(err)
	}
	y := b.bay("north")
	b.startHub()
	const others = 50_000 // what the device writes next are other shots
	y.lines = others
	y.hit(f.b.bays[0].lines + 40)
	b.untilStored("the bay is past the numbers that the head office has", func() bool { return y.stored() >= y.lines-others })
	own, err := b.store.Journals(t.Context(), y.place)
	if err != nil {
		t.Fatal(err)
	}
	there, err := head.store.Journals(t.Context(), y.place)
	if err != nil {
		t.Fatal(err)
	}
	for journal, r := range own {
		if th := there[journal]; th.To == 0 || th.To >= r.To {
			t.Fatalf("journal %s: numbers up to %d here, %d there: none is used twice", journal, r.To, th.To)
		}
	}
	again := forward(b, head, w)
	again.keys, again.every = f.keys, 100*time.Millisecond
	held := func(by *bench) string {
		return fmt.Sprintf("shot_id IN (SELECT shot_id FROM %s.entries)", databaseOf(t, by))
	}
	again.start()
	b.until("the head office has what was hit under numbers given again", func() bool { return ids(head, held(b)) == ids(b, "1") })
	b.until("it is said that the studio was set back", func() bool {
		s := again.told()
		return !s.SetBack.IsZero() && len(s.Mended) > 0
	})
	if after := ids(head, held(f.b)); after != before {
		t.Errorf("of what was hit before the head office had %s and has %s", before, after)
	}
	again.stop()
}

func databaseOf(t *testing.T, b *bench) string {
	t.Helper()
	o, err := clickhouse.ParseDSN(b.dsn)
	if err != nil {
		t.Fatal(err)
	}
	return o.Auth.Database
}

// joinedPlayers has a player of two studios be told of as one by their consent in both,
// as two before, after it was taken back in one, and after the erasure in one.
func joinedPlayers(t *testing.T, head *bench, a, b *forwarding) {
	fleet := answers.New(head.store, answers.Options{})
	count := func() uint64 {
		t.Helper()
		for _, f := range []*forwarding{a, b} {
			f.merged(head)
		}
		mark, err := fleet.Refresh(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return head.countOf(fmt.Sprintf("SELECT uniqExact(player) FROM fleet_trials WHERE snapshot = %d", mark.Snapshot))
	}
	players := func(what string, want uint64) {
		t.Helper()
		if n := count(); n != want {
			t.Errorf("%s: %d players of the fleet, want %d", what, n, want)
		}
	}
	agree := func(f *forwarding, session string) string {
		return f.b.bays[0].say(&event.VisitEvent{Session: session, Who: "f-finn", Body: &event.VisitEvent_PlayerJoined{
			PlayerJoined: &event.PlayerJoined{Join: "j-2345"}}})
	}
	b.b.bays[0].say(&event.VisitEvent{Session: "s-ida", Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{
		Player: "p-ida", Hand: event.Hand_HAND_LEFT, Category: "iron", PoolingConsent: true}}})
	b.b.bays[0].say(&event.VisitEvent{Session: "s-ida", Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "t-ida",
		Build: &event.Build{Gamer: true}}}})
	b.b.bays[0].hit(12)
	b.b.bays[0].arrived()
	apart := count()
	if apart < 2 {
		t.Fatalf("%d players of the fleet without anybody's consent, want two or more", apart)
	}
	agree(a, "s-ada")
	players("consent in one studio", apart)
	there := agree(b, "s-ida")
	players("consent in both", apart-1)
	again := b.b.bays[0].say(voided(there))
	players("taken back in one", apart)
	b.b.bays[0].say(voided(again))
	players("and given again", apart-1)
	if n := head.countOf("SELECT uniqExact(player) FROM fleet_joins"); n != 2 {
		t.Errorf("%d players are told of under another id", n)
	}
}

// priorsComeBack has a head office's fleet be asked, and the studio take the answer
// over a way that is cut before and after: it has what came last, and says from when.
func priorsComeBack(t *testing.T, head *bench, f *forwarding, w *road) {
	made, err := sim.NewFleet(sim.FleetOptions{Players: 150, Seed: 9, Shots: 8, PerStudio: 50, Beside: true})
	if err != nil {
		t.Fatal(err)
	}
	to, err := store.OpenBlocks(head.dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer to.Close()
	if _, err := made.Write(t.Context(), to, nil); err != nil {
		t.Fatal(err)
	}
	asked, err := answers.New(head.store, answers.Options{}).Ask(t.Context(), answers.Question{Outcome: "carry",
		Filter: answers.Filter{Category: "driver"}}, answers.Asking{})
	if err != nil || asked.Refused != "" {
		t.Fatal(err, asked)
	}
	w.set(true)
	studio := answers.New(f.b.store, answers.Options{})
	fetch := func() (stop func()) {
		return f.b.run(func(ctx context.Context) error {
			nc, _, err := stream.Connect(f.link)
			if err != nil {
				return err
			}
			defer nc.Close()
			answers.Fetch(ctx, answers.FetchOptions{Studio: f.b.studio, Store: f.b.store, Conn: nc, Every: 200 * time.Millisecond,
				Logger: f.b.log})
			return nil
		})
	}
	told := func(what string, is func(p *answers.PriorsInUse) bool) {
		t.Helper()
		proof.Until(t, what, func() bool {
			p, err := studio.PriorsInUse(t.Context())
			return err == nil && is(p)
		})
	}
	stop := fetch()
	told("it is said that the head office can't be asked", func(p *answers.PriorsInUse) bool {
		return p.Asked.Trouble != "" && len(p.Lines) == 0
	})
	stop()
	w.set(false)
	stop = fetch()
	theirs := func(p *answers.PriorsInUse) bool {
		return len(p.Lines) == 1 && p.Lines[0].Office == "head" && p.Lines[0].Answer == asked.ID && p.Lines[0].Players == asked.Players &&
			p.Lines[0].Studios == asked.Studios && asked.Studios >= 3
	}
	told("the answer is here", func(p *answers.PriorsInUse) bool { return theirs(p) && p.Asked.Trouble == "" })
	stop()
	w.set(true)
	stop = fetch()
	told("cut off, it is used on", func(p *answers.PriorsInUse) bool {
		return theirs(p) && p.Asked.Trouble != "" && !p.Asked.Heard.IsZero()
	})
	stop()
	w.set(false)
}
