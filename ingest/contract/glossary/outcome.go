package glossary

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Name is an outcome's name where two clubs are compared in a bay: in verdicts,
// promises, priors and statements.
type Name string

// The outcomes, in the order in which they usually can be decided. Window is
// asked of the fleet only.
const (
	Launch          Name = "launch"           // mean launch angle, deg
	Spin            Name = "spin"             // mean spin rate, rpm
	BallSpeed       Name = "ball_speed"       // mean ball speed, m/s
	Carry           Name = "carry"            // mean carry, m
	Landing         Name = "landing"          // mean landing angle, deg
	Strike          Name = "strike"           // mean distance of strike from the face's centre, m
	Start           Name = "start"            // mean launch direction (a putt's start line), deg, right positive
	Curve           Name = "curve"            // mean direction of the landing point less that of the start, deg, right positive
	Offline         Name = "offline"          // mean distance beside the target line, m, right positive
	Skid            Name = "skid"             // mean share of a putt's way before it rolls, 0 to 1
	Direction       Name = "direction"        // ln sd of direction (a putter's start line)
	DistanceControl Name = "distance_control" // ln sd of carry in percent (a putter's ball speed)
	Area            Name = "area"             // ln of √|Σ| in percent × degrees
	Window          Name = "window"           // mean distance to the launch window, in windows
)

// Way is what counts as better.
type Way string

// The ways. Toward needs a target.
const (
	Higher Way = "higher"
	Lower  Way = "lower"
	Toward Way = "toward"
)

// Goal is what counts as better for one outcome. Assumed marks a default that
// holds for many players but not all, such as less spin with a driver: there a
// target from the player's launch window should be given instead.
type Goal struct {
	Way     Way
	Target  float64
	Assumed bool
}

// Scale holds, for one category, the change within which two clubs of one player
// are practically the same, and the standard deviation of the weak prior, both
// in the outcome's unit.
type Scale struct{ Margin, Prior float64 }

// Outcome is a row of the dictionary.
type Outcome struct {
	Name Name
	// Measure names a trial's value of it with the unit: direction_sd_deg; Putts
	// is the same of putts, which do not fly. Empty where no category is judged by it.
	Measure, Putts string
	Unit           string // of a change: ln where the outcome is the logarithm of a spread
	// Better is what counts as better where nothing is declared, But where a
	// category differs from it.
	Better Goal
	But    map[Category]Goal
	// First and Second are the categories that are judged by it.
	First, Second []Category
	// In says where it is compared in a bay, and on which scale.
	In    map[Category]Scale
	Words Words
	Fleet *FleetTerm // nil: the fleet is not asked about it
}

// Words are an outcome for people. Cell is on the page of a bay, Paper on what
// leaves the studio, Meaning one sentence there; Putts are those that putts are
// told in otherwise, for a putt is rolled along a line and flies nowhere.
type Words struct {
	Cell, Paper, Meaning string
	Putts                *Words // nil: the same; an empty one of its words: the same
}

// Of are the words for a kind of club.
func (w Words) Of(putts bool) Words {
	if putts && w.Putts != nil {
		return Words{Cell: cmp.Or(w.Putts.Cell, w.Cell), Paper: cmp.Or(w.Putts.Paper, w.Paper), Meaning: cmp.Or(w.Putts.Meaning, w.Meaning)}
	}
	return Words{Cell: w.Cell, Paper: w.Paper, Meaning: w.Meaning}
}

// FleetTerm is an outcome as the fleet is asked about it.
type FleetTerm struct {
	Name  string // in questions, answers and links
	Rank  int    // place in the list of what may be asked
	Short string
	Title string
	Of    string  // the unit of the outcome, or of what the logarithm is of
	Sign  float64 // −1: smaller is better, +1: greater
	// Percent is the change of a spread, or Margin that of a mean in Of, which is
	// practically none for the average of many players. It is narrower than the
	// margin for one player, because the fleet sees finer.
	Percent, Margin float64
	LeastSD         float64 // a prior is never surer than this; 0: it is no prior
	Only            []Category
}

// Tightness says that the outcome is a spread, on the log scale.
func (o *Outcome) Tightness() bool { return o.Unit == "ln" }

// Sided says that the outcome lies to one side of the player's aim: a change of
// it is to the left or to the right, and better is what lies nearer to the aim.
func (o *Outcome) Sided() bool { return o.Name == Start || o.Name == Curve || o.Name == Offline }

// Goal is what counts as better with a category where nothing is declared. A
// wedge or an iron is not better for being longer; 'higher' there is a
// convention for reading the number, and marked as assumed.
func (o *Outcome) Goal(c Category) Goal {
	if g, ok := o.But[c]; ok {
		return g
	}
	return o.Better
}

// Measured is the name of a trial's value with the unit.
func (o *Outcome) Measured(c Category) string {
	if c == Putter {
		return o.Putts
	}
	return o.Measure
}

// Asked says whether the fleet is asked about it for a category.
func (o *Outcome) Asked(c Category) bool {
	return o.Fleet != nil && slices.Contains(Airborne(), c) && (o.Fleet.Only == nil || slices.Contains(o.Fleet.Only, c))
}

// Outcomes lists those that are compared in a bay, in the order in which they
// usually can be decided.
func Outcomes() []Name {
	var out []Name
	for i := range table {
		if len(table[i].In) > 0 {
			out = append(out, table[i].Name)
		}
	}
	return out
}

// FleetOutcomes lists those that the fleet may be asked about.
func FleetOutcomes() []Outcome {
	out := slices.DeleteFunc(slices.Clone(table), func(o Outcome) bool { return o.Fleet == nil })
	slices.SortFunc(out, func(a, b Outcome) int { return a.Fleet.Rank - b.Fleet.Rank })
	return out
}

// Find finds an outcome by any name that it is stored under.
func Find(name string) (Outcome, bool) {
	if name == "" {
		return Outcome{}, false
	}
	for _, o := range table {
		if name == string(o.Name) || name == o.Measure || name == o.Putts || o.Fleet != nil && name == o.Fleet.Name {
			return o, true
		}
	}
	return Outcome{}, false
}

// row is the outcome of a name, an empty one where there is none.
func (n Name) row() *Outcome {
	for i := range table {
		if table[i].Name == n {
			return &table[i]
		}
	}
	return &Outcome{}
}

// Row is the outcome of a name; the zero value for one that is not known.
func (n Name) Row() Outcome { return *n.row() }

// ParseName reads the name of an outcome that is compared in a bay.
func ParseName(s string) (Name, error) {
	if n := Name(s); slices.Contains(Outcomes(), n) {
		return n, nil
	}
	return "", fmt.Errorf("outcome %q is not known; use one of %v", s, Outcomes())
}

// Unit returns the unit of an outcome's change.
func (n Name) Unit() string { return cmp.Or(n.row().Unit, "ln") }

// Tightness says that an outcome is a spread, on the log scale.
func (n Name) Tightness() bool { return n.row().Tightness() }

// Sided says that an outcome lies to one side of the player's aim.
func (n Name) Sided() bool { return n.row().Sided() }

// Told are the words of an outcome stored under any name, for a kind of club; the
// name itself, spaced, where it is not known.
func Told(name string, putts bool) Words {
	o, _ := Find(name)
	w := o.Words.Of(putts || name != "" && name == o.Putts)
	spaced := strings.ReplaceAll(name, "_", " ")
	w.Cell, w.Paper = cmp.Or(w.Cell, spaced), cmp.Or(w.Paper, spaced)
	return w
}
