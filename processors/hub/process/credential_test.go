package process

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// A bay's credential is stolen: with it nobody speaks for another bay, nobody
// writes visit events, listens in or looks at the log; once it is revoked its
// holder is cut off, the bay keeps its shots, and a new one lets it go on.
func TestAStolenCredential(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{keys: true})
	y, z := b.bay("north"), b.bay("quay")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(10)
	z.hit(10)
	b.whole()

	thief, js, err := stream.Connect(b.link(stream.BayCredential("north"), y.place))
	if err != nil {
		t.Fatal(err)
	}
	b.stop = append(b.stop, thief.Close)
	b.until("the thief is connected", thief.IsConnected)
	forged := z.rogue(11, func(e *event.Entry) { e.Device = "thief" })
	for _, subject := range []string{z.place.ShotsSubject(), y.place.VisitsSubject(), z.place.HealthSubject(), "$JS.API.STREAM.DELETE.SHOTS"} {
		if err := thief.Publish(subject, forged); err != nil {
			t.Fatal(err)
		}
	}
	if err := thief.Flush(); err != nil {
		t.Fatal(err)
	}
	if sub, err := thief.SubscribeSync("shots.>"); err == nil {
		z.hit(1)
		if m, err := sub.NextMsg(500 * time.Millisecond); err == nil {
			t.Errorf("the thief hears %s", m.Subject)
		}
	}
	if _, err := js.Stream(shortly(t), stream.Shots); err == nil {
		t.Error("the thief sees the log")
	}
	// What it says of its own bay in another's name is set aside.
	if _, err := js.Publish(shortly(t), y.place.ShotsSubject(), forged); err != nil {
		t.Fatal(err)
	}
	b.until("a forged entry is set aside", func() bool { return b.metric("fairlead_process_messages_set_aside_total", "foreign") == 1 })
	if n := b.count("SELECT count() FROM entries WHERE device = 'thief'"); n != 0 {
		t.Errorf("%d entries of the thief", n)
	}
	b.whole()

	if err := os.Remove(filepath.Join(b.keyring.Dir, stream.BayCredential("north")+".pub")); err != nil {
		t.Fatal(err)
	}
	b.until("the key is cut off", func() bool { return !thief.IsConnected() })
	y.hit(7) // the bay itself is cut off too, and loses nothing
	z.hit(7)
	z.arrived()
	if y.stored() != 10 {
		t.Errorf("%d shots stored of a bay whose key was revoked, want 10", y.stored())
	}
	y.stop()
	if err := os.Remove(b.keyring.SeedFile(stream.BayCredential("north"))); err != nil {
		t.Fatal(err)
	}
	if err := b.keyring.Ensure(stream.Grant{Name: stream.BayCredential("north"), Role: stream.RoleBay, Studio: b.studio,
		Bay: "north"}); err != nil {
		t.Fatal(err)
	}
	y.start()
	b.whole()
	if thief.IsConnected() {
		t.Error("the thief came back")
	}
}

func shortly(t *testing.T) context.Context {
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	t.Cleanup(cancel)
	return ctx
}
