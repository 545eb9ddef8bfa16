package store

import (
	"context"
	"fmt"
	"strconv"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
)

// What a studio's store gives to a head office's: records by the numbers of their
// journals, and sums by which both can be held against each other.

// EntriesBetween reads the entries of a bay's journal with seqs in [from, to] as
// they are stored now: of one that was erased what is left.
func (s *Store) EntriesBetween(ctx context.Context, place stream.Place, journal string, from, to uint64) ([][]byte, error) {
	const question = `SELECT entry FROM entries FINAL WHERE studio = ? AND bay = ? AND journal = ? AND seq BETWEEN ? AND ?
		ORDER BY seq, shot_id`
	rows, err := s.conn.Query(ctx, question, place.Studio, place.Bay, journal, from, to)
	if err != nil {
		return nil, fmt.Errorf("entries %d to %d of journal %s: %w", from, to, journal, plain(err))
	}
	defer rows.Close()
	var out [][]byte
	for rows.Next() {
		var data []byte
		if err := rows.Scan(&data); err != nil {
			return nil, fmt.Errorf("entries %d to %d of journal %s: %w", from, to, journal, err)
		}
		out = append(out, data)
	}
	return out, rows.Err()
}

// EventJournals lists the journals of a studio's visit events and their ends.
func (s *Store) EventJournals(ctx context.Context, studio string) (map[string]gap.Range, error) {
	rows, err := s.conn.Query(ctx, "SELECT journal, min(seq), max(seq) FROM visit_events WHERE studio = ? GROUP BY journal", studio)
	if err != nil {
		return nil, fmt.Errorf("journals of visit events: %w", plain(err))
	}
	defer rows.Close()
	out := map[string]gap.Range{}
	for rows.Next() {
		var id string
		var r gap.Range
		if err := rows.Scan(&id, &r.From, &r.To); err != nil {
			return nil, fmt.Errorf("journals of visit events: %w", err)
		}
		out[id] = r
	}
	return out, rows.Err()
}

// EventsBetween reads the visit events of a console's journal with seqs in
// [from, to], of one that was erased what is left, whether its older row is
// still there or not. Their texts stay sealed.
func (s *Store) EventsBetween(ctx context.Context, studio, journal string, from, to uint64) ([]*event.VisitEvent, error) {
	const question = `SELECT event FROM visit_events WHERE studio = ? AND journal = ? AND seq BETWEEN ? AND ?
		ORDER BY seq, id, JSONExtractBool(body, 'erased') DESC LIMIT 1 BY seq, id`
	rows, err := s.conn.Query(ctx, question, studio, journal, from, to)
	if err != nil {
		return nil, fmt.Errorf("visit events %d to %d of journal %s: %w", from, to, journal, plain(err))
	}
	defer rows.Close()
	return s.scanEvents(rows)
}

// DaySum is what a studio's rows of a table and a day (UTC) amount to: how many
// there are, and the sum of what they hash to, the same in any order.
type DaySum struct {
	Table string `json:"table"`
	Day   string `json:"day"`
	Rows  uint64 `json:"rows"`
	Sum   uint64 `json:"sum"`
}

// travelled are the tables that two stores are compared by: the day of a row, and
// what of it both know alike. Not: ids of persons, which are other ones at the
// head office, what stays in the studio, words, versions, and times of insertion.
var travelled = []struct{ table, day, said, where string }{
	{"entries", "effective", "* EXCEPT (version, inserted, player, fitter, hitter, device_shot_id, file, line, faults, device_club, " +
		"entry, reason)", "1"},
	{"trials", "first_shot", "* EXCEPT (version, inserted, player, fitter, build_name)", "n + n_excluded + n_set_aside > 0"},
	{"verdicts", "at", "* EXCEPT (version, player, words)", "1"},
	{"visit_events", "effective", "bay, id, visit, session, kind, effective, recorded", "1"},
}

// DaySums gives the sums of a studio's rows by table and day, in order.
func (s *Store) DaySums(ctx context.Context, studio string) ([]DaySum, error) {
	var out []DaySum
	for _, t := range travelled {
		question := "SELECT toString(toDate(" + t.day + ")) AS on_day, count(), sum(cityHash64(toString(tuple(" + t.said +
			")))) FROM " + t.table + " FINAL WHERE studio = {studio:String} AND " + t.where + " GROUP BY on_day ORDER BY on_day"
		rows, err := s.conn.Query(ctx, question, named{"studio": studio}.args()...)
		if err != nil {
			return nil, fmt.Errorf("sums of %s: %w", t.table, plain(err))
		}
		for rows.Next() {
			d := DaySum{Table: t.table}
			if err := rows.Scan(&d.Day, &d.Rows, &d.Sum); err != nil {
				rows.Close()
				return nil, fmt.Errorf("sums of %s: %w", t.table, err)
			}
			out = append(out, d)
		}
		rows.Close()
		if err := rows.Err(); err != nil {
			return nil, fmt.Errorf("sums of %s: %w", t.table, err)
		}
	}
	return out, nil
}

// BlockSize is how many numbers of a journal a BlockSum is of.
const BlockSize = 1000

// BlockSum is what the records of BlockSize numbers of a journal amount to, by what
// they are known by: their numbers, their ids and, of entries, what a device said. A
// journal that was set back and went on has other records under the same numbers.
type BlockSum struct {
	Bay     string `json:"bay"` // of a console's journal: empty
	Journal string `json:"journal"`
	Block   uint64 `json:"block"` // of the number that its first record has, in BlockSizes
	Rows    uint64 `json:"rows"`
	Sum     uint64 `json:"sum"`
}

// BlockSums gives the sums of a studio's entries and visit events by journal and block.
func (s *Store) BlockSums(ctx context.Context, studio string) (out []BlockSum, err error) {
	const question = `SELECT bay, journal, intDiv(seq, {size:UInt64}) AS block, count(), sum(cityHash64(seq, shot_id, content))
		FROM entries FINAL WHERE studio = {studio:String} GROUP BY bay, journal, block
		UNION ALL
		SELECT '' AS bay, journal, intDiv(seq, {size:UInt64}) AS block, count(), sum(cityHash64(seq, id, kind))
		FROM visit_events FINAL WHERE studio = {studio:String} GROUP BY journal, block`
	rows, err := s.conn.Query(ctx, question, named{"studio": studio, "size": strconv.Itoa(BlockSize)}.args()...)
	if err != nil {
		return nil, fmt.Errorf("sums by journal: %w", plain(err))
	}
	defer rows.Close()
	for rows.Next() {
		var b BlockSum
		if err := rows.Scan(&b.Bay, &b.Journal, &b.Block, &b.Rows, &b.Sum); err != nil {
			return nil, fmt.Errorf("sums by journal: %w", err)
		}
		out = append(out, b)
	}
	return out, rows.Err()
}
