package feed

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// BenchmarkVisible appends one line and waits until it was emitted: how soon a
// shot is seen. vs_raw is a bare write and read of the same line to that.
func BenchmarkVisible(b *testing.B) {
	path := filepath.Join(b.TempDir(), "shots.csv")
	write(b, path, plainHeader)
	s, err := NewTail(TailConfig{Map: parsed(b, plainMap), Path: path})
	if err != nil {
		b.Fatal(err)
	}
	seen := make(chan struct{}, 1)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() {
		done <- s.Run(ctx, nil, func(context.Context, Batch) error { seen <- struct{}{}; return nil })
	}()
	line := rows(1, 1)
	write(b, path, line)
	<-seen
	b.ResetTimer()
	for range b.N {
		write(b, path, line)
		<-seen
	}
	ours := b.Elapsed()
	b.StopTimer()
	cancel()
	<-done
	raw := time.Now()
	for range b.N {
		write(b, path, line)
		f, err := os.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		buf := make([]byte, len(line))
		if _, err := f.ReadAt(buf, 0); err != nil {
			b.Fatal(err)
		}
		f.Close()
	}
	b.ReportMetric(float64(time.Since(raw))/float64(ours), "vs_raw")
}
