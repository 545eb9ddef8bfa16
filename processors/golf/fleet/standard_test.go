package fleet_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/fleet/planted"
	"fairlead/processors/golf/profile"
)

var small = planted.Options{Players: 60, Sessions: 2, Trials: 7, Shots: 10, Null: 0.3, Seed: 5, Order: true,
	Attributes: []fleet.Attribute{fleet.Length, fleet.Lie, fleet.ShaftWeight}, Traits: []string{"speed_mps", "path_deg"}}

func question(o planted.Options) fleet.Question {
	return fleet.Question{Outcome: "direction", Category: "driver", Attributes: o.Attributes, Traits: o.Traits, Test: fleet.KnappHartung}
}

func ask(t testing.TB, trials []fleet.Trial, q fleet.Question) *fleet.Answer {
	t.Helper()
	a, err := fleet.Ask(context.Background(), trials, q)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestStandardModelHasItsDimensions(t *testing.T) {
	o := small
	o.Players, o.Attributes, o.Traits = 120, fleet.AllAttributes(), fleet.StandardTraits
	trials, _ := planted.Fleet(o)
	a := ask(t, trials, fleet.Question{Outcome: "direction", Category: "driver"})
	if fixed, random := len(a.Fit.Terms), len(a.Fit.Random); fixed != 62 || random != 8 {
		t.Errorf("%d fixed terms and %d slopes; the standard model has 8·(1+6) + 3 + 3 = 62 and 8; notes: %v", fixed, random, a.Notes)
	}
}

// Traits go by the names that profiles use.
func TestTraitsAreThoseOfProfiles(t *testing.T) {
	if have := profile.VectorNames(); !slices.Equal(have, fleet.TraitNames[:]) {
		t.Errorf("profiles say %v, fleet questions %v", have, fleet.TraitNames)
	}
}

// A fleet of left-handers is the mirror of one of right-handers.
func TestMirroredFleetGivesIdenticalEstimates(t *testing.T) {
	trials, _ := planted.Fleet(small)
	mirror := make([]fleet.Trial, len(trials))
	for i, tr := range trials {
		tr.LeftHanded = true
		tr.Shots.Direction, tr.Shots.CarryOffline = -tr.Shots.Direction, -tr.Shots.CarryOffline
		for k, n := range fleet.TraitNames {
			if n == "path_deg" || n == "face_to_path_deg" {
				tr.Traits[k] = -tr.Traits[k]
			}
		}
		mirror[i] = tr
	}
	a, b := ask(t, trials, question(small)), ask(t, mirror, question(small))
	for i, e := range a.Fit.Terms {
		if m := b.Fit.Terms[i]; m.Value != e.Value || m.SE != e.SE {
			t.Errorf("%s: %v ± %v, mirrored %v ± %v", e.Name, e.Value, e.SE, m.Value, m.SE)
		}
	}
}

// The order in which trials come, and the number of cores, change nothing.
func TestAnswerDoesNotDependOnOrderOrCores(t *testing.T) {
	trials, _ := planted.Fleet(small)
	want, _ := json.Marshal(ask(t, trials, question(small)).Fit)
	shuffled := append([]fleet.Trial(nil), trials...)
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(shuffled), func(i, k int) { shuffled[i], shuffled[k] = shuffled[k], shuffled[i] })
	q := question(small)
	q.Workers = 1
	got := ask(t, shuffled, q)
	have, _ := json.Marshal(got.Fit)
	if string(want) != string(have) {
		t.Errorf("shuffled trials give another answer:\n%s\n%s", want, have)
	}
	q.Workers = 2
	two := ask(t, shuffled, q)
	for i := range got.Fit.Terms {
		if got.Fit.Terms[i].Value != two.Fit.Terms[i].Value {
			t.Errorf("one core says %v, two say %v", got.Fit.Terms[i].Value, two.Fit.Terms[i].Value)
		}
	}
}

func TestIdleAndCollinearAttributesAreNamedNotFatal(t *testing.T) {
	trials, _ := planted.Fleet(small)
	for i := range trials {
		trials[i].Attributes[fleet.Torque] = 4                                              // never varies
		trials[i].Attributes[fleet.SwingWeight] = 0.1 + trials[i].Attributes[fleet.Lie]/100 // follows lie
	}
	q := question(small)
	q.Attributes = append(q.Attributes, fleet.Torque, fleet.SwingWeight)
	a := ask(t, trials, q)
	said := ""
	for _, n := range a.Notes {
		said += n.Text + "\n"
	}
	for _, want := range []string{"torque is left out: it has zero variance within sessions", "swing_weight is left out: they are collinear"} {
		if !strings.Contains(said, want) {
			t.Errorf("notes do not say %q:\n%s", want, said)
		}
	}
}

func TestNotEnoughToSayIsAnAnswer(t *testing.T) {
	trials, _ := planted.Fleet(small)
	one := []fleet.Trial{}
	for _, tr := range trials {
		if tr.Player == trials[0].Player {
			one = append(one, tr)
		}
	}
	for name, set := range map[string][]fleet.Trial{"none": nil, "one trial": trials[:1], "one player": one, "one session": one[:3]} {
		_, err := fleet.Ask(context.Background(), set, question(small))
		var m *fleet.ModelError
		if !errors.As(err, &m) || m.Kind != fleet.NotEnough {
			t.Errorf("%s: %v", name, err)
		}
	}
	for i := range trials {
		trials[i].Traits = fleet.NoTraits()
	}
	q := question(small)
	a := ask(t, trials, fleet.Question{Outcome: "direction", Attributes: q.Attributes, Test: fleet.KnappHartung})
	if len(a.Design.Traits) != 0 || len(a.Notes) == 0 {
		t.Errorf("traits unknown of every player: %v, notes %v", a.Design.Traits, a.Notes)
	}
}

func TestTrialsWithoutATraitAreCounted(t *testing.T) {
	trials, _ := planted.Fleet(small)
	n := 0
	for i := range trials {
		if trials[i].Player < "player-000010" {
			trials[i].Traits = fleet.NoTraits()
			n++
		}
	}
	a := ask(t, trials, question(small))
	if a.LeftOut["no speed_mps"] != n {
		t.Errorf("%d trials have no speed, the answer says %v", n, a.LeftOut)
	}
}

func TestEffectsReadAsTheFit(t *testing.T) {
	trials, _ := planted.Fleet(small)
	a := ask(t, trials, question(small))
	who := fleet.Person{Carry: 200, Spread: 3}
	effects, err := a.Effects(who)
	if err != nil {
		t.Fatal(err)
	}
	byName := map[string]fleet.Effect{}
	for _, e := range effects {
		byName[e.Term] = e
		for _, x := range []float64{e.Change, e.SE, e.Low, e.High, e.P, e.Q} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Errorf("%s holds %v", e.Term, x)
			}
		}
		if e.Q < e.P-1e-15 {
			t.Errorf("%s: adjusted value %v below p %v", e.Term, e.Q, e.P)
		}
	}
	term := map[string]float64{}
	for _, e := range a.Fit.Terms {
		term[e.Name] = e.Value
	}
	l := byName["length"]
	if want := term["length"] + term["length_curve"]; math.Abs(l.Change-want) > 1e-12 {
		t.Errorf("one step of length is %v, the fit says %v", l.Change, want)
	}
	if want := 200 * math.Tan(3*math.Pi/180) * math.Expm1(l.Change); math.Abs(*l.Metres-want) > 1e-9 {
		t.Errorf("in metres %v, want %v", *l.Metres, want)
	}
	if l.Players != small.Players && l.Players < 30 {
		t.Errorf("%d players tried length", l.Players)
	}
	fast := map[string]float64{"speed_mps": a.Design.Center[0] + a.Design.Spread[0], "path_deg": a.Design.Center[1]}
	who.Traits = fast
	at, err := a.Effects(who)
	if err != nil {
		t.Fatal(err)
	}
	if want := l.Change + term["length:speed_mps"]; math.Abs(at[0].Change-want) > 1e-9 {
		t.Errorf("for a fast player one step of length is %v, want %v", at[0].Change, want)
	}
}

func TestCompareFindsAPlantedDifference(t *testing.T) {
	trials, _ := planted.Fleet(planted.Options{Players: 60, Sessions: 2, Trials: 5, Shots: 10, Seed: 3,
		Attributes: []fleet.Attribute{fleet.Lie}})
	rng := rand.New(rand.NewPCG(4, 4))
	const change, spread = -0.25, 0.2
	own := map[string]float64{}
	for i := range trials {
		tr := &trials[i]
		if _, ok := own[tr.Player]; !ok {
			own[tr.Player] = change + spread*rng.NormFloat64()
		}
		if !tr.Gamer {
			tr.Build = "other"
			tr.Shots.DirectionSS *= math.Exp(2 * own[tr.Player])
			tr.Shots.DirectionS4 *= math.Exp(4 * own[tr.Player])
		}
	}
	c, err := fleet.Compare(context.Background(), trials, "direction", "gamer", "other")
	if err != nil {
		t.Fatal(err)
	}
	if c.Players != 60 || c.Levels != 120 || c.Low > change || c.High < change || c.Way != fleet.WayBetter || c.Evidence != fleet.Finding {
		t.Errorf("%+v", c)
	}
	if c.PILow == nil || *c.PIHigh-*c.PILow < 2*1.96*0.5*spread {
		t.Errorf("the interval for the next player does not hold the players' own differences: %+v", c)
	}
	if c.Better < 0.7 || c.Better > 0.99 {
		t.Errorf("chance that it is better for the next player: %+v", c)
	}
	if _, err := fleet.Compare(context.Background(), trials, "direction", "gamer", "no such build"); err == nil {
		t.Error("a build that nobody hit was compared")
	}
}

func TestRobustnessSheet(t *testing.T) {
	trials, _ := planted.Fleet(small)
	v := fleet.Variations()
	sheet, err := fleet.Robustness(context.Background(), trials, question(small), fleet.Length, v)
	if err != nil {
		t.Fatal(err)
	}
	if len(sheet) < len(v)+8 || sheet[0].Refuse != "" {
		t.Fatalf("%d rows for %d variations; %+v", len(sheet), len(v), sheet[0])
	}
	groups, disagree := map[string]int{}, 0
	for _, r := range sheet {
		groups[r.Group]++
		if r.Agrees && len(r.Flips) > 0 {
			t.Errorf("%s, %s agrees though it says otherwise: %v", r.Group, r.Name, r.Flips)
		}
		if !r.Agrees {
			if len(r.Flips) == 0 {
				disagree++
			}
			t.Logf("%s, %s: %+.3f (%+.3f … %+.3f) %s %v", r.Group, r.Name, r.Change, r.Low, r.High, r.Refuse, r.Flips)
		}
	}
	if groups["bay"] != 4 || groups["fitter"] != 3 || groups["model"] != 7 {
		t.Errorf("groups %v", groups)
	}
	if disagree > 1 { // without saying otherwise
		t.Errorf("%d of %d rows disagree on a fleet without any bias", disagree, len(sheet))
	}
}

// A stored answer gives the same effects and the same advice.
func TestStoredAnswerIsTheAnswer(t *testing.T) {
	trials, _ := planted.Fleet(small)
	a := ask(t, trials, question(small))
	text, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	var b fleet.Answer
	if err := json.Unmarshal(text, &b); err != nil {
		t.Fatal(err)
	}
	list := catalogue(trials[0].Attributes, small.Attributes)
	traits := map[string]float64{"speed_mps": 47, "path_deg": 2}
	said := func(a *fleet.Answer) string {
		effects, err := a.Effects(fleet.Person{Carry: 200, Spread: 3, Traits: traits})
		if err != nil {
			t.Fatal(err)
		}
		cells, err := a.Map("speed_mps", []float64{-1, 0, 1})
		if err != nil || len(cells) != 9 {
			t.Fatalf("%d cells, %v", len(cells), err)
		}
		advice, err := fleet.Advise(a, a, fleet.PlayerState{Traits: traits, Incumbent: trials[0].Attributes, Trials: trials[:7]}, list,
			fleet.AdviceOptions{})
		if err != nil {
			t.Fatal(err)
		}
		out, err := json.Marshal([]any{effects, cells, advice, a.Diagnose(trials)})
		if err != nil {
			t.Fatal(err)
		}
		return string(out)
	}
	if x, y := said(a), said(&b); x != y {
		t.Errorf("stored and fresh differ:\n%s\n%s", x, y)
	}
	if json.Unmarshal([]byte(`{"Question":{"Outcome":"direction"}}`), new(fleet.Answer)) == nil {
		t.Error("an answer without a fit was read")
	}
}

// Choosing the best of several noisy builds promises too much; the report must
// find by how much.
func TestPromisesFindTheWinnersCurse(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	o, _ := fleet.FindOutcome("direction")
	var checks []fleet.HitCheck
	curse := 0.0
	const players = 400
	for p := range players {
		best, truth := math.Inf(1), 0.0
		for range 5 { // naive: promises what was seen
			real := 0.1 * rng.NormFloat64()
			if seen := real + 0.2*rng.NormFloat64(); seen < best {
				best, truth = seen, real
			}
		}
		curse += (truth - best) / players
		checks = append(checks, fleet.HitCheck{Player: string(rune(p + 256)), Promised: best, PromisedSD: 0.2,
			Measured: truth + 0.15*rng.NormFloat64(), Variance: 0.0225})
	}
	r, err := fleet.Promises(context.Background(), o, checks)
	if err != nil {
		t.Fatal(err)
	}
	if r.Shortfall.CILow > curse || r.Shortfall.CIHigh < curse || r.Shortfall.CILow < 0.1 {
		t.Errorf("shortfall %+v, planted %v", r.Shortfall, curse)
	}
	if r.Slope == nil || r.Slope.CIHigh > 0.6 || r.Inside > 0.95 {
		t.Errorf("%+v, slope %+v", r, r.Slope)
	}
	if _, err := fleet.Promises(context.Background(), o, checks[:2]); err == nil {
		t.Error("two checks made a report")
	}
}
