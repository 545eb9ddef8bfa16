package relay

import (
	"context"
	"testing"

	"google.golang.org/protobuf/proto"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
)

// Whoever asks for a heartbeat gets it while journals are read for an audit, and
// the audit gets its answer; a request that makes no sense gets the heartbeat.
func TestAskedWhileReading(t *testing.T) {
	l := newLine(t)
	record(t, l.journal, 1, 40)
	id := l.journal.Journals()[0].ID
	asked := &Asked{Journal: l.journal, Form: Entries(north), Heartbeat: func() *event.Heartbeat {
		return &event.Heartbeat{Studio: north.Studio, Bay: north.Bay, Version: "here"}
	}}
	if err := asked.Subscribe(l.nc, north); err != nil {
		t.Fatal(err)
	}
	request := func(ask *event.AskRequest) []byte {
		data, err := proto.Marshal(ask)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	ask := func(data []byte) *event.Heartbeat {
		m, err := l.nc.RequestWithContext(t.Context(), north.AskSubject(), data)
		if err != nil {
			t.Fatal(err)
		}
		h := &event.Heartbeat{}
		if err := proto.Unmarshal(m.Data, h); err != nil {
			t.Fatal(err)
		}
		return h
	}
	// Nobody reads yet: what wants the journal waits, and more than there is room for is let go.
	answers, err := l.nc.SubscribeSync(l.nc.NewRespInbox())
	if err != nil {
		t.Fatal(err)
	}
	for range 40 {
		if err := l.nc.PublishRequest(north.AskSubject(), answers.Subject, request(&event.AskRequest{Journal: id, From: 1, To: 40})); err != nil {
			t.Fatal(err)
		}
	}
	if h := ask(nil); h.Version != "here" {
		t.Errorf("asked for a heartbeat: %v", h)
	}
	if h := ask([]byte("nonsense")); h.Version != "here" {
		t.Errorf("asked for nonsense: %v", h)
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan struct{})
	go func() { asked.Run(ctx); close(ended) }()
	defer func() { cancel(); <-ended }()
	proof.Until(t, "what waited is answered", func() bool { n, _, _ := answers.Pending(); return n >= 16 })
	m, err := answers.NextMsgWithContext(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	h := &event.Heartbeat{}
	if err := proto.Unmarshal(m.Data, h); err != nil || len(h.Content.GetHashes()) != 40 {
		t.Errorf("%d hashes of 40 records, %v", len(h.Content.GetHashes()), err)
	}
}
