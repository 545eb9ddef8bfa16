package glossary

import (
	"slices"
	"strings"
	"testing"
)

// Names are stored in journals, rows, answers and links: they are pinned here by
// literals and never change.
func TestStoredNamesStay(t *testing.T) {
	var all, fleet []string
	for _, n := range Outcomes() {
		all = append(all, string(n))
	}
	for _, o := range FleetOutcomes() {
		fleet = append(fleet, o.Fleet.Name)
	}
	for _, c := range []struct{ name, got, want string }{
		{"categories", strings.Join(CategoryNames(), " "), "driver wood hybrid iron wedge putter"},
		{"airborne", strings.Join(AirborneNames(), " "), "driver wood hybrid iron wedge"},
		{"outcomes", strings.Join(all, " "), "launch spin ball_speed carry landing strike start curve offline skid direction distance_control " +
			"area"},
		{"fleet", strings.Join(fleet, " "), "direction carry_control area carry window"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %s, were %s", c.name, c.got, c.want)
		}
	}
}

func TestWhatACategoryIsJudgedBy(t *testing.T) {
	for c, want := range map[Category]string{
		Driver: "direction_sd_deg carry_m", Wood: "direction_sd_deg carry_m", Hybrid: "carry_sd_pct direction_sd_deg",
		Iron: "carry_sd_pct direction_sd_deg", Wedge: "carry_sd_pct", Putter: "start_sd_deg speed_sd_pct",
	} {
		var got []string
		for _, o := range c.Primary() {
			got = append(got, o.Measured(c))
			if _, in := o.In[c]; !in {
				t.Errorf("%s is judged by %s, which is not compared there", c, o.Name)
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s is judged by %v, was by %s", c, got, want)
		}
	}
}

// Every row can be found by each of its names, and no name means two things.
func TestANameMeansOneRow(t *testing.T) {
	seen := map[string]Name{}
	for _, o := range table {
		all := []string{string(o.Name), o.Measure, o.Putts}
		if o.Fleet != nil {
			all = append(all, o.Fleet.Name)
			if (o.Fleet.Percent > 0) == (o.Fleet.Margin > 0) || o.Fleet.Sign == 0 || o.Fleet.Of == "" || o.Fleet.Title == "" {
				t.Errorf("%s: the fleet's margin, sign, unit or title is missing", o.Name)
			}
			if (o.Fleet.Percent > 0) != o.Tightness() {
				t.Errorf("%s: a spread has a margin in percent, a mean one in its unit", o.Name)
			}
		}
		slices.Sort(all)
		for _, n := range slices.Compact(all) {
			if n == "" {
				continue
			}
			if other, twice := seen[n]; twice {
				t.Errorf("%s is a name of %s and of %s", n, other, o.Name)
			}
			seen[n] = o.Name
			if got, ok := Find(n); !ok || got.Name != o.Name {
				t.Errorf("%s is found as %q", n, got.Name)
			}
		}
		if o.Unit == "" || o.Words.Cell == "" || o.Words.Paper == "" || o.Words.Meaning == "" || o.Better.Way == "" {
			t.Errorf("%s: a unit, words or the way of better is missing", o.Name)
		}
		for c, s := range o.In {
			if !(s.Margin > 0 && s.Prior > s.Margin) {
				t.Errorf("%s of %s: margin %g and prior %g", o.Name, c, s.Margin, s.Prior)
			}
		}
	}
}

func TestUnknownNamesAreSaid(t *testing.T) {
	if _, err := ParseCategory(" Iron "); err != nil {
		t.Error(err)
	}
	if _, err := ParseCategory("iro"); err == nil || !strings.Contains(err.Error(), "driver, wood, hybrid, iron, wedge, putter") {
		t.Errorf("a kind of club that is not known: %v", err)
	}
	if _, err := ParseName("window"); err == nil {
		t.Error("the window is not compared in a bay, and was taken")
	}
	if _, ok := Find(""); ok {
		t.Error("no name finds a row")
	}
	cell := func(name string) string { return Told(name, false).Cell }
	if cell("speed_sd_pct") != "Speed scatter" || cell("carry_sd_pct") != "Carry scatter" || cell("non_sense") != "non sense" {
		t.Error("cells are not called what they were")
	}
}

// What is to be hit next and the page of a bay call an outcome alike: a putt has a start
// line, and nothing to carry.
func TestAnOutcomeIsCalledByItsKindOfClub(t *testing.T) {
	for name, want := range map[Name][2]string{Direction: {"Direction scatter", "Start line scatter"},
		DistanceControl: {"Carry scatter", "Speed scatter"}, Start: {"Start direction", "Start line"}, Carry: {"Carry", "Carry"}} {
		for i, putts := range []bool{false, true} {
			if got := Told(string(name), putts).Cell; got != want[i] {
				t.Errorf("%s, putts %v: %q, not %q", name, putts, got, want[i])
			}
		}
	}
	// A putt is told of in no word of a flight, on the page or on paper.
	for _, n := range Outcomes() {
		if _, putts := n.Row().In[Putter]; !putts {
			continue
		}
		w := Told(string(n), true)
		for _, flown := range []string{"carry", "direction scatter", "offline", "shots spread", "comes down", "land"} {
			if strings.Contains(strings.ToLower(w.Cell+"; "+w.Paper+"; "+w.Meaning), flown) {
				t.Errorf("%s of a putt: %q, %q, %q: it speaks of %s", n, w.Cell, w.Paper, w.Meaning, flown)
			}
		}
	}
}
