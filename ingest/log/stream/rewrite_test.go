package stream

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// A stream that is written anew has its messages under their numbers, with a gap
// where one was lost and an id twice that was said twice; it is taken up by a
// broker with accounts, and nothing of what it said before is on the disk. Whatever
// renaming the power went at, the next call finishes.
func TestVisitsAreWrittenAnew(t *testing.T) {
	dir := t.TempDir()
	ctx := t.Context()
	js, stop, err := inside(dir)
	if err != nil {
		t.Fatal(err)
	}
	config := jetstream.StreamConfig{Name: Visits, Subjects: []string{"visits.*.*"}, Duplicates: leastWindow, AllowDirect: true}
	s, err := js.CreateStream(ctx, config)
	if err != nil {
		t.Fatal(err)
	}
	send := func(id, text string, seq uint64) {
		if err := published(ctx, js, Message{"visits.harbour.north", id, []byte(text)}.wire(), seq); err != nil {
			t.Fatal(err)
		}
	}
	for i := range 20 {
		send(fmt.Sprintf("j-%d-0", i+1), fmt.Sprintf("clear %d", i+1), uint64(i+1))
	}
	send("j-1-0", "clear 1", 21) // again, when nobody knew it any more
	send("j-22-0", "plain", 22)
	send("j-23-0", "clear to the end", 23)
	if err := errors.Join(s.DeleteMsg(ctx, 1), s.DeleteMsg(ctx, 7), s.DeleteMsg(ctx, 23)); err != nil {
		t.Fatal(err)
	}
	stop()
	broken := errors.New("broken")
	if _, err := RewriteVisits(ctx, dir, func(m Message) (Message, error) { return m, broken }); !errors.Is(err, broken) {
		t.Errorf("what can't be changed: %v", err)
	}
	seal := func(m Message) (Message, error) {
		if bytes.HasPrefix(m.Data, []byte("clear")) {
			m.Data, m.ID = append([]byte("sealed"), m.Data[5:]...), m.ID+"s"
		}
		return m, nil
	}
	// The power goes after the first renaming.
	w := rewriting{dir: dir, at: filepath.Join(dir, rewriteDir)}
	if w.from, err = w.find(); err != nil || w.from == "" {
		t.Fatal(w.from, err)
	}
	var r Rewritten
	began := time.Now()
	if err := w.build(ctx, seal, &r); err != nil || r.Changed != 19 || r.LastSeq != 23 {
		t.Fatalf("%+v, %v", r, err)
	}
	if err := os.WriteFile(w.whole(), []byte(w.from), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(w.from, w.old()); err != nil {
		t.Fatal(err)
	}
	again, err := RewriteVisits(ctx, dir, seal)
	if err != nil || again.Changed != 0 || again.LastSeq != 23 || time.Since(again.LastTime) > time.Hour {
		t.Fatalf("%+v, %v", again, err)
	}
	var got []string
	if err := LookAtVisits(ctx, dir, func(m Message) error { got = append(got, m.ID+"="+string(m.Data)); return nil }); err != nil ||
		len(got) != 20 || got[0] != "j-2-0s=sealed 2" || got[18] != "j-1-0s=sealed 1" || got[19] != "j-22-0=plain" {
		t.Errorf("%v %v", got, err)
	}
	// What the log says of its last message and the message itself agree, as the log watch asks.
	js, stop, err = inside(dir)
	if err != nil {
		t.Fatal(err)
	}
	s, err = js.Stream(ctx, Visits)
	if err != nil {
		t.Fatal(err)
	}
	last, err := s.GetMsg(ctx, 22)
	if err != nil || last.Time.Before(began) || len(last.Header[nats.JSTimeStamp]) > 1 {
		t.Errorf("message 22 is of %v, taken anew from %v on: %v, %v", last.Time, began, last.Header, err)
	}
	stop()
	keyring := Keyring{Dir: t.TempDir()}
	layout := DefaultLayout()
	b, err := StartBroker(BrokerOptions{Listen: "127.0.0.1:0", DataDir: dir, Keyring: &keyring, Layout: &layout})
	if err != nil {
		t.Fatal(err)
	}
	if b.Full(Visits) <= 0 {
		t.Error("the broker does not know the stream")
	}
	b.Stop()
	left := 0
	filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if text, _ := os.ReadFile(path); bytes.Contains(text, []byte("clear")) {
			t.Errorf("%s holds what was said", path)
		}
		left++
		return nil
	})
	if left == 0 {
		t.Error("nothing was looked at")
	}
}
