package answers

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"testing"
	"time"

	"github.com/ClickHouse/ch-go/proto"
)

// trialsAsBlocks are blocks as the engine sends them for trials: numbers and a few
// texts, each of nine rows.
func trialsAsBlocks(blocks, rows int) (names []string, to []any, body []byte) {
	const numbers, texts = 30, 6
	floats := make(proto.ColFloat64, rows)
	buf := &proto.Buffer{}
	for range blocks {
		buf.PutInt(numbers + texts)
		buf.PutInt(rows)
		for c := range numbers {
			for i := range floats {
				floats[i] = float64(i * c)
			}
			buf.PutString(fmt.Sprint("f", c))
			buf.PutString("Float64")
			floats.EncodeColumn(buf)
		}
		for c := range texts {
			buf.PutString(fmt.Sprint("s", c))
			buf.PutString("String")
			for i := range rows {
				buf.PutString(fmt.Sprintf("p-%05d", i/9))
			}
		}
	}
	for c := range numbers {
		names, to = append(names, fmt.Sprint("f", c)), append(to, new(float64))
	}
	for c := range texts {
		names, to = append(names, fmt.Sprint("s", c)), append(to, new(string))
	}
	return names, to, buf.Buf
}

// Reading rows from blocks against copying the bytes of the blocks.
func BenchmarkBlocks(b *testing.B) {
	names, to, body := trialsAsBlocks(10, 16384)
	n, err := newNative(names, to)
	if err != nil {
		b.Fatal(err)
	}
	into, block, raw := make([]byte, len(body)), &nativeBlock{}, time.Duration(0)
	b.SetBytes(int64(len(body)))
	for b.Loop() {
		begun := time.Now()
		copy(into, body)
		raw += time.Since(begun)
		r := newBlockReader(bytes.NewReader(body))
		for err = n.block(r, block); err == nil; err = n.block(r, block) {
			for i := range block.rows {
				n.row(block, i)
			}
		}
		if !errors.Is(err, io.EOF) {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(raw)/float64(b.Elapsed()-raw), "ratio-to-raw")
}
