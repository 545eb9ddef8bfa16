package visit

import (
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/visit/stock"
)

// Signs that turn the direction of writing are refused in every field of every act.
func TestTurnedWritingIsRefused(t *testing.T) {
	for _, act := range Acts() {
		for _, f := range act.Fields {
			_, faults := Read(act.Name, Input{f.Name: {"half\u202einch"}}, &Place{})
			found := false
			for _, fault := range faults {
				found = found || fault.Field == f.Name && strings.Contains(fault.Reason, "direction of writing")
			}
			if !found {
				t.Errorf("%s: %s takes signs that turn the direction of writing", act.Name, f.Name)
			}
		}
	}
	r := &Reader{In: Input{"words": {"كرة جيدة"}}}
	if r.showing(); len(r.Faults) > 0 {
		t.Errorf("words written from right to left are refused: %v", r.Faults[0])
	}
}

// A figure is read as the parts of a club are, and a bare one in the unit that its field
// shows.
func TestFiguresAreReadAsTheFieldShowsThem(t *testing.T) {
	imperial := &Place{Timeline: (&Log{}).Timeline(), Shown: func(field string, q unit.Quantity) string {
		return map[string]string{"tee_height": "in", "target_distance": "yd", "green_speed": "ft", "wind_speed": "mph"}[field]
	}}
	for _, c := range []struct {
		place       *Place
		field, text string
		want        float64
	}{
		{imperial, "target_distance", "150", 150 * unit.Yard}, {imperial, "target_distance", "140 m", 140},
		{imperial, "tee_height", "1 1/2 in", 1.5 * unit.Inch}, {imperial, "tee_height", "1½", 1.5 * unit.Inch},
		{imperial, "green_speed", "10", 10 * unit.Foot}, {imperial, "wind_speed", "7", 7 * unit.MPH},
		{imperial, "wind_speed", "3,5 m/s", 3.5}, {imperial, "target_bearing", "-2", -2}, {imperial, "target_bearing", "+2deg", 2},
		{&Place{Timeline: (&Log{}).Timeline()}, "target_distance", "150", 150},
		{&Place{Timeline: (&Log{}).Timeline()}, "tee_height", "40 mm", .04},
	} {
		ev, faults := Read("setting", Input{c.field: {c.text}}, c.place)
		if len(faults) > 0 {
			t.Errorf("%s %q: %v", c.field, c.text, faults[0])
			continue
		}
		s := ev.GetSettingChanged()
		got := map[string]*float64{"target_distance": s.TargetDistanceM, "tee_height": s.TeeHeightM, "green_speed": s.GreenSpeedM,
			"wind_speed": s.WindSpeedMps, "target_bearing": s.TargetBearingDeg}[c.field]
		if got == nil || math.Abs(*got-c.want) > 1e-9 {
			t.Errorf("%s %q is read as %v, want %v", c.field, c.text, got, c.want)
		}
	}
	if _, faults := Read("setting", Input{"wind_speed": {"windy"}}, imperial); len(faults) != 1 || !strings.Contains(faults[0].Hint, "m/s") {
		t.Errorf("no figure: %v", faults)
	}
}

// The arguments of a subcommand stand one after another.
func TestArgumentsAreCounted(t *testing.T) {
	for _, a := range Acts() {
		optional := false
		for i, f := range a.Arguments() {
			if f.Arg != i+1 {
				t.Errorf("%s: argument %d is the field %s of place %d", a.Name, i+1, f.Name, f.Arg)
			}
			if optional && !f.Optional {
				t.Errorf("%s: %s is asked for after one that may be left out", a.Name, f.Name)
			}
			optional = f.Optional
			if f.Rest && i+1 < len(a.Arguments()) {
				t.Errorf("%s: %s takes what %s should have", a.Name, f.Name, a.Arguments()[i+1].Name)
			}
		}
	}
}

// A subcommand's arguments come into its fields in order, and what is missing or too
// many is named.
func TestArgumentsFillFields(t *testing.T) {
	words := Act{Fields: []Field{{Name: "to", Arg: 1}, {Name: "words", Arg: 2, Rest: true, Optional: true}}}
	many := Act{Fields: []Field{{Name: "shot", Arg: 1, Rest: true, Shots: true}}}
	two := Act{Fields: []Field{{Name: "b", Arg: 2}, {Name: "a", Arg: 1}, {Name: "flag"}}}
	for _, c := range []struct {
		act  Act
		args string
		want Input
		says string
	}{
		{words, "x", Input{"to": {"x"}}, ""}, {words, "x the rest of it", Input{"to": {"x"}, "words": {"the rest of it"}}, ""},
		{words, "", Input{}, "to is missing"},
		{many, "", Input{}, "shot is missing"}, {many, "1 2", Input{"shot": {"1", "2"}}, ""},
		{two, "1 2", Input{"a": {"1"}, "b": {"2"}}, ""}, {two, "1", Input{"a": {"1"}}, "b is missing"},
		{two, "1 2 3", Input{"a": {"1"}, "b": {"2"}}, `"3" is one argument too many`},
	} {
		in := Input{}
		err := c.act.Fill(in, strings.Fields(c.args))
		if !reflect.DeepEqual(in, c.want) || (err == nil) != (c.says == "") || err != nil && !strings.EqualFold(err.Error(), c.says) {
			t.Errorf("%q: %v, %v; want %v, %q", c.args, in, err, c.want, c.says)
		}
	}
}

// A club stays the player's own until anything makes it another one.
func TestTheOwnClubStaysUntilItIsAnother(t *testing.T) {
	s := &story{}
	s.enter("open", "player", "p-7kq2m", "category", "iron", "hand", "right", "fitter", "f-bo")
	s.enter("trial", "trial", "t-own", "blank", "yes", "name", "own 7", "gamer", "yes", "part.loft", "32deg", "part.length", "37in")
	for text, c := range map[string]struct {
		in  Input
		own bool
	}{
		"as it is":               {Input{}, true},
		"by its name":            {Input{"name": {"own 7"}}, true},
		"renamed":                {Input{"name": {"the other"}}, false},
		"changed":                {Input{"set": {"loft=33deg"}}, false},
		"said not to be":         {Input{"gamer": {""}}, false},
		"changed, said to be":    {Input{"set": {"loft=33deg"}, "gamer": {"yes"}}, true},
		"changed under its name": {Input{"set": {"length=37.5in"}, "name": {"own 7"}}, false},
	} {
		in := Input{"trial": {"t-new"}, "base": {"t-own"}}
		maps.Copy(in, c.in)
		ev, faults := Read("trial", in, s.place(minute(5)))
		if len(faults) > 0 || ev.GetTrialStarted().GetBuild().GetGamer() != c.own {
			t.Errorf("%s: own %v of %v %v", text, ev.GetTrialStarted().GetBuild().GetGamer(), ev.GetTrialStarted().GetBuild(), faults)
		}
	}
}

// What the catalogue says of the head that an order takes goes along where the form says
// nothing of it.
func TestAnOrderTakesWhatTheCatalogueSaysOfItsHead(t *testing.T) {
	model := []*event.Spec{{Field: event.BuildField_BUILD_HEAD_MODEL, Text: "Skerry 2"}}
	shelf := stock.NewShelf([]stock.Said{{At: 1, Listed: &event.PartsListed{Parts: []*event.CataloguePart{
		{Code: "SK2", Kind: event.PartKind_PART_HEAD, Category: "iron", Metal: "forged", BendLimitDeg: 2, Specs: model},
		{Code: "RD", Kind: event.PartKind_PART_SHAFT, Category: "iron", Metal: "steel",
			Specs: []*event.Spec{{Field: event.BuildField_BUILD_SHAFT_MODEL, Text: "Reed 95"}}}}}}}, nil)
	build := &event.Build{Specs: append(model, &event.Spec{Field: event.BuildField_BUILD_SHAFT_MODEL, Text: "Reed 95"})}
	for _, c := range []struct {
		said      string
		limit     float64
		metal     string
		bends     float64
		withShelf bool
	}{{"", 0, "forged", 2, true}, {"cast", 1, "cast", 1, true}, {"", 1, "forged", 1, true}, {"cast", 0, "cast", 2, true},
		{"", 0, "", 0, false}} {
		club := &event.OrderedClub{Name: "7i", Category: "iron", Build: build, Metal: c.said, BendLimitDeg: c.limit}
		d := &Draft{Placed: &event.OrderPlaced{Clubs: []*event.OrderedClub{club}}}
		place := &Place{}
		if c.withShelf {
			place.Shelf = shelf
		}
		(&Reader{In: Input{}, Place: place}).take(d)
		if club.Metal != c.metal || club.BendLimitDeg != c.bends || c.withShelf != (len(d.Placed.Parts) == 2) {
			t.Errorf("said %q and %g: %q and %g, %d parts", c.said, c.limit, club.Metal, club.BendLimitDeg, len(d.Placed.Parts))
		}
	}
}

// What is entered several times is read without the spaces around it, and empty lines are
// nothing.
func TestSeveralEntriesOfAField(t *testing.T) {
	r := &Reader{In: Input{"set": {" loft=33deg ", "", "\t", "lie=62deg"}}}
	if got := r.Texts("set"); !slices.Equal(got, []string{"loft=33deg", "lie=62deg"}) {
		t.Errorf("%q", got)
	}
}

// Of a bag's new clubs each that is not known is said, the others are taken, and what
// stands there already is not doubled.
func TestTheClubsOfABagAreNamed(t *testing.T) {
	w := &bagWriter{r: &Reader{}, touched: map[string]bool{}}
	w.names("7i what, 5-6i\n6i who 11w")
	var names, odd []string
	for _, row := range w.rows {
		names = append(names, row.Name)
	}
	for _, f := range w.r.Faults {
		odd = append(odd, f.Value)
	}
	if !slices.Equal(names, []string{"7i", "5i", "6i", "11w"}) || !slices.Equal(odd, []string{"what", "who"}) {
		t.Errorf("taken %q, not known %q", names, odd)
	}
}
