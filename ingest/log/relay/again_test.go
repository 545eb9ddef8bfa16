package relay

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairlead/ingest/log/stream"
)

// A broker that comes back without what it had acknowledged gets it again at once,
// from the same process and from the next one; one that still has all swallows it.
func TestWhatTheLogMayHaveLostIsSentAgain(t *testing.T) {
	l := &line{t: t, dir: t.TempDir()}
	data, copied := filepath.Join(l.dir, "broker"), filepath.Join(l.dir, "copy")
	listen := "127.0.0.1:0"
	var broker *stream.Broker
	start := func() {
		t.Helper()
		var err error
		if broker, err = stream.StartBroker(stream.BrokerOptions{Listen: listen, DataDir: data}); err != nil {
			t.Fatal(err)
		}
		listen = strings.TrimPrefix(broker.URL(), "nats://")
	}
	start()
	defer func() { broker.Stop() }()
	var err error
	if l.nc, l.js, err = stream.Connect(stream.Link{URL: broker.URL(), Name: "test"}); err != nil {
		t.Fatal(err)
	}
	defer l.nc.Close()
	if err := stream.Declare(t.Context(), l.js, stream.DefaultLayout()); err != nil {
		t.Fatal(err)
	}
	l.journal = l.open("journal")
	var p *Publisher
	stop := func() {}
	publish := func() {
		p = NewPublisher(l.journal, l.js, Entries(north), l.dir, metrics())
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() { p.Run(ctx); close(done) }()
		stop = func() { cancel(); <-done }
	}
	sent := func(n uint64) {
		t.Helper()
		l.until("the log holds what was recorded", func() bool {
			s, err := l.js.Stream(t.Context(), stream.Shots)
			left, _ := p.Unsent(time.Now())
			return err == nil && s.CachedInfo().State.Msgs == n && left == 0
		})
	}
	publish()
	defer func() { stop() }()
	record(t, l.journal, 1, 20)
	sent(20)
	broker.Stop()
	if err := os.CopyFS(copied, os.DirFS(data)); err != nil {
		t.Fatal(err)
	}
	start()
	record(t, l.journal, 21, 40)
	sent(40)
	setBack := func() {
		t.Helper()
		broker.Stop()
		if err := os.RemoveAll(data); err != nil {
			t.Fatal(err)
		}
		if err := os.CopyFS(data, os.DirFS(copied)); err != nil {
			t.Fatal(err)
		}
		start()
	}
	setBack()
	sent(40)
	stop()
	setBack()
	publish()
	sent(40)
	for _, seq := range []uint64{1, 20, 21, 40} {
		if e := l.entry(seq); e.Seq != seq {
			t.Errorf("message %d holds entry %d", seq, e.Seq)
		}
	}
}

// What is long since sent is not sent again, nor what the store confirmed.
func TestOnlyWhatIsInDoubtIsSentAgain(t *testing.T) {
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	tr := newTrail(map[string]uint64{"old": 7})
	for i := range uint64(300) { // one a second
		tr.mark("j", i+1, now.Add(time.Duration(i)*time.Second))
	}
	if from := tr.from("j", 0); from != 301 {
		t.Errorf("goes on at %d, want 301", from)
	}
	after := newTrail(tr.kept([]string{"j", "old"}))
	for name, tr := range map[string]*trail{"same process": tr, "next process": after} {
		tr.rewind()
		if from := tr.from("old", 0); from != 8 {
			t.Errorf("%s: what is long since sent goes on at %d, want 8", name, from)
		}
		if from := tr.from("j", 0); from < 178 || from > 181 {
			t.Errorf("%s: is sent again from %d on, want two minutes", name, from)
		}
		if from := tr.from("j", 290); from != 290 {
			t.Errorf("%s: is sent again from %d on, and the store has all below 290", name, from)
		}
		tr.mark("j", 295, now)
		if from := tr.from("j", 290); from != 296 {
			t.Errorf("%s: goes on at %d, want 296", name, from)
		}
		tr.mark("j", 300, now)
		if from := tr.from("j", 0); from != 301 {
			t.Errorf("%s: goes on at %d, want 301", name, from)
		}
	}
}
