package profile

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
)

func TestAdjustMovesTowardTheReference(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	p := mustProfile(t, player.shots(rng, 10), Options{Category: glossary.Driver})
	ref := Reference(glossary.Driver)
	same, err := p.Adjust(ref, ref)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range same.All() {
		near(t, "no difference, "+string(e.Term), e.Mean, p.Get(e.Term).Mean, 0)
		near(t, "no difference, error of "+string(e.Term), e.SE, p.Get(e.Term).SE, 1e-15)
	}
	longWeak := Build{Length: Some(46 * club.Inch), Loft: Some(12.5), Lie: Some(58)}
	adj, err := p.Adjust(longWeak, ref)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "speed of an inch", adj.Get(Speed).Shift, -12.2*0.0254, 1e-9)
	near(t, "dynamic loft of 2°", adj.Get(DynamicLoft).Shift, -1.7, 1e-9)
	for _, term := range []Term{Speed, Attack, DynamicLoft} {
		if adj.Get(term).SE <= p.Get(term).SE {
			t.Errorf("adjusting %s adds no uncertainty", term)
		}
	}
	if adj.Get(Path).SE != p.Get(Path).SE || adj.Get(StrikeScatter).SE != p.Get(StrikeScatter).SE {
		t.Error("what the build does not touch changed")
	}
	blind, err := p.Adjust(Build{}, ref)
	if err != nil {
		t.Fatal(err)
	}
	if blind.Get(DynamicLoft).Shift != 0 || blind.Get(DynamicLoft).SE <= p.Get(DynamicLoft).SE || len(blind.Notes) != 3 {
		t.Errorf("an unknown build: %+v, %q", blind.Get(DynamicLoft), blind.Notes)
	}
	// The same club at two visits: adjusting shifts both alike and adds nothing.
	raw, err := Compare(p, p, Setting{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	both, err := Compare(adj, adj, Setting{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	other, err := Compare(same, adj, Setting{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range raw {
		near(t, "one club, error of "+string(c.Term), both[i].SEVisit, c.SEVisit, 1e-12)
		near(t, "one club, change of "+string(c.Term), both[i].Diff, 0, 1e-12)
		if c.Term == DynamicLoft && other[i].SEVisit <= c.SEVisit {
			t.Error("another club adds no uncertainty to the change of dynamic loft")
		}
	}
	if _, err := adj.Adjust(ref, ref); err == nil {
		t.Error("a profile is adjusted twice")
	}
	for _, bad := range []Build{{Loft: Some(math.NaN())}, {Length: Some(45)}, {Lie: Some(1)}} {
		if _, err := p.Adjust(bad, ref); err == nil {
			t.Errorf("%+v is taken", bad)
		}
	}
	if _, err := p.Adjust(ref, Build{}); err == nil {
		t.Error("an unknown reference is taken")
	}
	iron := Effects(36)
	for _, e := range iron {
		if e.Attribute == "lie" {
			near(t, "face of a degree of lie at 36°", e.Mean, -0.8*0.7265, 1e-4)
		}
	}
}

// An unchanged swing, seen at two visits with the visit noise that is assumed,
// is called changed in no more than one comparison of twenty, over all terms.
func TestUnchangedSwingIsSeldomCalledChanged(t *testing.T) {
	pairs := 1500
	if proof.Wanted() {
		pairs = 50000
	}
	rng := rand.New(rand.NewPCG(4, 9))
	visit := func() Profile {
		s := player
		s.speed += facts[Speed].visit * rng.NormFloat64()
		s.attack += facts[Attack].visit * rng.NormFloat64()
		s.path += facts[Path].visit * rng.NormFloat64()
		s.ftp += facts[FaceToPath].visit * rng.NormFloat64()
		s.loft += facts[DynamicLoft].visit * rng.NormFloat64()
		s.x += facts[StrikeX].visit * rng.NormFloat64()
		s.y += facts[StrikeY].visit * rng.NormFloat64()
		f := math.Exp(facts[StrikeScatter].visit * rng.NormFloat64())
		s.sx, s.sy = s.sx*f, s.sy*f
		shots := s.shots(rng, 12)
		tempo := 0.12 * rng.NormFloat64()
		for i := range shots {
			shots[i].Tempo.V += tempo
			shots[i].Face = Opt{} // path plus face to path would add their noise twice
			shots[i].FaceToPath = Some(s.ftp + 1.5*rng.NormFloat64())
		}
		return mustProfile(t, shots, Options{Category: glossary.Driver})
	}
	wrong := 0
	for range pairs {
		changes, err := Compare(visit(), visit(), Setting{}, Noise{Face: {SD: 3}})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range changes {
			if c.Verdict == Changed {
				wrong++
				break
			}
		}
	}
	share := float64(wrong) / float64(pairs)
	if limit := 0.05 + 3*math.Sqrt(0.05*0.95/float64(pairs)); share > limit {
		t.Errorf("an unchanged swing is called changed in %.3f of pairs, at most %.3f", share, limit)
	}
	if wrong == 0 {
		t.Error("never called changed: the test could not fail")
	}
}

func TestAPlantedChangeIsFoundAndRead(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	steep := player
	steep.attack, steep.loft = -4, 15
	rising := steep
	rising.attack = 2.5
	before := mustProfile(t, steep.shots(rng, 14), Options{Category: glossary.Driver})
	after := mustProfile(t, rising.shots(rng, 14), Options{Category: glossary.Driver})
	changes, err := Compare(before, after, Setting{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range changes {
		if want := c.Term == Attack; (c.Verdict == Changed) != want {
			t.Errorf("%s: %q (difference %.2f, p %.3g)", c.Term, c.Verdict, c.Diff, c.PNoise)
		}
	}
	read := Imply(glossary.Driver, changes, Build{Loft: Some(12.5)})
	if len(read) != 1 || !strings.Contains(read[0].Text, "no longer fits a rising one") || !strings.Contains(read[0].Text, "2.0° weak") ||
		read[0].Try == "" {
		t.Errorf("implications: %+v", read)
	}
	if none := Imply(glossary.Driver, nil, Build{}); len(none) != 1 || !strings.Contains(none[0].Text, "no new reason") {
		t.Errorf("no change implies %+v", none)
	}
}

func TestAChangeThatADeviceExplainsIsNotBlamedOnTheSwing(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 2))
	moved := player
	moved.loft += 4
	before := mustProfile(t, player.shots(rng, 20), Options{Category: glossary.Driver})
	after := mustProfile(t, moved.shots(rng, 20), Options{Category: glossary.Driver})
	verdict := func(s Setting) Verdict {
		changes, err := Compare(before, after, s, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range changes {
			if c.Term == DynamicLoft {
				return c.Verdict
			}
		}
		return ""
	}
	if got := verdict(Setting{}); got != Changed {
		t.Errorf("same setting: %q", got)
	}
	if got := verdict(Setting{Device: true, Ball: true, Surface: true}); got != Confounded {
		t.Errorf("all else changed: %q", got)
	}
}

func TestAlikeDaysAreSaidToBeTheSame(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 2))
	shots := player.shots(rng, 40)
	p := mustProfile(t, shots, Options{Category: glossary.Driver})
	few := mustProfile(t, shots[:4], Options{Category: glossary.Driver})
	changes, err := Compare(p, p, Setting{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	unsure, err := Compare(few, few, Setting{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range changes {
		switch c.Term {
		case Speed, Attack, DynamicLoft:
			if c.Verdict != Same {
				t.Errorf("%s over 40 shots a day, no difference: %q (%.2f)", c.Term, c.Verdict, c.ProbLess)
			}
		case FaceToPath:
			if unsure[i].Verdict != WithinDays {
				t.Errorf("%s over 4 shots a day: %q", c.Term, unsure[i].Verdict)
			}
		}
	}
}

func TestCompareRefuses(t *testing.T) {
	p := mustProfile(t, nil, Options{Category: glossary.Driver})
	iron := mustProfile(t, nil, Options{Category: glossary.Iron})
	left := mustProfile(t, nil, Options{Category: glossary.Driver, Left: true})
	adj, err := p.Adjust(Build{}, Reference(glossary.Driver))
	if err != nil {
		t.Fatal(err)
	}
	for name, other := range map[string]Profile{"another club": iron, "another hand": left, "another build": adj} {
		if _, err := Compare(p, other, Setting{}, nil); err == nil {
			t.Errorf("%s is compared", name)
		}
	}
	if _, err := Compare(p, p, Setting{}, Noise{Speed: {SD: math.NaN()}}); err == nil {
		t.Error("visit noise of NaN is taken")
	}
}

func TestBandsAddUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	for c := range bands {
		p := mustProfile(t, player.shots(rng, 8), Options{Category: c})
		for _, term := range Terms() {
			var sum float64
			list := p.Bands(term)
			for _, b := range list {
				if b.Prob < 0 || b.Prob > 1 || b.Name == "" {
					t.Errorf("%s %s: %+v", c, term, b)
				}
				sum += b.Prob
			}
			near(t, string(c)+" "+string(term), sum, 1, 1e-12)
			if best, ok := p.Likeliest(term); !ok || best.Prob < 1/float64(len(list)) {
				t.Errorf("%s %s: likeliest %+v", c, term, best)
			}
			if s, _ := scaleOf(c, term); len(s.names) != len(s.cuts)+1 {
				t.Errorf("%s %s: %d names for %d cuts", c, term, len(s.names), len(s.cuts))
			}
		}
	}
}
