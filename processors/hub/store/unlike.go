package store

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/cespare/xxhash/v2"
	"github.com/google/uuid"

	"fairlead/ingest/log/stream"
)

// Unlike says of rows of a bay which ones the store has otherwise, or not at all, in
// the order of the rows: those of entries, of trials, of verdicts. Versions and times
// of insertion are not compared. Both sides write a row as the same bytes and compare
// their hash (64 bits, keys included), so no row comes back and one statement a table
// is asked, whatever the number of rows.
func (s *Store) Unlike(ctx context.Context, place stream.Place, entries []EntryRow, trials []TrialRow, verdicts []VerdictRow) (
	e, t, v []bool, err error) {
	if e, err = unlike(ctx, s, "entries", entryColumns, entries, string(SpanOf(place, entries))); err != nil {
		return nil, nil, nil, err
	}
	sessions := make([]string, 0, len(trials))
	for i := range trials {
		sessions = append(sessions, trials[i].Session)
	}
	if t, err = unlike(ctx, s, "trials", trialColumns, trials, within(place)+amongst("session", sessions)); err != nil {
		return nil, nil, nil, err
	}
	if v, err = unlike(ctx, s, "verdicts", verdictColumns, verdicts, within(place)); err != nil {
		return nil, nil, nil, err
	}
	return e, t, v, nil
}

// Late marks what the store holds of a bay's rows that were written since an instant of
// its clock by whoever knew fewer than so many events of the bay. It is asked for
// when a bay is taken over, and after a while: what came between was on its way from
// a predecessor. entries are the rows that the bay's owner vouches for.
func (s *Store) Late(ctx context.Context, place stream.Place, span Span, events int, since time.Time) (map[uint64]bool, error) {
	marks := map[uint64]bool{}
	for table, where := range map[string]string{"entries": string(span), "trials": within(place)} {
		if where == "" {
			continue
		}
		question := fmt.Sprintf("SELECT cityHash64(%s, version) FROM %s FINAL WHERE %s AND inserted >= %s AND bitShiftRight(version, 36) < %d",
			keysOf[table], table, where, Quote(since.UTC().Format("2006-01-02 15:04:05.000")), events)
		err := s.hashes(ctx, question, func(h uint64) { marks[h] = true })
		if err != nil {
			return nil, fmt.Errorf("late rows of %s: %w", table, plain(err))
		}
	}
	return marks, nil
}

// Span is a condition for the keys between which rows of a bay's entries stand.
type Span string

// mostJournals bounds those that a statement names; a bay has a new one when its disk
// was renewed or a file was read again.
const mostJournals = 500

// SpanOf is the span of rows; empty: there are none.
func SpanOf(place stream.Place, rows []EntryRow) Span {
	if len(rows) == 0 {
		return ""
	}
	type ends struct{ from, to uint64 }
	of := map[string]ends{}
	for i := range rows {
		e := rows[i].Entry
		have, ok := of[e.Journal]
		if !ok {
			have.from = e.Seq
		}
		of[e.Journal] = ends{min(have.from, e.Seq), max(have.to, e.Seq)}
	}
	if len(of) > mostJournals {
		return Span(within(place))
	}
	var parts []string
	for journal, at := range of {
		parts = append(parts, fmt.Sprintf("(journal = %s AND seq BETWEEN %d AND %d)", Quote(journal), at.from, at.to))
	}
	slices.Sort(parts)
	return Span(within(place) + " AND (" + strings.Join(parts, " OR ") + ")")
}

func within(place stream.Place) string {
	return "studio = " + Quote(place.Studio) + " AND bay = " + Quote(place.Bay)
}

// amongst narrows a statement to few values of a column.
func amongst(column string, values []string) string {
	slices.Sort(values)
	if values = slices.Compact(values); len(values) > mostJournals {
		return ""
	}
	return " AND " + column + " IN " + arrayLiteral(values)
}

func (s *Store) hashes(ctx context.Context, question string, each func(uint64)) error {
	rows, err := s.conn.Query(ctx, question)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var h uint64
		if err := rows.Scan(&h); err != nil {
			return err
		}
		each(h)
	}
	return rows.Err()
}

// writtenAtOnce bounds the rows whose bytes are in memory.
const writtenAtOnce = 1000

func unlike[R any](ctx context.Context, s *Store, table string, columns []column[R], rows []R, where string) ([]bool, error) {
	if len(rows) == 0 {
		return nil, nil
	}
	columns = slices.DeleteFunc(slices.Clone(columns), func(c column[R]) bool { return c.name == "version" })
	names := make([]string, len(columns))
	for i, c := range columns {
		names[i] = c.name
	}
	types, err := s.types(ctx, table, names)
	if err != nil {
		return nil, err
	}
	ours := make(map[uint64]int, len(rows))
	var w rowBytes
	from := 0
	for some := range slices.Chunk(rows, writtenAtOnce) {
		w.begin(len(some))
		for i, c := range columns {
			if err := w.column(types[i].Type, c.take(some)); err != nil {
				return nil, fmt.Errorf("column %s of %s: %w", c.name, table, err)
			}
		}
		for i := range some {
			ours[xxhash.Sum64(w.of[i])] = from + i
		}
		from += len(some)
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	out := make([]bool, len(rows))
	for i := range out {
		out[i] = true
	}
	question := "SELECT xxHash64(formatRow('RowBinary', " + strings.Join(names, ", ") + ")) FROM " + table + " FINAL WHERE " + where
	err = s.hashes(ctx, question, func(h uint64) {
		if i, ok := ours[h]; ok {
			out[i] = false
		}
	})
	if err != nil {
		return nil, fmt.Errorf("what %s say: %w", table, plain(err))
	}
	return out, nil
}

// errUnsaid is of a column whose type nobody taught rowBytes to write.
var errUnsaid = errors.New("a type that can't be compared")

// rowBytes writes rows, column by column, as the format RowBinary has them; its
// memory is used again.
type rowBytes struct{ of [][]byte }

func (w *rowBytes) begin(n int) {
	for len(w.of) < n {
		w.of = append(w.of, nil)
	}
	w.of = w.of[:n]
	for i := range w.of {
		w.of[i] = w.of[i][:0]
	}
}

// column adds a column's values to the rows; kind is the column's type in the store.
func (w *rowBytes) column(kind string, values any) error {
	if inner, ok := strings.CutPrefix(kind, "LowCardinality("); ok {
		kind = strings.TrimSuffix(inner, ")")
	}
	switch v := values.(type) {
	case []string:
		return add(w, kind == "String", v, appendText[string])
	case [][]byte:
		return add(w, kind == "String" || kind == "Array(UInt8)", v, appendText[[]byte])
	case []bool:
		return add(w, kind == "Bool", v, func(b []byte, v bool) []byte {
			if v {
				return append(b, 1)
			}
			return append(b, 0)
		})
	case []uint8:
		return add(w, kind == "UInt8", v, func(b []byte, v uint8) []byte { return append(b, v) })
	case []uint16:
		return add(w, kind == "UInt16", v, binary.LittleEndian.AppendUint16)
	case []uint32:
		return add(w, kind == "UInt32", v, binary.LittleEndian.AppendUint32)
	case []uint64:
		return add(w, kind == "UInt64", v, binary.LittleEndian.AppendUint64)
	case []float64:
		return add(w, kind == "Float64", v, appendFloat)
	case []*float64:
		return add(w, kind == "Nullable(Float64)", v, func(b []byte, v *float64) []byte {
			if v == nil {
				return append(b, 1)
			}
			return appendFloat(append(b, 0), *v)
		})
	case []time.Time:
		return add(w, strings.HasPrefix(kind, "DateTime64(9"), v, func(b []byte, v time.Time) []byte {
			return binary.LittleEndian.AppendUint64(b, uint64(v.UnixNano()))
		})
	case []uuid.UUID:
		return add(w, kind == "UUID", v, func(b []byte, v uuid.UUID) []byte { // two numbers, the lowest byte of each first
			b = binary.LittleEndian.AppendUint64(b, binary.BigEndian.Uint64(v[:8]))
			return binary.LittleEndian.AppendUint64(b, binary.BigEndian.Uint64(v[8:]))
		})
	case [][]uint32:
		return add(w, kind == "Array(UInt32)", v, list(binary.LittleEndian.AppendUint32))
	case [][]float64:
		return add(w, kind == "Array(Float64)", v, list(appendFloat))
	case [][]string:
		return add(w, kind == "Array(String)" || kind == "Array(LowCardinality(String))", v, list(appendText[string]))
	}
	return fmt.Errorf("%w: %T", errUnsaid, values)
}

// add adds a column whose type in the store is the one that add writes.
func add[T any](w *rowBytes, right bool, column []T, write func([]byte, T) []byte) error {
	if !right {
		return fmt.Errorf("%w: %T", errUnsaid, column)
	}
	for i, v := range column {
		w.of[i] = write(w.of[i], v)
	}
	return nil
}

func appendText[T string | []byte](b []byte, v T) []byte {
	return append(binary.AppendUvarint(b, uint64(len(v))), v...)
}

func appendFloat(b []byte, v float64) []byte {
	return binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
}

func list[T any](write func([]byte, T) []byte) func([]byte, []T) []byte {
	return func(b []byte, values []T) []byte {
		b = binary.AppendUvarint(b, uint64(len(values)))
		for _, v := range values {
			b = write(b, v)
		}
		return b
	}
}
