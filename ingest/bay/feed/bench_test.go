package feed

import (
	"bufio"
	"bytes"
	"io"
	"testing"
	"time"
)

// BenchmarkParse reads each example device's good lines, and in the same run
// only cuts them into lines with bufio; vs_raw is the ratio of the rates.
func BenchmarkParse(b *testing.B) {
	for _, name := range []string{"alder", "brook", "cedar", "ember"} {
		b.Run(name, func(b *testing.B) {
			m, data := example(b, name)
			var good, header bytes.Buffer
			entries, _, err := ParseAll(m, examples[name], bytes.NewReader(data), testStamp)
			if err != nil {
				b.Fatal(err)
			}
			if m.NeedsHeader() {
				header.Write(data[:bytes.IndexByte(data, '\n')+1])
			}
			for _, e := range entries {
				if e.Valid() {
					good.Write(append(e.Raw, '\n'))
				}
			}
			block := bytes.Repeat(good.Bytes(), 200)
			lines := bytes.Count(block, []byte{'\n'})
			b.SetBytes(int64(len(block)))
			b.ReportAllocs()
			b.ResetTimer()
			for range b.N {
				r := NewReader(m, "f", io.MultiReader(&header, bytes.NewReader(block)))
				header.Reset()
				if m.NeedsHeader() {
					header.Write(data[:bytes.IndexByte(data, '\n')+1])
				}
				n := 0
				for {
					d, err := r.Next()
					if err == io.EOF {
						break
					}
					if err != nil {
						b.Fatal(err)
					}
					d.Finish(testStamp)
					n++
				}
				if n != lines {
					b.Fatalf("%d of %d lines", n, lines)
				}
			}
			ours := b.Elapsed()
			b.StopTimer()
			began := time.Now()
			for range b.N {
				s := bufio.NewScanner(bytes.NewReader(block))
				for s.Scan() {
				}
			}
			raw := time.Since(began)
			b.ReportMetric(float64(lines*b.N)/ours.Seconds(), "lines/s")
			b.ReportMetric(float64(raw)/float64(ours), "vs_raw")
		})
	}
}
