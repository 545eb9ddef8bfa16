package group

import (
	"context"
	"fmt"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/relay"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/store"
)

// source is the studio's store, read by the numbers of its journals. It outlives
// the log, which forgets shots by age, and holds of what was erased no more than
// is left.
type source struct {
	store   *store.Store
	studio  string
	persons *Pseudonyms

	held map[gap.Key]*held
}

// held is what the studio has stored of one journal.
type held struct {
	gap.Key
	gap.Ranges
	counted time.Time // from its first number on
}

const (
	// recountEvery is how often a journal is counted from its first number on; between,
	// its newest numbers are.
	recountEvery = 10 * time.Minute
	newest       = 5000
)

// look brings what is held up to date.
func (s *source) look(ctx context.Context, now time.Time) error {
	places, err := s.store.Places(ctx)
	if err != nil {
		return err
	}
	for _, p := range places {
		if p.Studio != s.studio {
			continue
		}
		ends, err := s.store.Journals(ctx, p)
		if err != nil {
			return err
		}
		for id, end := range ends {
			err := s.count(gap.Key{Place: p, Journal: id}, end, now, func(above uint64) (gap.Ranges, error) {
				return s.store.Stored(ctx, p, id, above)
			})
			if err != nil {
				return err
			}
		}
	}
	console := stream.Place{Studio: s.studio, Bay: stream.ConsoleBay}
	ends, err := s.store.EventJournals(ctx, s.studio)
	if err != nil {
		return err
	}
	for id, end := range ends {
		err := s.count(gap.Key{Place: console, Journal: id}, end, now, func(above uint64) (gap.Ranges, error) {
			return s.store.StoredEvents(ctx, s.studio, id, above)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func (s *source) count(key gap.Key, end gap.Range, now time.Time, stored func(above uint64) (gap.Ranges, error)) error {
	if s.held == nil {
		s.held = map[gap.Key]*held{}
	}
	h := s.held[key]
	if h == nil {
		h = &held{Key: key}
		s.held[key] = h
	}
	full := now.Sub(h.counted) > recountEvery
	if !full && h.Highest() == end.To && len(h.Ranges) == 1 {
		return nil // nothing came, and nothing is lacking
	}
	above := h.Highest() - min(h.Highest(), newest)
	if full {
		above = 0
	}
	now1, err := stored(above)
	if err != nil {
		return err
	}
	for _, r := range h.Ranges {
		if !full && r.From <= above {
			now1.Add(r.From, min(r.To, above))
		}
	}
	h.Ranges = now1
	if full {
		h.counted = now
	}
	return nil
}

// state is what a heartbeat says of a journal that was sent up to a number. What the
// studio itself lacks is said to be damaged until it has it, so that the head office
// does not wait for it.
func (h *held) state(sent uint64) *event.JournalState {
	first := h.Ranges[0].From
	s := &event.JournalState{Journal: h.Journal, First: first, Last: max(min(h.Highest(), sent), first-1)}
	s.Quarantined = h.Missing(s.First, s.Last).Message()
	return s
}

// messages reads the records of a journal with numbers in [from, to] as they leave
// the studio. fresh is added to their ids.
func (s *source) messages(ctx context.Context, key gap.Key, from, to uint64, fresh string) ([]stream.Message, error) {
	if key.Place.Bay == stream.ConsoleBay {
		events, err := s.store.EventsBetween(ctx, s.studio, key.Journal, from, to)
		if err != nil {
			return nil, err
		}
		var out []stream.Message
		for _, ev := range events {
			m, err := message(stream.Place{Studio: ev.Studio, Bay: ev.Bay}.VisitsSubject(), s.persons.Event(ev), ev.Journal, ev.Seq, fresh)
			if err != nil {
				return nil, err
			}
			out = append(out, m)
		}
		return out, nil
	}
	records, err := s.store.EntriesBetween(ctx, key.Place, key.Journal, from, to)
	if err != nil {
		return nil, err
	}
	var out []stream.Message
	for _, data := range records {
		e := &event.Entry{}
		if proto.Unmarshal(data, e) != nil {
			continue // the studio's own audit finds and mends it, and then it is asked for
		}
		m, err := message(key.Place.ShotsSubject(), Entry(e), e.Journal, e.Seq, fresh)
		if err != nil {
			return nil, err
		}
		out = append(out, m)
	}
	return out, nil
}

// message is a record as it is sent, deterministic so that a repeat has the same id.
func message(subject string, m proto.Message, journal string, seq uint64, fresh string) (stream.Message, error) {
	data, err := proto.MarshalOptions{Deterministic: true}.Marshal(m)
	if err != nil {
		return stream.Message{}, fmt.Errorf("record %d of journal %s: %w", seq, journal, err)
	}
	return stream.Message{Subject: subject, Data: data, ID: relay.MessageID(journal, seq, data, fresh)}, nil
}
