package store

import (
	"context"
	"fmt"
	"slices"

	"fairlead/ingest/log/stream"
)

// EventSigns gives of each bay a sign of the visit events stored of it: another
// sign, other events.
func (s *Store) EventSigns(ctx context.Context) (map[stream.Place]string, error) {
	rows, err := s.conn.Query(ctx, "SELECT studio, bay, concat(toString(uniqExact(id)), '/', toString(max(inserted))) FROM visit_events "+
		"GROUP BY studio, bay")
	if err != nil {
		return nil, fmt.Errorf("visit events: %w", plain(err))
	}
	defer rows.Close()
	out := map[stream.Place]string{}
	for rows.Next() {
		var p stream.Place
		var sign string
		if err := rows.Scan(&p.Studio, &p.Bay, &sign); err != nil {
			return nil, fmt.Errorf("visit events: %w", err)
		}
		out[p] = sign
	}
	return out, rows.Err()
}

// EventSum is a visit event's place in its journal, and the CRC-32 (IEEE) of what
// is stored of it.
type EventSum struct {
	Journal string
	Seq     uint64
	Sum     uint32
}

// EventSums gives the visit events stored of a bay, by id.
func (s *Store) EventSums(ctx context.Context, place stream.Place) (map[string]EventSum, error) {
	rows, err := s.conn.Query(ctx, "SELECT id, journal, seq, CRC32(event) FROM visit_events FINAL WHERE studio = ? AND bay = ?", place.Studio,
		place.Bay)
	if err != nil {
		return nil, fmt.Errorf("visit events of %s: %w", place, plain(err))
	}
	defer rows.Close()
	out := map[string]EventSum{}
	for rows.Next() {
		var id string
		var e EventSum
		if err := rows.Scan(&id, &e.Journal, &e.Seq, &e.Sum); err != nil {
			return nil, fmt.Errorf("visit events of %s: %w", place, err)
		}
		out[id] = e
	}
	return out, rows.Err()
}

// EventBytes gives visit events of a bay as they are stored, in pieces of about so
// many bytes.
func (s *Store) EventBytes(ctx context.Context, place stream.Place, ids []string, size int, give func([][]byte) error) error {
	var piece [][]byte
	held := 0
	hand := func() error {
		if len(piece) == 0 {
			return nil
		}
		err := give(piece)
		piece, held = nil, 0
		return err
	}
	for some := range slices.Chunk(ids, atOnce) {
		found, err := s.eventBytes(ctx, place, some)
		if err != nil {
			return err
		}
		for _, data := range found {
			if held+len(data) > size {
				if err := hand(); err != nil {
					return err
				}
			}
			piece, held = append(piece, data), held+len(data)
		}
	}
	return hand()
}

func (s *Store) eventBytes(ctx context.Context, place stream.Place, ids []string) (out [][]byte, err error) {
	rows, err := s.conn.Query(ctx, "SELECT event FROM visit_events FINAL WHERE studio = ? AND bay = ? AND id IN ? ORDER BY id", place.Studio,
		place.Bay, ids)
	if err != nil {
		return nil, fmt.Errorf("visit events of %s: %w", place, plain(err))
	}
	defer rows.Close()
	for rows.Next() {
		var data []byte
		if err := rows.Scan(&data); err != nil {
			return nil, fmt.Errorf("visit events of %s: %w", place, err)
		}
		out = append(out, data)
	}
	return out, rows.Err()
}
