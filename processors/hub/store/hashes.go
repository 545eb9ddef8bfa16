package store

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"fairlead/ingest/log/stream"
)

// Kept is a row as far as it can be held against the record it came from.
type Kept struct {
	Bay     string
	Journal string
	Seq     uint64
	ID      string // shot or event
	Hash    uint64 // xxHash64 of the record's bytes as they are stored
	Erased  bool
}

// KeptEntries lists the entries of a bay's journal with seqs in [from, to].
func (s *Store) KeptEntries(ctx context.Context, place stream.Place, journal string, from, to uint64) ([]Kept, error) {
	const question = `SELECT bay, journal, seq, lower(hex(shot_id)), xxHash64(entry), erased FROM entries FINAL
		WHERE studio = ? AND bay = ? AND journal = ? AND seq BETWEEN ? AND ? ORDER BY seq, shot_id`
	return s.kept(ctx, question, place.Studio, place.Bay, journal, from, to)
}

// KeptEvents lists the visit events of a studio.
func (s *Store) KeptEvents(ctx context.Context, studio string) ([]Kept, error) {
	const question = `SELECT bay, journal, seq, id, xxHash64(event), kind != 'session_erased' AND JSONExtractBool(body, 'erased') FROM visit_events FINAL
		WHERE studio = ? ORDER BY bay, id`
	return s.kept(ctx, question, studio)
}

func (s *Store) kept(ctx context.Context, question string, args ...any) (out []Kept, err error) {
	rows, err := s.conn.Query(ctx, question, args...)
	if err != nil {
		return nil, fmt.Errorf("hashes of what is stored: %w", plain(err))
	}
	defer rows.Close()
	for rows.Next() {
		var k Kept
		if err := rows.Scan(&k.Bay, &k.Journal, &k.Seq, &k.ID, &k.Hash, &k.Erased); err != nil {
			return nil, fmt.Errorf("hashes of what is stored: %w", err)
		}
		out = append(out, k)
	}
	return out, rows.Err()
}

// Bytes reads what is stored of an entry.
func (s *Store) Bytes(ctx context.Context, place stream.Place, k Kept) (data []byte, err error) {
	err = s.conn.QueryRow(ctx, "SELECT entry FROM entries FINAL WHERE studio = ? AND bay = ? AND journal = ? AND seq = ? AND "+
		"lower(hex(shot_id)) = ?",
		place.Studio, place.Bay, k.Journal, k.Seq, k.ID).Scan(&data)
	if err != nil {
		return nil, fmt.Errorf("what is stored of entry %d of journal %s: %w", k.Seq, k.Journal, plain(err))
	}
	return data, nil
}

// atOnce bounds the keys that one statement names.
const atOnce = 1000

// RemoveEntries takes rows of a bay out, whatever versions there are of them.
func (s *Store) RemoveEntries(ctx context.Context, place stream.Place, gone []Kept) error {
	for piece := range slices.Chunk(gone, atOnce) {
		keys := make([]string, len(piece))
		for i, k := range piece {
			keys[i] = fmt.Sprintf("(%s, %d, %s)", Quote(k.Journal), k.Seq, Quote(k.ID))
		}
		own := fmt.Sprintf("studio = %s AND bay = %s AND (journal, seq, lower(hex(shot_id))) IN (%s)", Quote(place.Studio), Quote(place.Bay),
			strings.Join(keys, ", "))
		if err := s.conn.Exec(ctx, "ALTER TABLE entries DELETE WHERE "+own+" SETTINGS mutations_sync = 2"); err != nil {
			return fmt.Errorf("remove entries: %w", plain(err))
		}
	}
	return nil
}

// RemoveEvents takes visit events out.
func (s *Store) RemoveEvents(ctx context.Context, studio string, gone []Kept) error {
	for piece := range slices.Chunk(gone, atOnce) {
		keys := make([]string, len(piece))
		for i, k := range piece {
			keys[i] = fmt.Sprintf("(%s, %s)", Quote(k.Bay), Quote(k.ID))
		}
		own := fmt.Sprintf("studio = %s AND (bay, id) IN (%s)", Quote(studio), strings.Join(keys, ", "))
		if err := s.conn.Exec(ctx, "ALTER TABLE visit_events DELETE WHERE "+own+" SETTINGS mutations_sync = 2"); err != nil {
			return fmt.Errorf("remove visit events: %w", plain(err))
		}
	}
	return nil
}

// refusedRows are entries that the store refused and that a bare row stands for.
const refusedRows = `SELECT concat(journal, '/', toString(seq), '/', lower(hex(shot_id))) AS key FROM entries FINAL
	WHERE studio = {studio:String} AND bay = {bay:String} AND status = 'rejected' AND position(faults, '"field":"row"') > 0`

// RefusedEntries lists entries of a bay that the store refused, by their keys.
func (s *Store) RefusedEntries(ctx context.Context, place stream.Place) ([]string, error) {
	return s.texts(ctx, "entries that were refused", refusedRows+" ORDER BY key", named{"studio": place.Studio, "bay": place.Bay})
}

// Unnoted lists those of them that nobody noted as set aside.
func (s *Store) Unnoted(ctx context.Context, place stream.Place) ([]string, error) {
	const question = "SELECT key FROM (" + refusedRows + `) WHERE key NOT IN (SELECT key FROM set_aside
		WHERE studio = {studio:String} AND bay = {bay:String} AND of = 'entries') ORDER BY key`
	return s.texts(ctx, "entries that were refused", question, named{"studio": place.Studio, "bay": place.Bay})
}

// Beside lists pairs of a bay's journals that were written side by side, by the
// times of live lines: one collector never goes back to a journal that it left.
func (s *Store) Beside(ctx context.Context, place stream.Place) ([]string, error) {
	const question = `WITH lives AS (
			SELECT journal, min(effective) AS begun, max(effective) AS ended FROM entries
			WHERE studio = {studio:String} AND bay = {bay:String} AND certainty = 'synced'
			AND shot_id NOT IN (SELECT shot_id FROM entries WHERE studio = {studio:String} AND bay = {bay:String} GROUP BY shot_id HAVING uniqExact(journal) > 1)
			GROUP BY journal)
		SELECT concat(a.journal, ' and ', b.journal) FROM lives AS a CROSS JOIN lives AS b
		WHERE a.journal < b.journal AND a.ended > b.begun + INTERVAL 1 SECOND AND b.ended > a.begun + INTERVAL 1 SECOND ORDER BY 1`
	return s.texts(ctx, "journals side by side", question, named{"studio": place.Studio, "bay": place.Bay})
}

// Shared counts the shots of a bay that another bay of the studio has too.
func (s *Store) Shared(ctx context.Context, place stream.Place) (n uint64, err error) {
	const question = `SELECT uniqExact(shot_id) FROM entries WHERE studio = {studio:String} AND bay = {bay:String} AND status = 'counts'
		AND shot_id IN (SELECT shot_id FROM entries WHERE studio = {studio:String} AND bay != {bay:String} AND status = 'counts')`
	if n, err = s.count(ctx, question, named{"studio": place.Studio, "bay": place.Bay}); err != nil {
		return 0, fmt.Errorf("shots that two bays have: %w", plain(err))
	}
	return n, nil
}
