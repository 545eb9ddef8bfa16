package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Block is rows by columns, for writers that make millions of rows and have no
// use for a struct a row. Columns that a table has and the block has not get
// the table's defaults.
type Block struct {
	Rows    int
	Columns []BlockColumn
}

// BlockColumn is one column of a block. Data holds one value a row:
//
//	[]float64            Float64 or, never NULL, Nullable(Float64)
//	[]uint64 []uint32 []uint16 []uint8
//	[]bool               Bool
//	[]int64              DateTime64(9, 'UTC'), Unix ns
//	[][16]byte           UUID
//	Words                String or LowCardinality(String)
//	Gaps                 Nullable(Float64)
//	Lists[T]             Array of a number
type BlockColumn struct {
	Name string
	Type string // as the table declares it
	Data any
}

// Words are texts with repetition: Keys index into Dict.
type Words struct {
	Dict []string
	Keys []uint32
}

// Gaps are numbers of which some are unknown.
type Gaps struct {
	Values  []float64
	Unknown []bool
}

// Lists are lists of numbers: list i ends before Ends[i] in Values.
type Lists[T uint8 | uint32 | float64] struct {
	Ends   []uint64
	Values []T
}

var errBlockType = errors.New("a block cannot hold this kind of column")

// AppendNative appends the block in ClickHouse's Native format (revision 0).
func (b *Block) AppendNative(out []byte) ([]byte, error) {
	out = binary.AppendUvarint(out, uint64(len(b.Columns)))
	out = binary.AppendUvarint(out, uint64(b.Rows))
	var err error
	for i := range b.Columns {
		c := &b.Columns[i]
		out = appendText(appendText(out, c.Name), c.Type)
		if out, err = c.appendData(out, b.Rows); err != nil {
			return nil, fmt.Errorf("column %s %s: %w", c.Name, c.Type, err)
		}
	}
	return out, nil
}

func appendText(out []byte, s string) []byte {
	return append(binary.AppendUvarint(out, uint64(len(s))), s...)
}

func (c *BlockColumn) appendData(out []byte, rows int) ([]byte, error) {
	n := 0
	switch d := c.Data.(type) {
	case []float64:
		if n = len(d); strings.HasPrefix(c.Type, "Nullable(") {
			out = append(out, make([]byte, n)...)
		}
		out = appendNumbers(out, d, math.Float64bits)
	case []uint64:
		n, out = len(d), appendNumbers(out, d, func(v uint64) uint64 { return v })
	case []int64:
		n, out = len(d), appendNumbers(out, d, func(v int64) uint64 { return uint64(v) })
	case []uint32:
		n = len(d)
		for _, v := range d {
			out = binary.LittleEndian.AppendUint32(out, v)
		}
	case []uint16:
		n = len(d)
		for _, v := range d {
			out = binary.LittleEndian.AppendUint16(out, v)
		}
	case []uint8:
		n, out = len(d), append(out, d...)
	case []bool:
		n, out = len(d), appendBools(out, d)
	case [][16]byte:
		n = len(d)
		for i := range d { // two numbers of 64 bits, each from its low end
			out = binary.LittleEndian.AppendUint64(out, binary.BigEndian.Uint64(d[i][:8]))
			out = binary.LittleEndian.AppendUint64(out, binary.BigEndian.Uint64(d[i][8:]))
		}
	case Gaps:
		if n = len(d.Values); len(d.Unknown) != n {
			return nil, fmt.Errorf("%d values and %d marks", n, len(d.Unknown))
		}
		out = appendNumbers(appendBools(out, d.Unknown), d.Values, math.Float64bits)
	case Words:
		n = len(d.Keys)
		out = d.appendData(out, strings.HasPrefix(c.Type, "LowCardinality("))
	case Lists[uint8]:
		n = len(d.Ends)
		out = append(appendNumbers(out, d.Ends, func(v uint64) uint64 { return v }), d.Values...)
	case Lists[uint32]:
		n = len(d.Ends)
		out = appendNumbers(out, d.Ends, func(v uint64) uint64 { return v })
		for _, v := range d.Values {
			out = binary.LittleEndian.AppendUint32(out, v)
		}
	case Lists[float64]:
		n = len(d.Ends)
		out = appendNumbers(appendNumbers(out, d.Ends, func(v uint64) uint64 { return v }), d.Values, math.Float64bits)
	default:
		return nil, fmt.Errorf("%w: %T", errBlockType, c.Data)
	}
	if n != rows {
		return nil, fmt.Errorf("holds %d values in a block of %d rows", n, rows)
	}
	return out, nil
}

func appendNumbers[T any](out []byte, values []T, bits func(T) uint64) []byte {
	at := len(out)
	out = slices.Grow(out, 8*len(values))[:at+8*len(values)]
	for i, v := range values {
		binary.LittleEndian.PutUint64(out[at+8*i:], bits(v))
	}
	return out
}

func appendBools(out []byte, values []bool) []byte {
	for _, v := range values {
		b := byte(0)
		if v {
			b = 1
		}
		out = append(out, b)
	}
	return out
}

// appendData writes texts: each by itself, or the dictionary and then the keys.
func (w *Words) appendData(out []byte, lowCardinality bool) []byte {
	if !lowCardinality {
		for _, k := range w.Keys {
			out = appendText(out, w.Dict[k])
		}
		return out
	}
	const version, ownKeys = 1, 1 << 9 // dictionaries stand in the block itself
	width := uint64(0)                 // of a key: 1<<width bytes
	switch {
	case len(w.Dict) > math.MaxUint16:
		width = 2
	case len(w.Dict) > math.MaxUint8:
		width = 1
	}
	out = binary.LittleEndian.AppendUint64(out, version)
	out = binary.LittleEndian.AppendUint64(out, ownKeys|width)
	out = binary.LittleEndian.AppendUint64(out, uint64(len(w.Dict)))
	for _, s := range w.Dict {
		out = appendText(out, s)
	}
	out = binary.LittleEndian.AppendUint64(out, uint64(len(w.Keys)))
	for _, k := range w.Keys {
		switch width {
		case 0:
			out = append(out, byte(k))
		case 1:
			out = binary.LittleEndian.AppendUint16(out, uint16(k))
		default:
			out = binary.LittleEndian.AppendUint32(out, k)
		}
	}
	return out
}
