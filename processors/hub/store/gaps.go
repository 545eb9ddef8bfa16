package store

import (
	"context"
	"fmt"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
)

// Stored counts what the rows themselves say is stored of one journal, above a
// seq: the runs of seqs that have at least one row.
func (s *Store) Stored(ctx context.Context, place stream.Place, journal string, above uint64) (gap.Ranges, error) {
	// A run is a stretch where seq minus its rank stays the same.
	const question = `SELECT min(seq), max(seq) FROM (
		SELECT seq, seq - row_number() OVER (ORDER BY seq) AS run
		FROM (SELECT DISTINCT seq FROM entries WHERE studio = ? AND bay = ? AND journal = ? AND seq > ?))
		GROUP BY run ORDER BY 1`
	rows, err := s.conn.Query(ctx, question, place.Studio, place.Bay, journal, above)
	if err != nil {
		return nil, fmt.Errorf("count what is stored of journal %s: %w", journal, plain(err))
	}
	defer rows.Close()
	var out gap.Ranges
	for rows.Next() {
		var from, to uint64
		if err := rows.Scan(&from, &to); err != nil {
			return nil, fmt.Errorf("count what is stored of journal %s: %w", journal, err)
		}
		out.Add(from, to)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("count what is stored of journal %s: %w", journal, err)
	}
	return out, nil
}

// Journals lists the journals of a bay that the store has seen, with the range
// of their seqs.
func (s *Store) Journals(ctx context.Context, place stream.Place) (map[string]gap.Range, error) {
	rows, err := s.conn.Query(ctx, "SELECT journal, min(seq), max(seq) FROM entries WHERE studio = ? AND bay = ? GROUP BY journal",
		place.Studio, place.Bay)
	if err != nil {
		return nil, fmt.Errorf("journals of %s: %w", place, plain(err))
	}
	defer rows.Close()
	out := map[string]gap.Range{}
	for rows.Next() {
		var id string
		var r gap.Range
		if err := rows.Scan(&id, &r.From, &r.To); err != nil {
			return nil, fmt.Errorf("journals of %s: %w", place, err)
		}
		out[id] = r
	}
	return out, rows.Err()
}

// Places lists every bay that the store has seen.
func (s *Store) Places(ctx context.Context) ([]stream.Place, error) {
	rows, err := s.conn.Query(ctx, "SELECT DISTINCT studio, bay FROM entries ORDER BY 1, 2")
	if err != nil {
		return nil, fmt.Errorf("bays in the store: %w", plain(err))
	}
	defer rows.Close()
	var out []stream.Place
	for rows.Next() {
		var p stream.Place
		if err := rows.Scan(&p.Studio, &p.Bay); err != nil {
			return nil, fmt.Errorf("bays in the store: %w", err)
		}
		out = append(out, p)
	}
	return out, rows.Err()
}

// Floor is where waiting for a journal was given up by hand.
type Floor struct {
	Journal string
	Below   uint64
	Why     string
	Who     string
}

// Floors returns the journals of a bay that were closed by hand.
func (s *Store) Floors(ctx context.Context, place stream.Place) (map[string]Floor, error) {
	rows, err := s.conn.Query(ctx, "SELECT journal, below, why, who FROM floors FINAL WHERE studio = ? AND bay = ?", place.Studio, place.Bay)
	if err != nil {
		return nil, fmt.Errorf("closed journals of %s: %w", place, plain(err))
	}
	defer rows.Close()
	out := map[string]Floor{}
	for rows.Next() {
		var f Floor
		if err := rows.Scan(&f.Journal, &f.Below, &f.Why, &f.Who); err != nil {
			return nil, fmt.Errorf("closed journals of %s: %w", place, err)
		}
		out[f.Journal] = f
	}
	return out, rows.Err()
}

// CloseJournal gives up waiting for what is missing of a journal below a seq,
// for a disk that died.
func (s *Store) CloseJournal(ctx context.Context, place stream.Place, f Floor) error {
	err := s.conn.Exec(ctx, "INSERT INTO floors (studio, bay, journal, below, why, who) VALUES (?, ?, ?, ?, ?, ?)",
		place.Studio, place.Bay, f.Journal, f.Below, f.Why, f.Who)
	if err != nil {
		return fmt.Errorf("close journal %s: %w", f.Journal, err)
	}
	return nil
}

// StoredEvents counts which visit events of a console's journal are stored.
func (s *Store) StoredEvents(ctx context.Context, studio, journal string, above uint64) (gap.Ranges, error) {
	rows, err := s.conn.Query(ctx, "SELECT DISTINCT seq FROM visit_events WHERE studio = ? AND journal = ? AND seq > ? ORDER BY seq", studio,
		journal, above)
	if err != nil {
		return nil, fmt.Errorf("count visit events of journal %s: %w", journal, plain(err))
	}
	defer rows.Close()
	var out gap.Ranges
	for rows.Next() {
		var seq uint64
		if err := rows.Scan(&seq); err != nil {
			return nil, fmt.Errorf("count visit events of journal %s: %w", journal, err)
		}
		out.Add(seq, seq)
	}
	return out, rows.Err()
}
