package journal

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

const benchPayload = 400 // bytes, about one shot

// rawFile is the baseline: write and sync of as many bytes as a record takes on
// the disk. With reserve, room is reserved ahead, as the journal does it.
type rawFile struct {
	f         file
	rec       []byte
	off, room int64
	reserve   bool
}

func newRawFile(b *testing.B, reserve bool) *rawFile {
	b.Helper()
	f, err := (osDisk{}).create(filepath.Join(b.TempDir(), "raw"))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { f.Close() })
	r := &rawFile{f: f, rec: make([]byte, benchPayload+24+frameLen), reserve: reserve}
	for i := range r.rec {
		r.rec[i] = byte(i)
	}
	return r
}

func (r *rawFile) append() error {
	if r.reserve && r.off+int64(len(r.rec)) > r.room {
		if err := writeZeros(r.f, r.off, reserveBytes); err != nil {
			return err
		}
		if err := r.f.sync(); err != nil {
			return err
		}
		r.room = r.off + reserveBytes
		r.room += reserveBytes
	}
	if _, err := r.f.WriteAt(r.rec, r.off); err != nil {
		return err
	}
	r.off += int64(len(r.rec))
	return r.f.sync()
}

// spread runs do n times in all, shared by so many goroutines.
func spread(b *testing.B, n, writers int, do func() error) time.Duration {
	b.Helper()
	var left atomic.Int64
	left.Store(int64(n))
	var wg sync.WaitGroup
	start := time.Now()
	for range writers {
		wg.Go(func() {
			for left.Add(-1) >= 0 {
				if err := do(); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	wg.Wait()
	return time.Since(start)
}

// compare alternates short slices of the baselines and of what is measured, for
// the disk's speed changes from second to second, and reports rates and ratios.
func compare(b *testing.B, writers int, do func() error) {
	b.Helper()
	plain, reserved := newRawFile(b, false), newRawFile(b, true)
	const slice, rounds = 40, 50
	slices := []struct {
		n, writers int
		do         func() error
		took       time.Duration
	}{{slice, 1, plain.append, 0}, {slice, 1, reserved.append, 0}, {slice * writers, writers, do, 0}}
	turns := 0
	for b.Loop() {
		for i := range rounds {
			for k := range slices {
				s := &slices[(i+k)%len(slices)]
				s.took += spread(b, s.n, s.writers, s.do)
			}
			turns++
		}
	}
	rate := func(i int) float64 { return float64(turns*slices[i].n) / slices[i].took.Seconds() }
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(rate(2), "records/s")
	b.ReportMetric(rate(0), "raw/s")
	b.ReportMetric(rate(1), "raw_reserved/s")
	b.ReportMetric(rate(2)/rate(0), "x_raw")
	b.ReportMetric(rate(2)/rate(1), "x_raw_reserved")
}

// BenchmarkAppend compares with one thread that writes and syncs as many bytes,
// growing its file (raw) and in room reserved ahead (raw_reserved).
func BenchmarkAppend(b *testing.B) {
	for _, writers := range []int{1, 8, 64} {
		b.Run(fmt.Sprintf("writers=%d", writers), func(b *testing.B) {
			j, _ := openJournal(b, Options{Dir: b.TempDir()})
			rec := Record{Payload: make([]byte, benchPayload), Positions: []Position{{"range", make([]byte, 24)}}}
			compare(b, writers, func() error {
				_, err := j.Append(context.Background(), rec)
				return err
			})
		})
	}
}

// BenchmarkOpen is what a start costs.
func BenchmarkOpen(b *testing.B) {
	o := Options{Dir: b.TempDir(), NoSync: true}
	j, _ := openJournal(b, o)
	var recs []Record
	for range 500 {
		recs = append(recs, Record{Payload: make([]byte, benchPayload)})
	}
	for range 400 { // 200,000 shots: years of one bay
		mustAppend(b, j, recs...)
	}
	j.Close()
	bytes := j.Journals()[0].Bytes
	b.SetBytes(bytes)
	for b.Loop() {
		j, _ := openJournal(b, o)
		j.Close()
	}
}

// BenchmarkRead is a publisher that catches up, compared with reading the files.
func BenchmarkRead(b *testing.B) {
	o := Options{Dir: b.TempDir(), NoSync: true}
	j, _ := openJournal(b, o)
	for range 100 {
		var recs []Record
		for range 500 {
			recs = append(recs, Record{Payload: make([]byte, benchPayload)})
		}
		mustAppend(b, j, recs...)
	}
	files, _ := filepath.Glob(filepath.Join(o.Dir, "*.journal"))
	var raw, ours time.Duration
	n := 0
	for b.Loop() {
		start := time.Now()
		for _, f := range files {
			if _, err := os.ReadFile(f); err != nil {
				b.Fatal(err)
			}
		}
		raw += time.Since(start)
		start = time.Now()
		r := j.Read("", 1)
		for {
			if _, ok, err := r.TryNext(); err != nil {
				b.Fatal(err)
			} else if !ok {
				break
			}
			n++
		}
		r.Close()
		ours += time.Since(start)
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(float64(n)/ours.Seconds(), "records/s")
	b.ReportMetric(raw.Seconds()/ours.Seconds(), "x_raw")
}
