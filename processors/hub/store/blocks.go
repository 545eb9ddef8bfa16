package store

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/ClickHouse/ch-go/proto"
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
	buf := &proto.Buffer{Buf: out}
	proto.Block{Columns: len(b.Columns), Rows: b.Rows}.EncodeAware(buf, 0)
	for i := range b.Columns {
		c := &b.Columns[i]
		buf.PutString(c.Name)
		buf.PutString(c.Type) // as the table has it: data of one kind go into several
		if n, err := c.encode(buf); err != nil {
			return nil, fmt.Errorf("column %s %s: %w", c.Name, c.Type, err)
		} else if n != b.Rows {
			return nil, fmt.Errorf("column %s %s: holds %d values in a block of %d rows", c.Name, c.Type, n, b.Rows)
		}
	}
	return buf.Buf, nil
}

// encode appends the values and says how many they are.
func (c *BlockColumn) encode(buf *proto.Buffer) (rows int, err error) {
	switch d := c.Data.(type) {
	case []float64:
		if strings.HasPrefix(c.Type, "Nullable(") {
			proto.ColUInt8(make([]uint8, len(d))).EncodeColumn(buf)
		}
		return put(buf, proto.ColFloat64(d))
	case []uint64:
		return put(buf, proto.ColUInt64(d))
	case []int64:
		return put(buf, proto.ColInt64(d))
	case []uint32:
		return put(buf, proto.ColUInt32(d))
	case []uint16:
		return put(buf, proto.ColUInt16(d))
	case []uint8:
		return put(buf, proto.ColUInt8(d))
	case []bool:
		return put(buf, proto.ColBool(d))
	case [][16]byte:
		ids := make(proto.ColUUID, len(d))
		for i := range d {
			ids[i] = d[i]
		}
		return put(buf, ids)
	case Gaps:
		if len(d.Values) != len(d.Unknown) {
			return 0, fmt.Errorf("%d values and %d marks", len(d.Values), len(d.Unknown))
		}
		proto.ColBool(d.Unknown).EncodeColumn(buf)
		return put(buf, proto.ColFloat64(d.Values))
	case Words:
		return d.encode(buf, strings.HasPrefix(c.Type, "LowCardinality("))
	case Lists[uint8]:
		return lists(buf, d.Ends, proto.ColUInt8(d.Values))
	case Lists[uint32]:
		return lists(buf, d.Ends, proto.ColUInt32(d.Values))
	case Lists[float64]:
		return lists(buf, d.Ends, proto.ColFloat64(d.Values))
	}
	return 0, fmt.Errorf("%w: %T", errBlockType, c.Data)
}

func put(buf *proto.Buffer, c proto.ColInput) (rows int, err error) {
	c.EncodeColumn(buf)
	return c.Rows(), nil
}

func lists(buf *proto.Buffer, ends []uint64, values proto.ColInput) (rows int, err error) {
	proto.ColUInt64(ends).EncodeColumn(buf)
	values.EncodeColumn(buf)
	return len(ends), nil
}

// encode appends texts: each by itself, or the dictionary and then the keys, which
// stand as they are.
func (w *Words) encode(buf *proto.Buffer, lowCardinality bool) (rows int, err error) {
	if !lowCardinality {
		for _, k := range w.Keys {
			buf.PutString(w.Dict[k])
		}
		return len(w.Keys), nil
	}
	index := &proto.ColStr{Pos: make([]proto.Position, 0, len(w.Dict))}
	for _, word := range w.Dict {
		index.Append(word)
	}
	c := proto.ColLowCardinalityRaw{Index: index, Key: proto.KeyUInt8}
	switch {
	case len(w.Dict) > math.MaxUint16:
		c.Key, c.Keys32 = proto.KeyUInt32, w.Keys
	case len(w.Dict) > math.MaxUint8:
		c.Key, c.Keys16 = proto.KeyUInt16, narrow[uint16](w.Keys)
	default:
		c.Keys8 = narrow[uint8](w.Keys)
	}
	c.EncodeState(buf)
	return put(buf, c)
}

func narrow[T uint8 | uint16](keys []uint32) []T {
	out := make([]T, len(keys))
	for i, k := range keys {
		out[i] = T(k)
	}
	return out
}
