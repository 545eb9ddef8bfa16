package order

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
)

// weighed is a 7-iron that was hit and weighed: the arithmetic alone would read
// it most of a point too high.
func weighed() map[Part]Known {
	m := func(v float64) Known { return Known{v, true} }
	return map[Part]Known{Length: m(37 * club.Inch), Loft: m(33), Lie: m(62), Head: m(0.272), Shaft: m(0.095), Grip: m(0.05), Total: m(0.423),
		SwingWeight: m(club.SwingWeight(32).Moment()), TipTrim: m(0.0127)}
}

func irons() Asked {
	return Asked{Hit: weighed(), HitName: "7i", Category: glossary.Iron, Clubs: []string{"5i", "6i", "7i", "8i", "9i", "pw"},
		Rules: Rules{RawShaft: 39 * club.Inch}}
}

func planned(t *testing.T, a Asked) Plan {
	t.Helper()
	p, err := New(a)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestTheClubThatWasHitComesOutAsItIs(t *testing.T) {
	p := planned(t, irons())
	if len(p.Refusals) > 0 || len(p.Rows) != 6 {
		t.Fatalf("refused: %v", p.Refusals)
	}
	for part, k := range weighed() {
		if f := p.Rows[2].Figures[part]; math.Abs(f.Number-k.Number) > 1e-12 || f.Origin != Measured {
			t.Errorf("%s: %+v, measured %g", part, f, k.Number)
		}
	}
}

// Whatever is asked: parts sum to the total, the forecast is the swing weight
// asked, ladders step one way, and no trim is negative.
func TestTheArithmeticOfAnOrderAgreesWithItself(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		a := irons()
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		k := func(p Part, v float64) { a.Hit[p] = Known{v, rapid.Bool().Draw(t, "measured")} }
		k(Length, draw("length", 0.88, 0.99))
		k(Loft, draw("loft", 28, 36))
		k(Lie, draw("lie", 60, 64))
		k(Head, draw("head", 0.25, 0.29))
		k(Shaft, draw("shaft", 0.05, 0.13))
		k(Grip, draw("grip", 0.03, 0.07))
		k(Total, a.Hit[Head].Number+a.Hit[Shaft].Number+a.Hit[Grip].Number+draw("rest", 0, 0.01))
		k(SwingWeight, club.SwingWeight(draw("points", 20, 45)).Moment())
		k(TipTrim, draw("tip", 0, 0.03))
		a.Rules = Rules{LengthStep: draw("step", 0.006, 0.02), WedgePoints: draw("wedge", 0, 3), RawShaft: draw("raw", 0.9, 1.05),
			TipStep: draw("tipstep", -0.004, 0.008)}
		p, err := New(a)
		if err != nil {
			t.Fatal(err)
		}
		h := newHeft(a.Hit)
		for i, r := range p.Rows {
			head, _ := r.Number(Head)
			shaft, _ := r.Number(Shaft)
			grip, _ := r.Number(Grip)
			total, _ := r.Number(Total)
			if math.Abs(head+shaft+grip+r.Rest-total) > 1e-9 {
				t.Errorf("%s: parts %g, total %g", r.Name, head+shaft+grip+r.Rest, total)
			}
			asked := a.Hit[SwingWeight].Number
			if r.Category == glossary.Wedge {
				asked += a.Rules.WedgePoints * club.Point
			}
			if got, ok := h.forecast(r); !ok || math.Abs(got-asked) > 1e-9 {
				t.Errorf("%s: the parts read %s, asked %s", r.Name, club.SwingWeightOf(got), club.SwingWeightOf(asked))
			}
			if tip, _ := r.Number(TipTrim); tip < 0 {
				t.Errorf("%s: tip trim %g", r.Name, tip)
			}
			if butt, _ := r.Number(ButtTrim); butt < 0 &&
				!slices.ContainsFunc(p.Refusals, func(x Refusal) bool { return x.Club == r.Name && x.Part == ButtTrim }) {
				t.Errorf("%s: butt trim %g is not refused", r.Name, butt)
			}
			if i > 0 {
				for part, sign := range map[Part]float64{Length: -1, Loft: 1, Lie: 1} {
					x, _ := p.Rows[i-1].Number(part)
					y, _ := r.Number(part)
					if sign*(y-x) < 0 {
						t.Errorf("%s of %s: %g after %g", part, r.Name, y, x)
					}
				}
			}
		}
	})
}

func TestFixedFiguresStayAndTheRestFollows(t *testing.T) {
	a := irons()
	a.Fixed = map[string]map[Part]float64{"5i": {Length: 0.96, Head: 0.26}, "9i": {SwingWeight: club.SwingWeight(34).Moment()}}
	p := planned(t, a)
	five, nine := p.Rows[0], p.Rows[4]
	if f := five.Figures[Length]; f.Number != 0.96 || f.Origin != Fixed {
		t.Errorf("length %+v", f)
	}
	if f := five.Figures[SwingWeight]; f.Origin != Derived || !strings.Contains(f.Why, "fixed head") {
		t.Errorf("swing weight %+v", f)
	}
	if f := nine.Figures[Head]; f.Origin != Derived || f.Number <= p.Rows[3].Figures[Head].Number {
		t.Errorf("head %+v", f)
	}
	if u := p.Rows[2].Figures[SwingWeight].Unsure; u <= 0 || u >= five.Figures[SwingWeight].Unsure {
		t.Errorf("unsure %g at the club that was hit, %g two clubs away", u, five.Figures[SwingWeight].Unsure)
	}
}

// Who weighs the club that was hit after the verdict writes it into its row, and
// the set follows; a row that is made to another length says nothing of the club
// that was hit.
func TestWhatIsWrittenForTheClubThatWasHitIsKnownOfIt(t *testing.T) {
	a := irons()
	wrote := map[Part]float64{}
	for _, p := range []Part{SwingWeight, Head, Shaft, Grip, Total} {
		wrote[p] = a.Hit[p].Number
		delete(a.Hit, p)
	}
	want := planned(t, irons())
	a.Fixed = map[string]map[Part]float64{"7i": wrote}
	got := planned(t, a)
	if len(got.Refusals) > 0 || len(got.Missing) > 0 {
		t.Fatalf("refused %v, missing %v", got.Refusals, got.Missing)
	}
	for i, r := range got.Rows {
		for p, f := range want.Rows[i].Figures {
			if math.Abs(r.Figures[p].Number-f.Number) > 1e-9 {
				t.Errorf("%s %s: %g, %g where it was weighed before", r.Name, p, r.Figures[p].Number, f.Number)
			}
		}
		if u := r.Figures[SwingWeight].Unsure; u < want.Rows[i].Figures[SwingWeight].Unsure {
			t.Errorf("%s: surer (± %g) by what was written than by what was measured", r.Name, u)
		}
	}
	if len(a.Hit) != 4 {
		t.Errorf("what was asked was changed: %v", a.Hit)
	}
	wrote[Length] = 0.92
	if p := planned(t, a); len(p.Missing) == 0 {
		t.Error("the weights of a shorter club are taken for those of the club that was hit")
	}
}

func TestWhatCannotBeIsRefused(t *testing.T) {
	driver := Asked{HitName: "driver", Category: glossary.Driver, Clubs: []string{"driver"}, Hit: map[Part]Known{
		Length: {45 * club.Inch, true}, Loft: {3, true}, Lie: {58, true}, SwingWeight: {club.SwingWeight(33).Moment(), true}}}
	unhit := irons()
	unhit.Clubs = []string{"5i", "6i"}
	unknown := irons()
	delete(unknown.Hit, Lie)
	short := irons()
	short.Rules.RawShaft = 36.5 * club.Inch
	wrong := irons()
	wrong.Fixed = map[string]map[Part]float64{"6i": {Head: 0.28, SwingWeight: club.SwingWeight(32).Moment()}}
	heavy := irons()
	heavy.Fixed = map[string]map[Part]float64{"6i": {Total: 0.5}}
	back := irons()
	back.Fixed = map[string]map[Part]float64{"6i": {Length: 0.9}}
	for name, c := range map[string]struct {
		a    Asked
		club string
		part Part
	}{
		"a driver of 3°": {driver, "driver", Loft}, "nobody hit it": {unhit, "", ""}, "a figure is missing": {unknown, "5i", Lie},
		"raw shaft too short": {short, "5i", ButtTrim}, "parts that do not make it": {wrong, "6i", SwingWeight},
		"a total that they do not make": {heavy, "6i", Total}, "a step back": {back, "7i", Length},
	} {
		if p := planned(t, c.a); !slices.ContainsFunc(p.Refusals,
			func(r Refusal) bool { return r.Club == c.club && r.Part == c.part && r.Try != "" }) {
			t.Errorf("%s: refused is %v", name, p.Refusals)
		}
	}
	unhit.Unhit = true
	if p := planned(t, unhit); len(p.Refusals) > 0 {
		t.Errorf("said to be unhit: %v", p.Refusals)
	}
}

func TestNames(t *testing.T) {
	if got, err := Names("5-7i, pw 56"); err != nil || !slices.Equal(got, []string{"5i", "6i", "7i", "pw", "56"}) {
		t.Errorf("%v %v", got, err)
	}
	for _, text := range []string{"", "7i 7i", "11i", "20", "spoon"} {
		var in *club.InputError
		if got, err := Names(text); !errors.As(err, &in) {
			t.Errorf("%q: %v %v", text, got, err)
		}
	}
}

func TestNumbersFindEveryWrongSignAndEveryExchange(t *testing.T) {
	n := NumberFrom("01ab", 0)
	if got, err := ParseNumber(" " + strings.ToLower(Label(n)) + " "); err != nil || got != n {
		t.Fatalf("%s: %s %v", n, got, err)
	}
	if n == NumberFrom("01ab", 1) {
		t.Error("a number that is taken comes again")
	}
	for i := range n {
		for _, s := range Signs {
			wrong := n[:i] + string(s) + n[i+1:]
			if _, err := ParseNumber(wrong); err == nil && wrong != n {
				t.Errorf("%s passes for %s", wrong, n)
			}
		}
		if i > 0 && n[i] != n[i-1] {
			if swapped := n[:i-1] + string(n[i]) + string(n[i-1]) + n[i+1:]; func() bool { _, err := ParseNumber(swapped); return err == nil }() {
				t.Errorf("%s passes for %s", swapped, n)
			}
		}
	}
}

func TestWorkFollowsTheChange(t *testing.T) {
	ops := func(j Job) (out []club.Operation) {
		for _, s := range Work(j) {
			out = append(out, s.Operation)
		}
		return out
	}
	cut := Job{Own: true, Was: map[Part]float64{Length: 0.95}, Want: map[Part]float64{Length: 0.94}}
	if got := ops(cut); !slices.Equal(got, []club.Operation{club.OpCutShaft, club.OpGrip, club.OpHitTest}) {
		t.Errorf("a butt cut: %v", got)
	}
	set := Job{Setting: "two up", Was: map[Part]float64{Loft: 10}, Want: map[Part]float64{Loft: 12}}
	if got := ops(set); !slices.Contains(got, club.OpAdjustHosel) || slices.Contains(got, club.OpBend) {
		t.Errorf("an adjustable head: %v", got)
	}
	for limit, stop := range map[float64]bool{0: true, 1: true, 3: false} {
		bend := Work(Job{Own: true, Was: map[Part]float64{Lie: 62}, Want: map[Part]float64{Lie: 64}, Bend: Bend{"forged", limit}})
		if len(bend) != 2 || bend[0].Operation != club.OpBend || bend[0].Stop != stop {
			t.Errorf("limit %g: %+v", limit, bend)
		}
	}
}

func TestConformityRemindsOfWhatABenchCanMeasure(t *testing.T) {
	row := func(name string, c glossary.Category, length float64) Row {
		return Row{Name: name, Category: c, Figures: map[Part]Figure{Length: {Number: length}}}
	}
	over := func(list []Reminder) (n int) {
		for _, r := range list {
			if r.Over {
				n++
			}
		}
		return n
	}
	if n := over(Conformity([]Row{row("driver", glossary.Driver, 45*club.Inch), row("putter", glossary.Putter, 50*club.Inch)}, 12)); n != 0 {
		t.Errorf("%d over", n)
	}
	if n := over(Conformity([]Row{row("driver", glossary.Driver, 46.5*club.Inch), row("3w", glossary.Wood, 48.5*club.Inch),
		row("pw", glossary.Wedge, 17*club.Inch)}, 12)); n != 4 {
		t.Errorf("%d over, four expected: three lengths, and fifteen clubs", n)
	}
	for c, volume := range map[glossary.Category]bool{glossary.Driver: true, glossary.Iron: false, glossary.Putter: false} {
		got := fmt.Sprint(Conformity([]Row{row("x", c, 1)}, 3))
		if strings.Contains(got, "volume") != volume || !strings.Contains(got, "rips can’t") {
			t.Errorf("%s: %s", c, got)
		}
	}
}
