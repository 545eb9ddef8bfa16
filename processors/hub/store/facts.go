package store

import (
	"context"
	"encoding/binary"
	"fmt"
	"slices"

	"github.com/ClickHouse/clickhouse-go/v2/lib/driver"
	"github.com/google/uuid"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// WholeBetween reads the shots of a bay that have an entry with an effective
// time in [from, to], Unix ns: all their entries, those of other times too,
// each once, as the bay wrote them.
func (s *Store) WholeBetween(ctx context.Context, place stream.Place, from, to int64) ([]event.Line, error) {
	// Nanoseconds as integers: a DateTime64 literal has no room for the far ends.
	const question = linesOf + ` AND shot_id IN (SELECT shot_id FROM entries
		WHERE studio = ? AND bay = ? AND toUnixTimestamp64Nano(effective) BETWEEN ? AND ?)` + inKeyOrder
	return s.entries(ctx, place, nil, question, place.Studio, place.Bay, place.Studio, place.Bay, from, to)
}

// All reads every entry of a bay, each once, as the bay wrote it.
func (s *Store) All(ctx context.Context, place stream.Place) ([]event.Line, error) {
	return s.entries(ctx, place, nil, linesOf+inKeyOrder, place.Studio, place.Bay)
}

// A key's rows stand together and in order, so the server passes them on as it
// reads them: it holds no more of a hundred thousand entries than of ten.
const (
	linesOf    = "SELECT entry FROM entries WHERE studio = ? AND bay = ?"
	inKeyOrder = " ORDER BY studio, bay, journal, seq, shot_id LIMIT 1 BY journal, seq, shot_id"
)

// mostAsked bounds the shots that one statement names: a server reads no more
// than 256 KiB of text (max_query_size), and a shot id is 39 letters of it.
const mostAsked = 4000

// Of reads the entries of a bay that have one of the shot ids, however many
// those are: they are asked for in pieces.
func (s *Store) Of(ctx context.Context, place stream.Place, ids []event.ShotID) (out []event.Line, err error) {
	for piece := range slices.Chunk(ids, mostAsked) {
		list := make([]uuid.UUID, len(piece))
		for i, id := range piece {
			list[i] = uuid.UUID(id)
		}
		const question = linesOf + " AND shot_id IN ?" + inKeyOrder
		if out, err = s.entries(ctx, place, out, question, place.Studio, place.Bay, list); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// entries adds to out the lines that a question gives, with the bytes that are
// stored: written again, an entry has to be the same to the bit, and a message
// may order its fields otherwise than this program would.
// An entry that can't be decoded is left out, and told of: one must not keep a
// bay from all others.
func (s *Store) entries(ctx context.Context, place stream.Place, out []event.Line, question string, args ...any) ([]event.Line, error) {
	rows, err := s.conn.Query(ctx, question, args...)
	if err != nil {
		return nil, fmt.Errorf("read entries: %w", err)
	}
	defer rows.Close()
	read := event.NewReader()
	for rows.Next() {
		var data []byte
		if err := rows.Scan(&data); err != nil {
			return nil, fmt.Errorf("read entries: %w", err)
		}
		if l, err := read.Read(data); err != nil {
			s.sayUnreadable(place, data)
		} else {
			out = append(out, l)
		}
	}
	return out, rows.Err()
}

// Fingerprint is the first eight bytes of a shot id, enough to say that an id
// was surely not seen before.
func Fingerprint(id event.ShotID) uint64 { return binary.BigEndian.Uint64(id[:8]) }

// Fingerprints reads the sorted fingerprints of all shot ids of a bay: eight
// bytes a shot, so that years of a bay fit into memory.
func (s *Store) Fingerprints(ctx context.Context, place stream.Place) ([]uint64, error) {
	rows, err := s.conn.Query(ctx, "SELECT DISTINCT shot_id FROM entries WHERE studio = ? AND bay = ?", place.Studio, place.Bay)
	if err != nil {
		return nil, fmt.Errorf("shot ids of %s: %w", place, err)
	}
	defer rows.Close()
	var out []uint64
	for rows.Next() {
		var id uuid.UUID
		if err := rows.Scan(&id); err != nil {
			return nil, fmt.Errorf("shot ids of %s: %w", place, err)
		}
		out = append(out, Fingerprint(event.ShotID(id)))
	}
	slices.Sort(out)
	return out, rows.Err()
}

// CountEntries is the number of distinct entries stored of a bay.
func (s *Store) CountEntries(ctx context.Context, place stream.Place) (n uint64, err error) {
	err = s.conn.QueryRow(ctx, "SELECT uniqExact(journal, seq, shot_id) FROM entries WHERE studio = ? AND bay = ?", place.Studio,
		place.Bay).Scan(&n)
	if err != nil {
		return 0, fmt.Errorf("count entries of %s: %w", place, err)
	}
	return n, nil
}

// Unsure reads the entries of a bay whose effective time is unsure, or so wide
// an interval that it does not say where they belong.
func (s *Store) Unsure(ctx context.Context, place stream.Place) ([]event.Line, error) {
	return s.entries(ctx, place, nil, linesOf+" AND certainty IN ('unsure', 'between')"+inKeyOrder, place.Studio, place.Bay)
}

// Events reads the visit events stored of a bay.
func (s *Store) Events(ctx context.Context, place stream.Place) ([]*event.VisitEvent, error) {
	rows, err := s.conn.Query(ctx, "SELECT any(event) FROM visit_events WHERE studio = ? AND bay = ? GROUP BY id ORDER BY id", place.Studio,
		place.Bay)
	if err != nil {
		return nil, fmt.Errorf("read visit events: %w", err)
	}
	defer rows.Close()
	return s.scanEvents(rows)
}

func (s *Store) scanEvents(rows driver.Rows) ([]*event.VisitEvent, error) {
	var out []*event.VisitEvent
	for rows.Next() {
		var data []byte
		if err := rows.Scan(&data); err != nil {
			return nil, fmt.Errorf("read visit events: %w", err)
		}
		ev := &event.VisitEvent{}
		if proto.Unmarshal(data, ev) == nil { // else the log and its journals have it, and the audit misses it
			if open := s.clear.Load(); open != nil {
				event.Texts(ev, *open)
			}
			out = append(out, ev)
		}
	}
	return out, rows.Err()
}

// OpenTexts is for who may read what people wrote: from here on visit events come
// with their sealed texts opened.
func (s *Store) OpenTexts(open func(text string) string) { s.clear.Store(&open) }

// EventsOfKinds reads the visit events of some kinds stored of all bays of a studio.
func (s *Store) EventsOfKinds(ctx context.Context, studio string, kinds []string) ([]*event.VisitEvent, error) {
	rows, err := s.conn.Query(ctx, "SELECT any(event) FROM visit_events WHERE studio = ? AND kind IN ? GROUP BY bay, id ORDER BY bay, id",
		studio, kinds)
	if err != nil {
		return nil, fmt.Errorf("read visit events: %w", err)
	}
	defer rows.Close()
	return s.scanEvents(rows)
}

// LastEffective is the latest effective time stored of a bay, Unix ns; the
// smallest integer when nothing is.
func (s *Store) LastEffective(ctx context.Context, place stream.Place) (at int64, err error) {
	const question = "SELECT if(count() = 0, -9223372036854775808, max(toUnixTimestamp64Nano(effective))) FROM entries WHERE studio = ? AND " +
		"bay = ?"
	if err := s.conn.QueryRow(ctx, question, place.Studio, place.Bay).Scan(&at); err != nil {
		return 0, fmt.Errorf("last entry of %s: %w", place, err)
	}
	return at, nil
}

// SessionsWithTrials lists the sessions of a bay that have trial rows.
func (s *Store) SessionsWithTrials(ctx context.Context, place stream.Place) (map[string]bool, error) {
	rows, err := s.conn.Query(ctx, "SELECT DISTINCT session FROM trials WHERE studio = ? AND bay = ?", place.Studio, place.Bay)
	if err != nil {
		return nil, fmt.Errorf("sessions of %s: %w", place, err)
	}
	defer rows.Close()
	out := map[string]bool{}
	for rows.Next() {
		var id string
		if err := rows.Scan(&id); err != nil {
			return nil, fmt.Errorf("sessions of %s: %w", place, err)
		}
		out[id] = true
	}
	return out, rows.Err()
}
