package sim

import (
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/flight"
)

var standardAir = flight.Standard()

// A left-hander is the mirror image of the right-hander with the same numbers.
func TestLeftHandersAreMirrored(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		category := rapid.SampledFrom(glossary.CategoryNames()).Draw(t, "category")
		p, q := NewPlayer(seed, 1), NewPlayer(seed, 1)
		p.Left, q.Left = false, true
		s, m := NewSwinger(p, source(seed, "swing"), standardAir), NewSwinger(q, source(seed, "swing"), standardAir)
		for range 5 {
			a, b := s.Swing(p.Gamer(category)), m.Swing(q.Gamer(category))
			right, left := a.Values(), b.Values()
			for f, v := range right {
				info, _ := f.Info()
				want := v
				if info.Mirrors {
					want = -v
				}
				if math.Abs(left[f]-want) > 1e-6*(1+math.Abs(v)) {
					t.Fatalf("%s: right-handed %g, left-handed %g", info.Name, v, left[f])
				}
			}
		}
	})
}

// What people hit: carries of players by their speed lie where they do.
func TestHitsLookRight(t *testing.T) {
	for _, c := range []struct {
		category                                string
		carry, ball, launch, spin, land, sdPart [2]float64
	}{ // for a driver clubhead speed of 42 to 44 m/s (94 to 98 mph), means
		{"driver", [2]float64{180, 235}, [2]float64{59, 66}, [2]float64{8, 17}, [2]float64{1800, 3900}, [2]float64{25, 46}, [2]float64{1.2, 13}},
		{"iron", [2]float64{113, 160}, [2]float64{43, 52}, [2]float64{13, 23}, [2]float64{4300, 8000}, [2]float64{38, 53}, [2]float64{1, 10}},
		{"wedge", [2]float64{75, 118}, [2]float64{31, 43}, [2]float64{22, 35}, [2]float64{6500, 11500}, [2]float64{38, 60}, [2]float64{1, 10}},
	} {
		found := 0
		for n := 0; found < 8; n++ {
			p := NewPlayer(77, n)
			if p.DriverSpeed < 42 || p.DriverSpeed > 44 || p.Skill < 0.5 {
				continue
			}
			found++
			for _, o := range TrueEffects(p, p.Gamer(c.category), standardAir) {
				want, ok := map[string][2]float64{"carry": c.carry, "ball_speed": c.ball, "launch_angle": c.launch, "spin_rate": c.spin,
					"landing_angle": c.land}[o.Name]
				if ok && (o.Mean < want[0] || o.Mean > want[1]) {
					t.Errorf("%s of %s (%.1f m/s): mean %s %.1f %s, usual are %v", c.category, p.ID, p.DriverSpeed, o.Name, o.Mean, o.Unit, want)
				}
				if o.Name == "carry_pct" && (o.SD < c.sdPart[0] || o.SD > c.sdPart[1]) {
					t.Errorf("%s of %s: carry scatters by %.1f %%", c.category, p.ID, o.SD)
				}
				if o.MeanChange != 0 || o.LnSDChange != 0 {
					t.Errorf("the own club differs from itself: %+v", o)
				}
			}
		}
	}
}

func TestSkillTightensAndWarmUpShows(t *testing.T) {
	var good, poor []float64
	for n := range 60 {
		p := NewPlayer(5, n)
		for _, o := range TrueEffects(p, p.Gamer("iron"), standardAir) {
			if o.Name == "direction" && p.Skill > 0.8 {
				good = append(good, o.SD)
			} else if o.Name == "direction" && p.Skill < 0.45 {
				poor = append(poor, o.SD)
			}
		}
	}
	if g, p := mean(good), mean(poor); !(g < 0.75*p) || g < 0.8 || p > 9 {
		t.Errorf("direction of good players %g°, of poor ones %g°", g, p)
	}
	var cold, warm []float64
	for n := range 200 {
		p := NewPlayer(6, n)
		s := NewSwinger(p, source(uint64(n), "warm"), standardAir)
		for k := range 30 {
			h := s.Swing(p.Gamer("driver"))
			if share := h.Delivery.HeadSpeed / p.DriverSpeed; k == 0 {
				cold = append(cold, share)
			} else if k >= 20 {
				warm = append(warm, share)
			}
		}
	}
	if gain := mean(warm)/mean(cold) - 1; gain < 0.01 || gain > 0.09 {
		t.Errorf("warming up gives %.1f %% of speed", 100*gain)
	}
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// Clubs do what their attributes say: a weaker one launches higher with more
// spin and less speed, and on average carries less.
func TestClubsChangeTheDelivery(t *testing.T) {
	r := source(4, "clubs")
	var carries []float64
	for n := range 30 {
		p := NewPlayer(4, n)
		gamer := p.Gamer("iron")
		weak := *gamer
		weak.ID = "weak"
		weak.True[Loft] += 3
		for _, o := range TrueEffects(p, &weak, standardAir) {
			if o.Name == "launch_angle" && o.MeanChange < 0.8 || o.Name == "spin_rate" && o.MeanChange < 200 || o.Name == "ball_speed" &&
				o.MeanChange > -0.2 {
				t.Errorf("three degrees more loft: %s %+.2f", o.Name, o.MeanChange)
			}
			if o.Name == "carry" {
				carries = append(carries, o.MeanChange)
			}
		}
		c := candidate(r, gamer, "c")
		if f := event.ValidateBuild(c.Build); len(f) > 0 {
			t.Errorf("%s: %v", c.Change, f)
		}
		if c.Key() == gamer.Key() || reflect.DeepEqual(c.True, gamer.True) && c.headName == gamer.headName {
			t.Errorf("candidate %q is the gamer", c.Change)
		}
	}
	if m := mean(carries); m > -1 {
		t.Errorf("three degrees more loft change the carry by %.2f m on average", m)
	}
	for _, category := range glossary.CategoryNames() {
		for n := range 100 {
			if f := event.ValidateBuild(NewPlayer(8, n).Gamer(category).Build); len(f) > 0 {
				t.Errorf("%s: %v", category, f)
			}
		}
	}
}

// An ordinary putt of 2 m/s skids a quarter of a metre.
func TestPutts(t *testing.T) {
	p := NewPlayer(3, 3)
	s := NewSwinger(p, source(3, "putts"), standardAir)
	for range 200 {
		q := s.Swing(p.Gamer("putter")).Putt
		if skid := 0.0625 * q.Speed * q.Speed; math.Abs(q.Skid-skid) > 0.002*skid+1e-4 {
			t.Fatalf("%.2f m/s skids %.3f m", q.Speed, q.Skid)
		}
		if q.Distance < 1 || q.Distance > 12 || math.Abs(q.Line) > 12 {
			t.Fatalf("%+v", q)
		}
	}
}
