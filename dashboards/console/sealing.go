package console

import (
	"bytes"
	"errors"
	"fmt"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/vault"
)

// What people wrote is in clear in the console's memory and on its pages alone. An
// event is sealed on its way into the journal, and so in the log, the bays' copies
// and the store; it is opened where it is read back. The hub's other processes work
// with what is sealed and have no keys.

// sealed is an event as it is kept, under the key of its session.
func (w *Writer) sealed(ev *event.VisitEvent) (*event.VisitEvent, error) {
	out := proto.Clone(ev).(*event.VisitEvent)
	owner := w.owner(ev)
	var failed error
	event.Texts(out, func(text string) string {
		box, err := w.keys.Seal(owner, text)
		failed = errors.Join(failed, err)
		return box
	})
	if failed != nil {
		return nil, fmt.Errorf("write event: %w", failed)
	}
	return out, nil
}

// owner is whose texts an event holds: its session's; of a taking-back that names
// no session, that of the event which is taken back.
func (w *Writer) owner(ev *event.VisitEvent) vault.Owner {
	session := ev.Session
	if v := ev.GetVoided(); v != nil && session == "" {
		session = w.logs[ev.Bay].Event(v.Event).GetSession()
	}
	o := vault.Owner{Session: session}
	if open := ev.GetSessionOpened(); open != nil {
		o.Player = open.Player
		return o
	}
	if session == "" {
		return vault.Owner{}
	}
	for _, l := range w.logs {
		if s := l.Timeline().Session(session); s != nil && s.Player != "" {
			o.Player = s.Player
		}
	}
	return o
}

// open puts an event's texts back in clear. The event is changed.
func (w *Writer) open(ev *event.VisitEvent) { event.Texts(ev, w.keys.Open) }

// follow keeps the keys with who is forgotten and whose a session is, after an
// event was written. It may be said again.
func (w *Writer) follow(ev *event.VisitEvent) error {
	if ev.GetSessionErased() != nil {
		return w.keys.Forget("", []string{ev.Session}, w.now())
	}
	if ev.GetSessionCorrected() == nil && ev.GetVoided() == nil && ev.GetSessionOpened() == nil {
		return nil
	}
	var failed error
	for _, s := range w.logs[ev.Bay].Timeline().Sessions {
		if s.Player != "" && !s.Erased && s.MovedTo == "" {
			failed = errors.Join(failed, w.keys.Own(s.ID, s.Player))
		}
	}
	return failed
}

// foreign refuses an event that holds what looks sealed: it would be opened for
// whoever sent it.
func foreign(ev *event.VisitEvent) error {
	text, err := protojson.Marshal(ev)
	if err == nil && event.HoldsSealed(bytes.ToLower(text)) {
		return refuse("body", "", "holds what looks like a text that was sealed", "write it in words")
	}
	return err
}
