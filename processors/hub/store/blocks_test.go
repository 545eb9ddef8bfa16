package store

import (
	"reflect"
	"testing"

	"fairlead/deploy/engine/enginetest"
)

const blockTable = `CREATE TABLE b (f Float64, nf Nullable(Float64), g Nullable(Float64), u64 UInt64, u32 UInt32, u16 UInt16, u8 UInt8, ok Bool,
	t DateTime64(9, 'UTC'), id UUID, s String, w LowCardinality(String), many LowCardinality(String), a8 Array(UInt8), a32 Array(UInt32), af Array(Float64))
	ENGINE = MergeTree ORDER BY u64`

func block(rows int) Block {
	b := Block{Rows: rows}
	var (
		f, values   []float64
		unknown, ok []bool
		u64         []uint64
		u32         []uint32
		u16         []uint16
		u8          []uint8
		at          []int64
		id          [][16]byte
		s, w, many  Words
		a8          Lists[uint8]
		a32         Lists[uint32]
		af          Lists[float64]
	)
	s.Dict, w.Dict = []string{"", "Grüße", "x"}, []string{"a", "b"}
	for i := range rows {
		f, values, unknown, ok = append(f, float64(i)/3), append(values, -float64(i)), append(unknown, i%3 == 0), append(ok, i%2 == 0)
		u64, u32, u16, u8 = append(u64, uint64(i)<<40), append(u32, uint32(i)<<20), append(u16, uint16(i)), append(u8, uint8(i))
		at, id = append(at, int64(1777626131500000000+i)), append(id, [16]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, byte(i)})
		s.Keys, w.Keys = append(s.Keys, uint32(i%3)), append(w.Keys, uint32(i%2))
		many.Dict, many.Keys = append(many.Dict, "word "+string(rune('a'+i%26))+string(rune('a'+i/26%26))+string(rune('a'+i/676))),
			append(many.Keys, uint32(i))
		for k := range i % 3 {
			a8.Values, a32.Values, af.Values = append(a8.Values, uint8(k+1)), append(a32.Values, uint32(k)+1e6), append(af.Values, float64(k)/7)
		}
		a8.Ends, a32.Ends, af.Ends = append(a8.Ends, uint64(len(a8.Values))), append(a32.Ends, uint64(len(a32.Values))),
			append(af.Ends, uint64(len(af.Values)))
	}
	b.Columns = []BlockColumn{
		{"f", "Float64", f}, {"nf", "Nullable(Float64)", f}, {"g", "Nullable(Float64)", Gaps{values, unknown}}, {"u64", "UInt64", u64},
		{"u32", "UInt32", u32},
		{"u16", "UInt16", u16}, {"u8", "UInt8", u8}, {"ok", "Bool", ok}, {"t", "DateTime64(9, 'UTC')", at}, {"id", "UUID", id},
		{"s", "String", s},
		{"w", "LowCardinality(String)", w}, {"many", "LowCardinality(String)", many}, {"a8", "Array(UInt8)", a8}, {"a32", "Array(UInt32)", a32},
		{"af", "Array(Float64)", af},
	}
	return b
}

// Blocks that travel as they are and blocks that clickhouse-go writes say the
// same, for every kind of column and every width of dictionary keys.
func TestBlocksArriveWhole(t *testing.T) {
	ctx := t.Context()
	sum := func(write func(db *enginetest.Database) error) (rows, hash uint64, example []string) {
		t.Helper()
		db := enginetest.New(t)
		conn := db.Open(t)
		if err := conn.Exec(ctx, blockTable); err != nil {
			t.Fatal(err)
		}
		if err := write(db); err != nil {
			t.Fatal(err)
		}
		if err := conn.QueryRow(ctx, "SELECT count(), sum(cityHash64(tuple(*)))  FROM b").Scan(&rows, &hash); err != nil {
			t.Fatal(err)
		}
		var text string
		if err := conn.QueryRow(ctx,
			"SELECT toString(tuple(*)) FROM b WHERE u16 = 5 AND u64 = toUInt64(5) * 1099511627776").Scan(&text); err != nil {
			t.Fatal(err)
		}
		return rows, hash, []string{text}
	}
	blocks := []Block{block(200), block(300), block(66000)}
	rows, hash, example := sum(func(db *enginetest.Database) error {
		b, err := OpenBlocks(db.DSN())
		if err != nil {
			return err
		}
		defer b.Close()
		return b.Insert(ctx, "b", blocks...)
	})
	rows2, hash2, example2 := sum(func(db *enginetest.Database) error {
		return New(db.Open(t)).insertBatch(ctx, "b", blocks)
	})
	if rows != 66500 || rows != rows2 || hash != hash2 || !reflect.DeepEqual(example, example2) {
		t.Errorf("native: %d rows, %x, %v; clickhouse-go: %d rows, %x, %v", rows, hash, example, rows2, hash2, example2)
	}
}

func TestBlocksRefuseWhatDoesNotFit(t *testing.T) {
	for name, b := range map[string]Block{
		"rows":  {Rows: 2, Columns: []BlockColumn{{"f", "Float64", []float64{1}}}},
		"kind":  {Rows: 1, Columns: []BlockColumn{{"f", "Float64", []string{"x"}}}},
		"marks": {Rows: 1, Columns: []BlockColumn{{"f", "Nullable(Float64)", Gaps{Values: []float64{1}}}}},
	} {
		if _, _, err := Native(b); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	if _, err := OpenBlocks("://"); err == nil {
		t.Error("an address that is none was taken")
	}
}
