package sim

import (
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/sync/errgroup"

	"fairlead/deploy/engine/enginetest"
	"fairlead/processors/hub/store"
)

// BenchmarkFleet stores a fleet, drawn and encoded on the way, and as the raw
// baseline the same rows encoded beforehand, into the same tables of one engine
// in turns. The ratio is of shots a second.
func BenchmarkFleet(b *testing.B) {
	o := FleetOptions{Players: 12000, Seed: 1, Left: 0.11, Order: true, Mishits: 0.03, Excluded: 0.5}
	f, err := NewFleet(o)
	if err != nil {
		b.Fatal(err)
	}
	type ready struct {
		table, columns string
		body           []byte
	}
	var prepared []ready
	shots := 0
	for n := range f.Studios() {
		rows := f.Rows(n)
		s, _ := rows.count()
		shots += s
		for _, part := range []struct {
			table  string
			blocks []store.Block
		}{{"trials", rows.Trials}, {"entries", rows.Entries}} {
			columns, body, err := store.Native(part.blocks...)
			if err != nil {
				b.Fatal(err)
			}
			prepared = append(prepared, ready{part.table, columns, body})
		}
	}
	fresh := func() *store.Blocks {
		db := enginetest.New(b)
		if err := store.New(db.Open(b)).Migrate(b.Context()); err != nil {
			b.Fatal(err)
		}
		to, err := store.OpenBlocks(db.DSN())
		if err != nil {
			b.Fatal(err)
		}
		b.Cleanup(func() { _ = to.Close() })
		return to
	}
	var raw, ours time.Duration
	for b.Loop() {
		to := fresh()
		start := time.Now()
		var next atomic.Int64
		var g errgroup.Group
		for range inserters {
			g.Go(func() error {
				for {
					i := int(next.Add(1)) - 1
					if i >= len(prepared) {
						return nil
					}
					if err := to.InsertNative(b.Context(), prepared[i].table, prepared[i].columns, prepared[i].body); err != nil {
						return err
					}
				}
			})
		}
		if err := g.Wait(); err != nil {
			b.Fatal(err)
		}
		raw += time.Since(start)
		to = fresh()
		start = time.Now()
		if _, err := f.Write(b.Context(), to, nil); err != nil {
			b.Fatal(err)
		}
		ours += time.Since(start)
	}
	total := float64(shots) * float64(b.N)
	b.ReportMetric(total/raw.Seconds(), "raw-shots/s")
	b.ReportMetric(total/ours.Seconds(), "shots/s")
	b.ReportMetric(raw.Seconds()/ours.Seconds(), "of-raw")
}

// BenchmarkFleetRows is the drawing alone.
func BenchmarkFleetRows(b *testing.B) {
	f, err := NewFleet(FleetOptions{Players: 1500, Seed: 1, Order: true})
	if err != nil {
		b.Fatal(err)
	}
	shots := 0
	for b.Loop() {
		rows := f.Rows(0)
		s, _ := rows.count()
		shots += s
	}
	b.ReportMetric(float64(shots)/b.Elapsed().Seconds(), "shots/s")
}

// BenchmarkSwing is one simulated hit with impact and flight.
func BenchmarkSwing(b *testing.B) {
	p := NewPlayer(1, 1)
	s := NewSwinger(p, source(1, "bench"), standardAir)
	c := p.Gamer("driver")
	for b.Loop() {
		s.Swing(c)
	}
}
