package flight

import (
	"runtime"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// flightShots are the flights the benchmarks share: all over the domain, with
// what never leaves the ground taken out.
func flightShots(b *testing.B, n int) []shot {
	b.Helper()
	var keep []shot
	for _, s := range drawShots(4*n, 2) {
		if r, err := Simulate(s.l, s.c); err == nil && r.Carry > 5 {
			keep = append(keep, s)
		}
	}
	return keep[:n]
}

// cpuTime is the processor time of this thread, which other work on the
// machine does not stretch as it stretches the wall's.
func cpuTime(b *testing.B) time.Duration {
	var u unix.Rusage
	if err := unix.Getrusage(unix.RUSAGE_THREAD, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// carryOnly is the flight of Simulate without the run-out, for comparison with
// a reference that has none either.
func carryOnly(s *shot) Result {
	var p stepper
	p.start(&s.l, &s.c)
	var r Result
	for p.seg.to.t < longestFlight {
		p.next()
		if u, landed := p.seg.landing(s.c.LandingHeight, &r.Apex); landed {
			end := p.seg.at(u)
			r.Carry, r.Offline = end.x, end.y
			break
		}
	}
	return r
}

// worstOf is the worst landing error in m over shots of a fixed-step method.
func worstOf(shots []shot, landing func(*shot) (float64, float64)) float64 {
	worst := 0.0
	for i := range shots {
		x, y, _ := reference(shots[i].l, shots[i].c, 1e-3)
		cx, cy := landing(&shots[i])
		worst = max(worst, miss(x, y, cx, cy))
	}
	return worst
}

// bag are the shots that bays see: driver, woods, irons and wedges.
func bag() []shot {
	var shots []shot
	for _, l := range []Launch{
		{72, 11, 1, 2600, 3}, {58, 14, -1, 2900, -6}, {64, 12, 0, 3800, 2}, {57, 14, 1, 5200, 0},
		{53, 17, -1, 6800, 4}, {47, 20, 2, 7600, -3}, {42, 25, 0, 9200, 1}, {36, 30, 0, 10300, 0},
	} {
		shots = append(shots, shot{l, Standard()})
	}
	return shots
}

// BenchmarkSimulate reports whole flights, run-out included, per second of one
// core: over the whole domain, corners and all, and for an ordinary bag.
func BenchmarkSimulate(b *testing.B) {
	for name, shots := range map[string][]shot{"domain": flightShots(b, 512), "bag": bag()} {
		b.Run(name, func(b *testing.B) {
			runtime.LockOSThread()
			defer runtime.UnlockOSThread()
			b.ReportAllocs()
			start, n := cpuTime(b), 0
			for b.Loop() {
				s := &shots[n%len(shots)]
				if _, err := Simulate(s.l, s.c); err != nil {
					b.Fatal(err)
				}
				n++
			}
			b.ReportMetric(float64(n)/(cpuTime(b)-start).Seconds(), "flights/cpu-s")
		})
	}
}

// BenchmarkAgainstFixedStep runs, over the same flights, the adaptive method
// and the classical Runge-Kutta with the longest fixed step whose worst error
// is no larger, and reports the ratio of their processor times.
func BenchmarkAgainstFixedStep(b *testing.B) {
	shots := flightShots(b, 256)
	for i := range shots {
		shots[i].c.Wind = Wind{} // both only walk in the air's frame
	}
	ours := worstOf(shots, func(s *shot) (float64, float64) { r := carryOnly(s); return r.Carry, r.Offline })
	step, theirs := 0.1, 0.0
	for ; step > 1e-3; step *= 0.97 {
		if theirs = worstOf(shots, func(s *shot) (float64, float64) { x, y, _ := fixedStep(s, step); return x, y }); theirs <= ours {
			break
		}
	}
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	var adaptive, fixed time.Duration
	n := 0
	b.ResetTimer()
	for b.Loop() {
		t0 := cpuTime(b)
		for i := range shots {
			carryOnly(&shots[i])
		}
		t1 := cpuTime(b)
		for i := range shots {
			fixedStep(&shots[i], step)
		}
		adaptive, fixed = adaptive+t1-t0, fixed+cpuTime(b)-t1
		n += len(shots)
	}
	b.ReportMetric(float64(fixed)/float64(adaptive), "times-faster")
	b.ReportMetric(float64(adaptive.Nanoseconds())/float64(n), "adaptive-ns")
	b.ReportMetric(float64(fixed.Nanoseconds())/float64(n), "rk4-ns")
	b.ReportMetric(1000*ours, "adaptive-worst-mm")
	b.ReportMetric(1000*theirs, "rk4-worst-mm")
	b.ReportMetric(1000*step, "rk4-step-ms")
}

// fixedStep is the fair opponent: RK4 written out as tightly as the adaptive
// step is (positions as quadratures), landing on the same polynomial of fifth degree.
func fixedStep(s *shot, h float64) (x, y float64, steps int) {
	var p stepper
	p.start(&s.l, &s.c)
	f, g := &p.f, &p.seg
	var apex float64
	for g.to.t < longestFlight {
		g.from, g.kFrom = g.to, g.kTo
		a, k1 := &g.from, &g.kFrom
		vx2, vy2, vz2 := a.vx+h/2*k1.ax, a.vy+h/2*k1.ay, a.vz+h/2*k1.az
		k2 := f.at(vx2, vy2, vz2, a.w+h/2*k1.dw)
		vx3, vy3, vz3 := a.vx+h/2*k2.ax, a.vy+h/2*k2.ay, a.vz+h/2*k2.az
		k3 := f.at(vx3, vy3, vz3, a.w+h/2*k2.dw)
		vx4, vy4, vz4 := a.vx+h*k3.ax, a.vy+h*k3.ay, a.vz+h*k3.az
		k4 := f.at(vx4, vy4, vz4, a.w+h*k3.dw)
		g.to = state{
			t: a.t + h,
			x: a.x + h/6*(a.vx+2*vx2+2*vx3+vx4), y: a.y + h/6*(a.vy+2*vy2+2*vy3+vy4), z: a.z + h/6*(a.vz+2*vz2+2*vz3+vz4),
			vx: a.vx + h/6*(k1.ax+2*k2.ax+2*k3.ax+k4.ax), vy: a.vy + h/6*(k1.ay+2*k2.ay+2*k3.ay+k4.ay), vz: a.vz + h/6*(k1.az+2*k2.az+2*k3.az+k4.az),
			w: a.w + h/6*(k1.dw+2*k2.dw+2*k3.dw+k4.dw),
		}
		g.kTo = f.at(g.to.vx, g.to.vy, g.to.vz, g.to.w)
		steps++
		if u, landed := g.landing(s.c.LandingHeight, &apex); landed {
			end := g.at(u)
			return end.x, end.y, steps
		}
	}
	return 0, 0, steps
}
