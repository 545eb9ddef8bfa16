package store

import (
	"testing"
	"time"
)

// Writing a block against copying the bytes that it comes to.
func BenchmarkBlocks(b *testing.B) {
	block := block(16384)
	block.Columns = append(block.Columns[:12:12], block.Columns[13:]...) // a dictionary of as many words as rows is no usual one
	body, err := block.AppendNative(nil)
	if err != nil {
		b.Fatal(err)
	}
	into, raw := make([]byte, 0, len(body)), time.Duration(0)
	b.SetBytes(int64(len(body)))
	for b.Loop() {
		begun := time.Now()
		into = append(into[:0], body...)
		raw += time.Since(begun)
		if into, err = block.AppendNative(into[:0]); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(raw)/float64(b.Elapsed()-raw), "ratio-to-raw")
}
