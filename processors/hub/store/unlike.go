package store

import (
	"cmp"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/cespare/xxhash/v2"
	"github.com/google/uuid"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// unlikeAtOnce bounds the rows that are compared by one statement, which costs the
// engine most by its beginning, and writtenAtOnce the text that they are here.
const (
	unlikeAtOnce  = 20_000
	writtenAtOnce = 2000
)

// Unlike says of each row of a bay's entries whether the store has none such: none of
// its key, or one that says something else. Versions and times of insertion are not
// compared. Both sides write a row as the same text and compare its hash, so no row
// comes back; in doubt a row is unlike.
func (s *Store) Unlike(ctx context.Context, place stream.Place, rows []EntryRow) ([]bool, error) {
	order := make([]int, len(rows))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		x, y := rows[a].Entry, rows[b].Entry
		return cmp.Or(cmp.Compare(x.Journal, y.Journal), cmp.Compare(x.Seq, y.Seq))
	})
	out := make([]bool, len(rows))
	var written texts
	var these []EntryRow
	for len(order) > 0 {
		piece := order[:min(unlikeAtOnce, len(order))]
		journal := rows[piece[0]].Entry.Journal
		if n := slices.IndexFunc(piece, func(i int) bool { return rows[i].Entry.Journal != journal }); n > 0 {
			piece = piece[:n]
		}
		order = order[len(piece):]
		stored, err := s.digests(ctx, place, journal, rows[piece[0]].Entry.Seq, rows[piece[len(piece)-1]].Entry.Seq)
		if err != nil {
			return nil, err
		}
		for some := range slices.Chunk(piece, writtenAtOnce) {
			these = these[:0]
			for _, i := range some {
				these = append(these, rows[i])
			}
			ours, err := written.digests(these)
			if err != nil {
				return nil, err
			}
			for k, i := range some {
				have, there := stored[rowKey{these[k].Entry.Seq, these[k].Entry.ID()}]
				out[i] = !there || have != ours[k]
			}
		}
	}
	return out, nil
}

type rowKey struct {
	seq uint64
	id  event.ShotID
}

// digests reads what the rows of a piece of a journal say.
func (s *Store) digests(ctx context.Context, place stream.Place, journal string, from, to uint64) (map[rowKey]uint64, error) {
	said, err := s.said(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := s.conn.Query(ctx, "SELECT seq, shot_id, "+said+" FROM entries FINAL "+
		"WHERE studio = ? AND bay = ? AND journal = ? AND seq BETWEEN ? AND ?", place.Studio, place.Bay, journal, from, to)
	if err != nil {
		return nil, fmt.Errorf("what rows say: %w", plain(err))
	}
	defer rows.Close()
	out := map[rowKey]uint64{}
	for rows.Next() {
		var k rowKey
		var id uuid.UUID
		var digest uint64
		if err := rows.Scan(&k.seq, &id, &digest); err != nil {
			return nil, fmt.Errorf("what rows say: %w", err)
		}
		k.id = event.ShotID(id)
		out[k] = digest
	}
	return out, rows.Err()
}

// said is the expression for the hash of what a row of entries says, as texts writes it.
func (s *Store) said(ctx context.Context) (string, error) {
	var names []string
	for _, c := range entryColumns {
		if c.name != "version" {
			names = append(names, c.name)
		}
	}
	types, err := s.types(ctx, "entries", names)
	if err != nil {
		return "", err
	}
	parts := make([]string, len(types))
	for i, t := range types {
		switch kind := strings.TrimSuffix(strings.TrimPrefix(t.Type, "LowCardinality("), ")"); {
		case kind == "String" || t.Type == "String":
			parts[i] = fmt.Sprintf("toString(length(%s)), ':', %s", t.Name, t.Name)
		case t.Type == "Bool":
			parts[i] = fmt.Sprintf("toString(toUInt8(%s))", t.Name)
		case t.Type == "Float64":
			parts[i] = fmt.Sprintf("toString(reinterpretAsUInt64(%s))", t.Name)
		case t.Type == "Nullable(Float64)":
			parts[i] = fmt.Sprintf("if(isNull(%s), '', toString(reinterpretAsUInt64(assumeNotNull(%s))))", t.Name, t.Name)
		case strings.HasPrefix(t.Type, "DateTime64(9"):
			parts[i] = fmt.Sprintf("toString(toUnixTimestamp64Nano(%s))", t.Name)
		case strings.HasPrefix(t.Type, "UInt"):
			parts[i] = fmt.Sprintf("toString(%s)", t.Name)
		case t.Type == "UUID":
			parts[i] = fmt.Sprintf("lower(hex(%s))", t.Name)
		default:
			return "", fmt.Errorf("column %s: %w: %s", t.Name, errUnsaid, t.Type)
		}
	}
	return "xxHash64(concat(" + strings.Join(parts, ", ',', ") + ", ','))", nil
}

// errUnsaid is of a column whose type nobody taught both sides to write.
var errUnsaid = errors.New("a type that can't be compared")

// texts writes rows as said does; its memory is used again.
type texts struct{ of [][]byte }

func (x *texts) digests(rows []EntryRow) ([]uint64, error) {
	for len(x.of) < len(rows) {
		x.of = append(x.of, nil)
	}
	for i := range rows {
		x.of[i] = x.of[i][:0]
	}
	for _, c := range entryColumns {
		if c.name == "version" {
			continue
		}
		switch v := c.take(rows).(type) {
		case []string:
			each(x, v, appendText)
		case [][]byte:
			each(x, v, appendText)
		case []bool:
			each(x, v, func(b []byte, v bool) []byte { return append(b, "01"[bit(v)]) })
		case []float64:
			each(x, v, appendFloat)
		case []*float64:
			each(x, v, func(b []byte, v *float64) []byte {
				if v == nil {
					return b
				}
				return appendFloat(b, *v)
			})
		case []time.Time:
			each(x, v, func(b []byte, v time.Time) []byte { return strconv.AppendInt(b, v.UnixNano(), 10) })
		case []uint64:
			each(x, v, appendNumber)
		case []uint32:
			each(x, v, appendNumber)
		case []uint16:
			each(x, v, appendNumber)
		case []uuid.UUID:
			each(x, v, appendID)
		default:
			return nil, fmt.Errorf("column %s: %w: %T", c.name, errUnsaid, v)
		}
	}
	out := make([]uint64, len(rows))
	for i := range rows {
		out[i] = xxhash.Sum64(x.of[i])
	}
	return out, nil
}

// each adds a column's values to the rows' texts.
func each[T any](x *texts, column []T, add func([]byte, T) []byte) {
	for i, v := range column {
		x.of[i] = append(add(x.of[i], v), ',')
	}
}

func appendText[T string | []byte](b []byte, v T) []byte {
	return append(append(strconv.AppendInt(b, int64(len(v)), 10), ':'), v...)
}

func appendNumber[T uint64 | uint32 | uint16](b []byte, v T) []byte {
	return strconv.AppendUint(b, uint64(v), 10)
}

func appendFloat(b []byte, v float64) []byte { return strconv.AppendUint(b, math.Float64bits(v), 10) }

// appendID writes an id as the store's hex() does.
func appendID(b []byte, v uuid.UUID) []byte {
	return fmt.Appendf(b, "%016x%016x", binary.BigEndian.Uint64(v[:8]), binary.BigEndian.Uint64(v[8:]))
}

func bit(v bool) int {
	if v {
		return 1
	}
	return 0
}
