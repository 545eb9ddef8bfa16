package store

import (
	"context"
	"encoding/hex"
	"fmt"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

// Aside is something that could not be stored or read, so that the rest goes on.
type Aside struct {
	Place  stream.Place
	Of     string // the table, or the stream of the log, in which it stood
	Key    string // where in there
	Reason string
	At     time.Time
}

func (a Aside) String() string { return fmt.Sprintf("%s %s: %s", a.Of, a.Key, a.Reason) }

var asideColumns = []column[Aside]{
	collect("studio", func(a *Aside) string { return a.Place.Studio }),
	collect("bay", func(a *Aside) string { return a.Place.Bay }),
	collect("of", func(a *Aside) string { return a.Of }),
	collect("key", func(a *Aside) string { return a.Key }),
	collect("reason", func(a *Aside) string { return a.Reason }),
}

// NoteAsides writes down what was set aside; a repeat takes the earlier one's place.
func (s *Store) NoteAsides(ctx context.Context, rows []Aside) error {
	return insert(ctx, s, "set_aside", asideColumns, rows)
}

// Asides lists what was set aside of a bay, the latest first: all is counted,
// most are given.
func (s *Store) Asides(ctx context.Context, place stream.Place, most int) (n uint64, out []Aside, err error) {
	const question = `SELECT of, key, reason, at, count() OVER () FROM set_aside FINAL
		WHERE studio = ? AND bay = ? ORDER BY at DESC, of, key LIMIT ?`
	rows, err := s.conn.Query(ctx, question, place.Studio, place.Bay, most)
	if err != nil {
		return 0, nil, fmt.Errorf("what was set aside of %s: %w", place, plain(err))
	}
	defer rows.Close()
	for rows.Next() {
		a := Aside{Place: place}
		if err := rows.Scan(&a.Of, &a.Key, &a.Reason, &a.At, &n); err != nil {
			return 0, nil, fmt.Errorf("what was set aside of %s: %w", place, err)
		}
		out = append(out, a)
	}
	return n, out, rows.Err()
}

// OnUnreadable has do told of every stored entry whose bytes can't be decoded.
// Who reads entries goes on with the others. do must not ask the store.
func (s *Store) OnUnreadable(do func(place stream.Place, data []byte)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.unreadable = do
}

func (s *Store) sayUnreadable(place stream.Place, data []byte) {
	s.mu.Lock()
	do := s.unreadable
	s.mu.Unlock()
	if do != nil {
		do(place, data)
	}
}

// TakeOut sets the rows aside whose entry is data, which nobody can decode, and
// deletes them: their numbers are missing then, and the journals are asked for
// them. It returns what was set aside.
func (s *Store) TakeOut(ctx context.Context, place stream.Place, data []byte) ([]Aside, error) {
	text := hex.EncodeToString(data)
	const own = " FROM entries WHERE studio = ? AND bay = ? AND entry = unhex(?)"
	rows, err := s.conn.Query(ctx, "SELECT DISTINCT journal, seq, toString(shot_id)"+own, place.Studio, place.Bay, text)
	if err != nil {
		return nil, fmt.Errorf("rows that can't be read: %w", plain(err))
	}
	defer rows.Close()
	var out []Aside
	for rows.Next() {
		var journal, id string
		var seq uint64
		if err := rows.Scan(&journal, &seq, &id); err != nil {
			return nil, fmt.Errorf("rows that can't be read: %w", err)
		}
		out = append(out, Aside{Place: place, Of: "entries", Key: entryKey(journal, seq, id), Reason: "the stored entry can't be decoded"})
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("rows that can't be read: %w", plain(err))
	}
	if err := s.NoteAsides(ctx, out); err != nil {
		return nil, err
	}
	if err := s.conn.Exec(ctx, "DELETE"+own+" SETTINGS lightweight_deletes_sync = 2", place.Studio, place.Bay, text); err != nil {
		return nil, fmt.Errorf("take out rows that can't be read: %w", plain(err))
	}
	return out, nil
}

func entryKey(journal string, seq uint64, id string) string {
	return fmt.Sprintf("%s/%d/%s", journal, seq, id)
}

// Key names the row within its bay, as the table is sorted.
func (r *EntryRow) Key() string {
	return entryKey(r.Entry.Journal, r.Entry.Seq, fmt.Sprintf("%x", r.Entry.ShotId))
}

// Refused is the row that takes the place of one that the store refused: its
// number is one that journals are compared by, so there has to be a row, which
// says why it holds nothing. What remains of it after bare is only its place.
func (r EntryRow) Refused(reason string, bare bool) EntryRow {
	e := event.EraseEntry(r.Entry)
	if bare {
		e.Device, e.Feed, e.Firmware, e.Boot = "", "", "", ""
	}
	e.Faults = []*event.Fault{event.NewFault("row", "", reason, "the bay's journal has the line; look what the store's table demands")}
	t := &tag.Tag{Situation: &tag.Situation{Visit: r.Tag.Visit, Session: r.Tag.Session}, Version: r.Tag.Version, Status: tag.Rejected,
		Reason: "not a valid shot", At: r.Tag.At, Forgotten: r.Tag.Forgotten}
	return EntryRow{Entry: e, Tag: t, Values: &shot.Values{}}
}
