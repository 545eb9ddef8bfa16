package gap

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/log/stream"
)

// losing is a log that loses all it holds once somebody knows its last message.
type losing struct{ jetstream.JetStream }

func (l losing) Stream(ctx context.Context, name string) (jetstream.Stream, error) {
	s, err := l.JetStream.Stream(ctx, name)
	return losingStream{s}, err
}

type losingStream struct{ jetstream.Stream }

func (s losingStream) GetLastMsgForSubject(ctx context.Context, subject string) (*jetstream.RawStreamMsg, error) {
	m, err := s.Stream.GetLastMsgForSubject(ctx, subject)
	return m, errors.Join(err, s.Purge(ctx))
}

// Who reads the log up to a message that is lost meanwhile is told so, long
// before the time given for a large log is over.
func TestALogThatLosesItsEndIsNotWaitedFor(t *testing.T) {
	t.Parallel()
	b, err := stream.StartBroker(stream.BrokerOptions{Listen: "127.0.0.1:0", DataDir: t.TempDir(), NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Stop)
	nc, js, err := stream.Connect(stream.Link{URL: b.URL(), Name: "test"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(nc.Close)
	if err := stream.Declare(t.Context(), js, stream.DefaultLayout()); err != nil {
		t.Fatal(err)
	}
	subject := stream.Place{Studio: "harbour-row", Bay: "north"}.ShotsSubject()
	if _, err := js.PublishMsg(t.Context(), &nats.Msg{Subject: subject, Header: nats.Header{jetstream.MsgIDHeader: {"00000000000000aa-7-x"}},
		Data: []byte("x")}); err != nil {
		t.Fatal(err)
	}
	held, err := InLog(t.Context(), js, stream.Shots, subject)
	if err != nil || held["00000000000000aa"].Count() != 1 {
		t.Fatalf("%v, %v", held, err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
	defer cancel()
	if _, err := InLog(ctx, losing{js}, stream.Shots, subject); err == nil || ctx.Err() != nil {
		t.Errorf("error %v, the context's %v", err, ctx.Err())
	}
}
