package sealing

import (
	"context"
	"fmt"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/copies"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/stream"
	"fairlead/ingest/log/vault"
	"fairlead/processors/visit"
)

// facts are the visit events of a studio, each once, wherever they stand.
type facts struct {
	studio  string
	seen    map[string]bool       // bay/id
	logs    map[string]*visit.Log // by bay
	clear   int                   // places where an event holds words in clear
	erased  []string              // sessions
	players map[string]string     // of sessions
	voided  map[string]string     // session of an event, by bay/id
}

// gather reads all places that hold events of the studio.
func (s *run) gather(ctx context.Context) error {
	f := &facts{studio: s.Config.Studio, seen: map[string]bool{}, logs: map[string]*visit.Log{}, players: map[string]string{},
		voided: map[string]string{}}
	if err := journal.Look(s.Config.ConsoleJournalDir(), f.add); err != nil {
		return err
	}
	err := stream.LookAtVisits(ctx, s.Config.BrokerDir(), func(m stream.Message) error { return f.add(m.Data) })
	if err != nil {
		return err
	}
	for _, file := range s.Config.CopiesFiles() {
		if err := copies.Look(file, f.add); err != nil {
			return err
		}
	}
	if s.store != nil {
		if err := s.store.EachEvent(ctx, f.studio, f.add); err != nil {
			return err
		}
	}
	for _, l := range f.logs {
		for _, t := range l.Timeline().Sessions {
			if t.Player != "" {
				f.players[t.ID] = t.Player
			}
		}
	}
	s.facts = f
	return nil
}

// add takes an event. What can't be read says nothing that could be sealed.
func (f *facts) add(data []byte) error {
	ev := &event.VisitEvent{}
	if proto.Unmarshal(data, ev) != nil || ev.Studio != f.studio {
		return nil
	}
	if event.InClear(ev) > 0 {
		f.clear++
	}
	key := ev.Bay + "/" + ev.Id
	if f.seen[key] {
		return nil
	}
	f.seen[key] = true
	f.voided[key] = ev.Session
	if f.logs[ev.Bay] == nil {
		f.logs[ev.Bay] = &visit.Log{}
	}
	if ev.GetSessionErased() != nil {
		f.erased = append(f.erased, ev.Session)
	}
	f.logs[ev.Bay].Add(ev)
	return nil
}

// owner is whose texts an event holds, as the console has it: its session's; of a
// taking-back that names none, that of what is taken back.
func (f *facts) owner(ev *event.VisitEvent) vault.Owner {
	session := ev.Session
	if v := ev.GetVoided(); v != nil && session == "" {
		session = f.voided[ev.Bay+"/"+v.Event]
	}
	if session == "" {
		return vault.Owner{}
	}
	return vault.Owner{Player: f.players[session], Session: session}
}

// owners are those of all events.
func (f *facts) owners() (out []vault.Owner) {
	for _, l := range f.logs {
		for _, ev := range l.All() {
			if event.InClear(ev) > 0 {
				out = append(out, f.owner(ev))
			}
		}
	}
	return out
}

// sealed are an event's bytes with its texts sealed; the same bytes where nothing is
// in clear, where it is another studio's, and where it can't be read.
func (s *run) sealed(data []byte) ([]byte, error) {
	ev := &event.VisitEvent{}
	if proto.Unmarshal(data, ev) != nil || ev.Studio != s.Config.Studio || event.InClear(ev) == 0 {
		return data, nil
	}
	owner, failed := s.facts.owner(ev), error(nil)
	event.Texts(ev, func(text string) string {
		if text == event.Unreadable {
			return text
		}
		box, err := s.keys.Seal(owner, text)
		if err != nil {
			failed = err
		}
		return box
	})
	if failed != nil {
		return nil, failed
	}
	out, err := proto.MarshalOptions{Deterministic: true}.Marshal(ev)
	if err != nil {
		return nil, fmt.Errorf("seal event %s: %w", ev.Id, err)
	}
	return out, nil
}
