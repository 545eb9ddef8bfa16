package raftwal

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/hashicorp/go-hclog"
	"github.com/hashicorp/raft"
	wal "github.com/hashicorp/raft-wal"
)

// BenchmarkRaftWALDamage is not about speed: it flips one bit at a time in what
// the library wrote, opens it again, and counts what became of 40 records. It is
// the reason why there is a log of our own; TestFlippedBits of the journal is the same for that.
func BenchmarkRaftWALDamage(b *testing.B) {
	const records = 40
	dir := b.TempDir()
	l, err := wal.Open(dir, wal.WithSegmentSize(4<<10))
	if err != nil {
		b.Fatal(err)
	}
	payload := func(i int) []byte { return fmt.Appendf(nil, "shot %d %s", i, strings.Repeat("x", 200)) }
	for i := 1; i <= records; i++ {
		if err := l.StoreLog(&raft.Log{Index: uint64(i), Data: payload(i)}); err != nil {
			b.Fatal(err)
		}
	}
	if err := l.Close(); err != nil {
		b.Fatal(err)
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		b.Fatal(err)
	}
	var flips, refused, wrong, missing float64
	for b.Loop() {
		for _, file := range files {
			raw, err := os.ReadFile(filepath.Join(dir, file.Name()))
			if err != nil {
				b.Fatal(err)
			}
			used := len(bytes.TrimRight(raw, "\x00"))
			for at := 0; at < used; at += max(used/60, 1) {
				hurt := b.TempDir()
				if err := os.CopyFS(hurt, os.DirFS(dir)); err != nil {
					b.Fatal(err)
				}
				flipped := bytes.Clone(raw)
				flipped[at] ^= 1 << (at % 8)
				if err := os.WriteFile(filepath.Join(hurt, file.Name()), flipped, 0o600); err != nil {
					b.Fatal(err)
				}
				good, bad, opened := readRaftWAL(hurt, records, payload)
				flips++
				if !opened {
					refused++
				}
				wrong += float64(bad)
				// One record may be hit; the rest should be there.
				missing += float64(max(records-1-good-bad, 0))
			}
		}
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(flips, "flips")
	b.ReportMetric(100*refused/flips, "%_not_opened")
	b.ReportMetric(missing/flips, "sound_records_lost/flip")
	b.ReportMetric(100*wrong/flips, "%_changed_and_not_noticed")
}

func readRaftWAL(dir string, records int, payload func(int) []byte) (good, bad int, opened bool) {
	defer func() { _ = recover() }() // it may also end in a panic
	l, err := wal.Open(dir, wal.WithSegmentSize(4<<10), wal.WithLogger(hclog.NewNullLogger()))
	if err != nil {
		return 0, 0, false
	}
	defer l.Close()
	for i := 1; i <= records; i++ {
		var got raft.Log
		if err := l.GetLog(uint64(i), &got); err != nil {
			continue
		}
		if bytes.Equal(got.Data, payload(i)) {
			good++
		} else {
			bad++
		}
	}
	return good, bad, true
}
