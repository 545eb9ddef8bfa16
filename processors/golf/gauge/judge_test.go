package gauge

import (
	"math/rand/v2"
	"testing"
)

// day makes the check of a bay: a swing of the day, the bay's own offset, ten shots.
func day(r *rand.Rand, swing, offset float64) Check {
	const n = 10
	var sum, squares float64
	for range n {
		x := 52 + swing + offset + 0.7*r.NormFloat64()
		sum += x
		squares += x * x
	}
	mean := sum / n
	v := (squares - n*mean*mean) / (n - 1)
	return Check{"ball_speed_mps": {N: n, Mean: mean, SD: sqrt(v)}}
}

func sqrt(v float64) float64 {
	x := v
	for range 60 {
		x = (x + v/x) / 2
	}
	return x
}

// studio makes four bays with a past, and today's checks; the first is off by shift.
func studio(r *rand.Rand, days int, shift float64, withOthers bool) []Finding {
	offsets := []float64{0, 0.2, -0.1, 0.1}
	var own []Check
	others := make([]Bay, 3)
	for range days {
		swing := 0.35 * r.NormFloat64() // the whole studio's swing of the day
		own = append(own, day(r, swing, offsets[0]))
		for i := range others {
			others[i].Past = append(others[i].Past, day(r, swing, offsets[i+1]))
		}
	}
	swing := 0.35 * r.NormFloat64()
	now := day(r, swing, offsets[0]+shift)
	for i := range others {
		if withOthers {
			others[i].Today = day(r, swing, offsets[i+1])
		}
	}
	return Judge(now, own, others)
}

// A bay that reads as it did is hardly ever stopped, and seldom looked at; one that
// is off by four percent is found, with the other bays' help by less.
func TestLimitsKnowTheSwing(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	rate := func(days int, shift float64, others bool) (stop, look float64) {
		const n = 2000
		for range n {
			switch Worst(studio(r, days, shift, others)) {
			case Stop:
				stop += 1. / n
			case Look:
				look += 1. / n
			}
		}
		return stop, look
	}
	for _, c := range []struct {
		days                int
		shift               float64
		others              bool
		leastStop, mostStop float64
		mostLook            float64
	}{
		{1, 0, false, 0, 0.01, 0.06}, {5, 0, false, 0, 0.005, 0.05}, {12, 0, true, 0, 0.005, 0.05},
		{8, 2.1, false, 0.75, 1, 1}, {8, 2.1, true, 0.9, 1, 1}, {1, 4, false, 0.9, 1, 1},
	} {
		stop, look := rate(c.days, c.shift, c.others)
		if stop < c.leastStop || stop > c.mostStop || look > c.mostLook {
			t.Errorf("%d days, off by %g, others %v: stopped %.3f, looked at %.3f", c.days, c.shift, c.others, stop, look)
		}

	}
}

func TestWhatCannotBeJudged(t *testing.T) {
	if got := Judge(Check{"ball_speed_mps": {N: 5, Mean: 52, SD: 1}, "other": {N: 10, Mean: 1, SD: 1}}, nil, nil); len(got) != 0 {
		t.Errorf("judged of too few shots or an unknown figure: %+v", got)
	}
	got := Judge(Check{"ball_speed_mps": {N: 10, Mean: 52, SD: 1}}, nil, nil)
	if len(got) != 1 || got[0].Word != Begins || got[0].BiasSD != 0 {
		t.Errorf("without a past: %+v", got)
	}
}

// The bias that is kept is honest: its interval holds the truth as often as it says.
func TestBiasCoversTheTruth(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	for _, others := range []bool{false, true} {
		within := 0
		const n = 2000
		for range n {
			f := studio(r, 8, 0.8, others)[0]
			if off := f.Bias - 0.8; off < 1.96*f.BiasSD && off > -1.96*f.BiasSD {
				within++
			}
		}
		if share := float64(within) / n; share < 0.93 {
			t.Errorf("others %v: an interval of 95 %% holds it in %.3f", others, share)
		}
	}
}
