package raftwal

import (
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/hashicorp/raft"
	wal "github.com/hashicorp/raft-wal"
)

const (
	payloadBytes = 400 // about one shot
	recordBytes  = payloadBytes + 24 + 24
	segmentBytes = 64 << 20 // as the journal has them
)

// BenchmarkAppend measures appends beside one thread that writes and syncs as many
// bytes to a file that grows, in slices that take turns, for the disk's speed
// changes from second to second. The library has no group commit, so appends are
// put in line.
func BenchmarkAppend(b *testing.B) {
	for _, writers := range []int{1, 64} {
		b.Run(fmt.Sprintf("writers=%d", writers), func(b *testing.B) {
			l, err := wal.Open(b.TempDir(), wal.WithSegmentSize(segmentBytes))
			if err != nil {
				b.Fatal(err)
			}
			defer l.Close()
			f, err := os.Create(filepath.Join(b.TempDir(), "raw"))
			if err != nil {
				b.Fatal(err)
			}
			defer f.Close()
			record := make([]byte, recordBytes)
			raw := func() error {
				if _, err := f.Write(record); err != nil {
					return err
				}
				return f.Sync()
			}
			var mu sync.Mutex
			var last uint64
			payload := make([]byte, payloadBytes+24)
			append := func() error {
				mu.Lock()
				defer mu.Unlock()
				last++
				return l.StoreLog(&raft.Log{Index: last, Data: payload})
			}
			const slice = 40
			rounds := max(50/writers, 1)
			var ours, plain time.Duration
			turns := 0
			for b.Loop() {
				for range rounds {
					plain += spread(b, slice, 1, raw)
					ours += spread(b, slice*writers, writers, append)
					turns++
				}
			}
			rate, base := float64(turns*slice*writers)/ours.Seconds(), float64(turns*slice)/plain.Seconds()
			b.ReportMetric(0, "ns/op")
			b.ReportMetric(rate, "records/s")
			b.ReportMetric(base, "raw/s")
			b.ReportMetric(rate/base, "x_raw")
		})
	}
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
