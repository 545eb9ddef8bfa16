package stream

import (
	"context"
	"log/slog"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"pgregory.net/rapid"

	"fairlead/deploy/proof"
)

// A meter with a clock of its own cuts off who is beyond the quota, and nobody who
// keeps below it, whenever it looks.
func TestTheMeterCutsOffWhoIsBeyondTheQuota(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		q := Quota{Messages: rapid.Int64Range(10, 10000).Draw(t, "messages"), Bytes: 1 << 40,
			AtOnce: time.Duration(rapid.IntRange(1, 120).Draw(t, "at once")) * time.Second}
		m := newMeter(q)
		places := map[string]Place{"a": north, "b": south}
		now := time.Unix(1e9, 0)
		m.look(now, nil, places)
		have := map[string]said{}
		owed, held := 0.0, time.Time{} // of a, by an account kept beside
		for range rapid.IntRange(1, 40).Draw(t, "looks") {
			passed := time.Duration(rapid.IntRange(1, 5000).Draw(t, "ms")) * time.Millisecond
			now = now.Add(passed)
			more := rapid.Int64Range(0, 4*q.Messages).Draw(t, "more")
			modest := int64(passed.Seconds() * float64(q.Messages) * 0.99)
			have["a"] = said{messages: have["a"].messages + more}
			have["b"] = said{messages: have["b"].messages + modest}
			cut := m.look(now, have, places)
			owed = max(0, owed-passed.Seconds()*float64(q.Messages)+float64(more))
			most := float64(q.Messages) * q.AtOnce.Seconds()
			want := owed > most+1e-6 && !now.Before(held)
			for _, f := range cut {
				if f.Place == south {
					t.Fatalf("who keeps below the quota was cut off")
				}
				held = f.Until
			}
			if got := len(cut) == 1; got != want && (owed-most > 1 || most-owed > 1) {
				t.Fatalf("cut off: %v, want %v: owes %.1f of %.1f", got, want, owed, most)
			}
			if len(cut) > 0 {
				owed = most - float64(q.Messages)
				if !m.bays["a"].until.After(now) || len(m.floods(now)) != 1 {
					t.Fatal("a flood is not told of")
				}
			}
		}
	})
}

// Each time is longer than the one before, up to a bound, and an hour in which all
// is well is forgotten.
func TestCutOffsGrowAndEnd(t *testing.T) {
	m := newMeter(Quota{Messages: 10, Bytes: 1 << 30, AtOnce: time.Second})
	places := map[string]Place{"a": north}
	now, total := time.Unix(1e9, 0), int64(0)
	m.look(now, nil, places)
	for i, want := range []time.Duration{firstPause, 2 * firstPause, 4 * firstPause, 8 * firstPause, 16 * firstPause, longestPause,
		longestPause} {
		total += 100_000
		cut := m.look(now, map[string]said{"a": {messages: total}}, places)
		if len(cut) != 1 || cut[0].Until.Sub(now) != want || cut[0].Times != i+1 {
			t.Fatalf("time %d: %+v, want %s", i, cut, want)
		}
		if g := m.without([]Grant{{Name: "bay-north", Role: RoleBay, Studio: "x", Bay: "y"}}, now); len(g) != 1 {
			t.Fatal("another bay is cut off")
		}
		now = cut[0].Until
	}
	now = now.Add(floodsFor + time.Second)
	m.look(now, map[string]said{"a": {messages: total}}, places)
	if f := m.floods(now); len(f) != 0 {
		t.Errorf("still told of: %+v", f)
	}
	cut := m.look(now.Add(time.Second), map[string]said{"a": {messages: total, connections: mostConnections + 1}}, places)
	if len(cut) != 1 || cut[0].Until.Sub(now.Add(time.Second)) != firstPause {
		t.Errorf("too many connections: %+v", cut)
	}
}

// A bay that says more than its quota is cut off by the broker, comes back after a
// while, and the bay beside it does not notice: its connection stands, its entries
// are taken all along.
func TestAFloodingBayIsCutOffAlone(t *testing.T) {
	k := &Keyring{Dir: filepath.Join(t.TempDir(), "keys")}
	for _, g := range []Grant{{Name: "bay-north", Role: RoleBay, Studio: north.Studio, Bay: north.Bay},
		{Name: "bay-south", Role: RoleBay, Studio: south.Studio, Bay: south.Bay}} {
		if err := k.Ensure(g); err != nil {
			t.Fatal(err)
		}
	}
	said := &lines{}
	layout, q := DefaultLayout(), Quota{Messages: 1000, Bytes: 1 << 20, AtOnce: 2 * time.Second}
	b, err := StartBroker(BrokerOptions{Listen: "127.0.0.1:0", DataDir: t.TempDir(), Keyring: k, Layout: &layout, NoSync: true,
		Quota: q, Logger: slog.New(slog.NewTextHandler(said, nil))})
	if err != nil {
		t.Fatal(err)
	}
	b.meter.pause = time.Second
	ctx, cancel := context.WithCancel(context.Background())
	var running sync.WaitGroup
	running.Go(func() { b.WatchKeys(ctx) })
	t.Cleanup(func() { cancel(); running.Wait(); b.Stop() })

	flood, _ := asBay(t, b, k.SeedFile("bay-north"), north)
	quiet, js := asBay(t, b, k.SeedFile("bay-south"), south)
	cutOff, back := make(chan struct{}, 16), make(chan struct{}, 16)
	flood.SetDisconnectErrHandler(func(*nats.Conn, error) { cutOff <- struct{}{} })
	flood.SetReconnectHandler(func(*nats.Conn) { back <- struct{}{} })
	junk := make([]byte, 512)
	running.Go(func() {
		for {
			for flood.IsConnected() {
				for range 200 {
					flood.Publish(north.ShotsSubject(), junk)
				}
				flood.FlushTimeout(2 * time.Second)
			}
			select {
			case <-back:
			case <-ctx.Done():
				return
			}
		}
	})
	taken, pace := 0, q.Pace()
	for again := 0; again < 2; {
		select {
		case <-cutOff:
			again++
		case <-time.After(time.Minute):
			t.Fatalf("cut off %d times in a minute, want 2", again)
		default:
			mine := Message{Subject: south.ShotsSubject(), Data: []byte("mine")}
			if err := pace.Wait(t.Context(), []Message{mine}); err != nil {
				t.Fatal(err)
			}
			if _, err := js.Publish(t.Context(), mine.Subject, mine.Data); err != nil {
				t.Fatalf("the other bay suffers: %v", err)
			}
			taken++
		}
	}
	if n := quiet.Stats().Reconnects; n != 0 || taken == 0 {
		t.Errorf("the other bay was cut off %d times, %d of its entries taken", n, taken)
	}
	if f := b.Floods(); len(f) != 1 || f[0].Place != north || f[0].Times < 2 {
		t.Errorf("told of: %+v", f)
	}
	if said.count("a bay says too much") < 2 {
		t.Error("the log does not say it")
	}
	flood.Close()
}

// A collector's pace stays below the quota whatever it has to send.
func TestThePaceKeepsBelowTheQuota(t *testing.T) {
	q := Quota{Messages: 2000, Bytes: 1 << 20, AtOnce: time.Second}
	p, m := q.Pace(), newMeter(q)
	batch := make([]Message, 256)
	for i := range batch {
		batch[i] = Message{Subject: north.ShotsSubject(), ID: "0123456789", Data: make([]byte, 300)}
	}
	places, total := map[string]Place{"a": north}, said{}
	m.look(time.Now(), nil, places)
	for range 12 {
		if err := p.Wait(t.Context(), batch); err != nil {
			t.Fatal(err)
		}
		total.messages += int64(len(batch))
		total.bytes += int64(len(batch) * 330)
		if cut := m.look(time.Now(), map[string]said{"a": total}, places); len(cut) > 0 {
			t.Fatalf("cut off after %d messages", total.messages)
		}
	}
	if err := (*Pace)(nil).Wait(t.Context(), batch); err != nil || (Quota{}).Pace() != nil {
		t.Error("no quota is a bound")
	}
}
