package stream

import (
	"context"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"fairlead/deploy/proof"
)

// A connection goes where the log answers: not to a node that takes connections
// and knows of no log, and not away from one that does.
func TestSeekGoesWhereTheLogAnswers(t *testing.T) {
	var urls [2]string
	for i := range urls {
		b, err := StartBroker(BrokerOptions{Listen: "127.0.0.1:0", DataDir: t.TempDir(), NoSync: true})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(b.Stop)
		urls[i] = b.URL()
	}
	_, js := connect(t, Link{URL: urls[1], Name: "test"})
	if err := Declare(t.Context(), js, DefaultLayout()); err != nil {
		t.Fatal(err)
	}
	place := Place{"harbour-row", "north"}
	for name, ask := range map[string]Question{
		"tells": tells(Shots),
		"takes": Takes(Message{Subject: place.ShotsSubject(), ID: "one", Data: []byte("x")}),
	} {
		nc, _ := connect(t, Link{URL: urls[0] + "," + urls[1], Name: "test"})
		if !move(nc, urls[0]) {
			t.Fatal("it does not move")
		}
		at := func(url string) func() bool { return func() bool { return nc.ConnectedUrl() == url } }
		proof.Until(t, "it is at the node without a log", at(urls[0]))
		if !Seek(t.Context(), nc, ask) {
			t.Fatalf("%s: nobody answers", name)
		}
		proof.Until(t, name+": it is at the other", at(urls[1]))
		if !Seek(t.Context(), nc, ask) || nc.ConnectedUrl() != urls[1] {
			t.Errorf("%s: it went away again", name)
		}
		nobody := func(context.Context, *nats.Conn) error { return errAlone }
		begun := time.Now()
		if Seek(t.Context(), nc, nobody) || nc.ConnectedUrl() != urls[1] {
			t.Errorf("%s: it moves where nobody answers (%v)", name, time.Since(begun))
		}
	}
}
