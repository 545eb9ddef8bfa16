package rolling

import (
	"math"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
)

// What a comparison says that either club did is what the rows of its trials say,
// or the row says which shots are left out and what it is without them.
func TestRowsAndComparisonsAgreeOrSayWhyNot(t *testing.T) {
	w := newWorld(9, "iron")
	hit := func(n int, c clubMeans) {
		for range n {
			w.hit(c)
		}
	}
	w.enter("own", true, length(0.94))
	hit(10, own)
	longer := length(0.95)
	w.enter("longer", false, longer)
	hit(9, weaker)
	w.enter("own", true, length(0.94))
	hit(8, own)
	w.enter("stiff", false, &event.Spec{Field: event.BuildField_BUILD_FLEX, Text: "S"})
	hit(7, same)
	w.enter("longer", false, longer)
	hit(8, weaker)
	state := Build(w.snapshot())
	rows := map[int][]*Trial{}
	for i := range state.Trials {
		tr := &state.Trials[i]
		rows[tr.Club] = append(rows[tr.Club], tr)
		if left := map[int]int{1: 5, 2: 2, 3: 2, 4: 2, 5: 2}[tr.Number]; tr.Compared == nil || tr.Compared.Left != left ||
			tr.Compared.N != tr.N-left || !strings.Contains(tr.Compared.Words(), tr.Compared.Why[0]) {
			t.Errorf("trial %d: %d shots, compared %+v", tr.Number, tr.N, tr.Compared)
		}
	}
	if !strings.Contains(state.Trials[0].Compared.Words(), "warm-up") || !strings.Contains(state.Trials[1].Compared.Words(), "swap") {
		t.Errorf("%q, %q", state.Trials[0].Compared.Words(), state.Trials[1].Compared.Words())
	}
	checked := 0
	for _, c := range state.Comparisons {
		for _, o := range c.Outcomes {
			name := glossary.Name(o.Name)
			for club, told := range map[int]float64{c.Against: o.From, c.Club: o.To} {
				if value, ok := rowsTell(rows[club], name); ok {
					checked++
					if math.Abs(value-told) > 1e-9*math.Abs(value) {
						t.Errorf("%s of %s: the rows say %.12g, the comparison %.12g", name, c.Name, value, told)
					}
				}
			}
		}
	}
	if checked < 12 {
		t.Errorf("only %d figures were held against each other", checked)
	}
}

// rowsTell is what the rows of a club say together of an outcome that both tell:
// spreads pooled about each row's own middle, means by their shots.
func rowsTell(rows []*Trial, name glossary.Name) (value float64, ok bool) {
	var n, sum float64
	for _, r := range rows {
		primary, carry, shots := r.Primary, r.Carry, float64(r.N)
		if c := r.Compared; c != nil {
			primary, carry, shots = c.Primary, c.Carry, float64(c.N)
		}
		if name == glossary.Carry {
			n, sum = n+shots, sum+shots*carry.Value
			continue
		}
		for _, p := range primary {
			if p.Name == map[glossary.Name]string{glossary.Direction: "direction_sd_deg", glossary.DistanceControl: "carry_sd_pct"}[name] {
				n, sum = n+shots-1, sum+(shots-1)*p.Stat.Value*p.Stat.Value
			}
		}
	}
	if name != glossary.Carry {
		return math.Sqrt(sum / n), n > 0
	}
	return sum / n, n > 0
}

// Swings of another length are compared by themselves, and nothing of the one is
// said of the other.
func TestSwingsOfEachLengthAreComparedApart(t *testing.T) {
	w := newWorld(11, "wedge")
	short := clubMeans{30, 6500, 24, 55}
	hit := func(n int, c clubMeans, class event.ShotClass, length float64) {
		for range n {
			w.hit(c)
			s := w.shots[len(w.shots)-1].Tag
			s.Situation.Category, s.Class, s.ClassLength = "wedge", class, length
		}
	}
	full, partial := event.ShotClass_CLASS_FULL, event.ShotClass_CLASS_PARTIAL
	for _, club := range []struct {
		name  string
		gamer bool
		loft  float64
	}{{"own", true, 54}, {"bent", false, 56}, {"bent", false, 52}} {
		w.enter(club.name, club.gamer, &event.Spec{Field: event.BuildField_BUILD_LOFT, Number: club.loft})
		hit(8, own, full, 0)
		if club.loft != 52 {
			hit(8, short, partial, 55)
		}
	}
	state := Build(w.snapshot())
	var told []string
	for _, c := range state.Comparisons {
		told = append(told, c.Name+"/"+c.Swing())
		for _, o := range c.Outcomes {
			if o.Name == string(glossary.Carry) && (o.From > 100) != (c.Class == "") {
				t.Errorf("%s %s: carry of %.0f m", c.Name, c.Swing(), o.From)
			}
		}
	}
	if got := strings.Join(told, ", "); got != "bent (trial 2)/partial swings of 55 m, bent (trial 2)/, bent (trial 3)/" {
		t.Errorf("compared: %s", got)
	}
}
