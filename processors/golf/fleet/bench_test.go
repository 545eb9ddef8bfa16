package fleet

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"strconv"
	"testing"
	"time"

	"fairlead/deploy/proof"

	"golang.org/x/sys/unix"
)

// standardShape is the standard model: fourteen columns, of which eight carry
// six traits and a slope each, 62 coefficients and nine variances.
func standardShape(compact bool) Model {
	m := Model{SessionLevel: true, Compact: compact}
	for t := range 6 {
		m.Moderators = append(m.Moderators, fmt.Sprint("t", t))
	}
	for c := range 14 {
		m.Columns = append(m.Columns, fmt.Sprint("c", c))
		m.Terms = append(m.Terms, Term{fmt.Sprint("c", c), c, -1})
		if c < 8 {
			for t := range 6 {
				m.Terms = append(m.Terms, Term{fmt.Sprintf("c%d:t%d", c, t), c, t})
			}
			m.Random = append(m.Random, c)
		}
	}
	return m
}

// standardData fills the shape: twelve trials a player in two sessions, each
// trial changing one or two of four attributes against the first.
func standardData(tb testing.TB, players int, compact bool) *Data {
	m := standardShape(compact)
	b, err := NewBuilder(m)
	if err != nil {
		tb.Fatal(err)
	}
	b.Grow(players, 2*players, 12*players)
	rng := rand.New(rand.NewPCG(1, uint64(players)))
	row, traits := make([]float64, 14), make([]float64, 6)
	beta := make([]float64, len(m.Terms))
	for k := range beta {
		beta[k] = rng.NormFloat64() * 0.03
	}
	for j := range players {
		for i := range traits {
			traits[i] = rng.NormFloat64()
		}
		if err := b.Player(strconv.Itoa(j), traits); err != nil {
			tb.Fatal(err)
		}
		var slope [8]float64
		for i := range slope {
			slope[i] = rng.NormFloat64() * 0.05
		}
		tried := rng.Perm(8)[:4]
		for range 2 {
			if err := b.Session(0); err != nil {
				tb.Fatal(err)
			}
			level := rng.NormFloat64()
			for k := range 6 {
				zero(row)
				if k > 0 {
					for range 1 + rng.IntN(2) {
						row[tried[rng.IntN(4)]] = float64(rng.IntN(5) - 2)
					}
				}
				row[8], row[9], row[10] = row[0]*row[0], row[1]*row[1], row[2]*row[2]
				row[11], row[12], row[13] = 1/float64(1+k), float64(k), float64(rng.IntN(3))
				y := level
				for i, t := range m.Terms {
					x := row[t.Column]
					if t.Moderator >= 0 {
						x *= traits[t.Moderator]
					}
					y += beta[i] * x
				}
				for i, s := range slope {
					y += s * row[i]
				}
				v := 0.25 / (float64(rng.IntN(8)+5) / 2)
				y += rng.NormFloat64() * math.Sqrt(v+0.02)
				if err := b.Row(y, v, row); err != nil {
					tb.Fatal(err)
				}
			}
		}
	}
	return b.Data()
}

// cpuSeconds is the processor time that this process has used: on a shared
// machine it says more than the clock.
func cpuSeconds() float64 {
	var u unix.Rusage
	if unix.Getrusage(unix.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}

// BenchmarkStandardFit fits the standard model. The larger sizes run with
// FAIRLEAD_PROVE=1.
func BenchmarkStandardFit(b *testing.B) {
	sizes := []int{1_000, 10_000}
	if proof.Wanted() {
		sizes = append(sizes, 100_000, 1_000_000)
	}
	for _, n := range sizes {
		b.Run(fmt.Sprintf("players=%d", n), func(b *testing.B) {
			d := standardData(b, n, true)
			runtime.GC()
			var mem runtime.MemStats
			for b.Loop() {
				start, cpu := time.Now(), cpuSeconds()
				f, err := d.Fit(context.Background(), Options{})
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(time.Since(start).Seconds(), "s/fit")
				b.ReportMetric(cpuSeconds()-cpu, "cpu-s/fit")
				b.ReportMetric(float64(f.Iterations), "iterations")
			}
			runtime.ReadMemStats(&mem)
			b.ReportMetric(float64(d.Rows()), "rows")
			b.ReportMetric(float64(d.Bytes())/1e6, "MB-data")
			b.ReportMetric(float64(mem.HeapInuse)/1e6, "MB-heap")
		})
	}
}

// BenchmarkFullCovariance is the standard model with slopes that may correlate:
// 37 variances.
func BenchmarkFullCovariance(b *testing.B) {
	d := standardData(b, 2000, true)
	m := *d.Model
	m.FullCovariance = true
	full := *d
	full.plan = newPlan(&m)
	cpu, n := cpuSeconds(), 0
	for b.Loop() {
		if _, err := full.Fit(context.Background(), Options{}); err != nil {
			b.Fatal(err)
		}
		n++
	}
	b.ReportMetric((cpuSeconds()-cpu)/float64(n), "cpu-s/fit")
}
