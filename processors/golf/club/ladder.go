package club

import (
	"fairlead/ingest/contract/glossary"
	"fmt"
	"math"
	"strings"
)

// Rung is one club of a set by its length. Lengths are in m from butt to sole,
// lofts in degrees.
type Rung struct {
	Name     string
	Category glossary.Category
	Length   float64
	Loft     float64
}

// StandardSet is a set as the trade commonly builds it for a man of middling
// height: driver 45 in, 3-wood 43, 5-iron 38, 7-iron 37, wedges 35.5, irons in
// half-inch steps. It is a habit and no norm (makers differ by half an inch
// and by several degrees), meant as a starting point that measured clubs and
// a player's own length replace.
func StandardSet() []Rung {
	in := func(v float64) float64 { return v * Inch }
	set := []Rung{
		{"driver", glossary.Driver, in(45), 10.5}, {"3w", glossary.Wood, in(43), 15}, {"5w", glossary.Wood, in(42.5), 18},
		{"7w", glossary.Wood, in(42), 21},
		{"3h", glossary.Hybrid, in(40.5), 19}, {"4h", glossary.Hybrid, in(40), 22}, {"5h", glossary.Hybrid, in(39.5), 25},
	}
	lofts := map[int]float64{3: 20, 4: 23, 5: 26, 6: 29.5, 7: 33, 8: 37, 9: 41}
	for n := 3; n <= 9; n++ {
		set = append(set, Rung{fmt.Sprintf("%di", n), glossary.Iron, in(38 + 0.5*float64(5-n)), lofts[n]})
	}
	for _, w := range []struct {
		name string
		loft float64
	}{{"pw", 45}, {"gw", 50}, {"sw", 55}, {"lw", 60}} {
		set = append(set, Rung{w.name, glossary.Wedge, in(35.5), w.loft})
	}
	return set
}

// LadderSpec says how lengths step through a set.
type LadderSpec struct {
	// Lengths fixes clubs by name, in m: usually the one that was fitted. The
	// other clubs of its family (woods and hybrids; irons and wedges) move by
	// the same amount; a family without a fixed club keeps its standard lengths.
	// Between two fixed clubs of a family the shift is interpolated.
	Lengths map[string]float64
	// IronStep is the step from iron to iron in m, up to the pitching wedge;
	// zero keeps half an inch. The other wedges have the pitching wedge's length.
	IronStep float64
	// Set is what to step through; nil is StandardSet.
	Set []Rung
}

// Ladder returns the set with the lengths that the spec asks for, in the
// order of the set. A club fixed by name but not in the set is an InputError.
func Ladder(spec LadderSpec) ([]Rung, error) {
	set := spec.Set
	if set == nil {
		set = StandardSet()
	}
	set = append([]Rung(nil), set...)
	if spec.IronStep != 0 {
		if err := within("iron step", spec.IronStep, 0.003, 0.03, "m", "half an inch is 12.7 mm, three eighths 9.5 mm"); err != nil {
			return nil, err
		}
		restep(set, spec.IronStep)
	}
	shifts := map[string]float64{}
	for name, length := range spec.Lengths {
		if err := within("length of "+name, length, 0.6, 1.4, "m", "give the playing length, such as 37.25in"); err != nil {
			return nil, err
		}
		i := find(set, name)
		if i < 0 {
			return nil, &InputError{Field: "club", Value: fmt.Sprintf("%q", name), Reason: "is not in the set",
				Try: "use one of " + strings.Join(names(set), ", ")}
		}
		shifts[set[i].Name] = length - set[i].Length
	}
	for _, long := range []bool{true, false} {
		shiftFamily(set, shifts, long)
	}
	for i := range set {
		if err := within("length of "+set[i].Name, set[i].Length, 0.6, 1.4, "m", "use a smaller step or a different fixed length"); err != nil {
			return nil, err
		}
	}
	return set, nil
}

// restep lays irons and wedges out from the 7-iron (or the middle iron) by step.
func restep(set []Rung, step float64) {
	pivot := find(set, "7i")
	if pivot < 0 {
		pivot = find(set, "6i")
	}
	if pivot < 0 {
		return
	}
	base, place := set[pivot].Length, 0
	positions := make([]int, len(set))
	wedged := false
	for i := range set {
		if !isIronFamily(set[i].Category) {
			continue
		}
		if set[i].Category == glossary.Iron || !wedged {
			place++
			wedged = wedged || set[i].Category == glossary.Wedge
		}
		positions[i] = place
	}
	zero := positions[pivot]
	for i := range set {
		if positions[i] > 0 {
			set[i].Length = base - step*float64(positions[i]-zero)
		}
	}
}

// shiftFamily moves one family by its fixed clubs, straight between them and
// level beyond them.
func shiftFamily(set []Rung, shifts map[string]float64, long bool) {
	var at []int
	for i, r := range set {
		if _, fixed := shifts[r.Name]; fixed && isIronFamily(r.Category) != long {
			at = append(at, i)
		}
	}
	if len(at) == 0 {
		return
	}
	for i := range set {
		if isIronFamily(set[i].Category) == long {
			continue
		}
		before, after := at[0], at[len(at)-1]
		for _, k := range at {
			if k <= i && k > before {
				before = k
			}
			if k >= i && k < after {
				after = k
			}
		}
		shift := shifts[set[before].Name]
		if i <= at[0] {
			shift = shifts[set[at[0]].Name]
		} else if after > before && i > before {
			w := float64(i-before) / float64(after-before)
			shift += w * (shifts[set[after].Name] - shift)
		}
		set[i].Length += shift
	}
}

func isIronFamily(c glossary.Category) bool { return c == glossary.Iron || c == glossary.Wedge }

func find(set []Rung, name string) int {
	for i, r := range set {
		if strings.EqualFold(r.Name, strings.TrimSpace(name)) {
			return i
		}
	}
	return -1
}

func names(set []Rung) []string {
	var out []string
	for _, r := range set {
		out = append(out, r.Name)
	}
	return out
}

// Matched is a rung with the head it needs to feel like the others.
type Matched struct {
	Rung
	HeadMass float64 // kg
	Heft     Heft
}

// MatchBy is what a matched set holds equal.
type MatchBy string

// Ways to match a set: the trade's scale, or the inertia about the butt.
const (
	BySwingWeight MatchBy = "swingweight"
	ByInertia     MatchBy = "inertia"
)

// MatchHeads finds, for each rung, the head mass at which it has the swing
// weight (or the inertia) of the model club. Shafts keep the model's mass a
// metre, grips its mass.
func MatchHeads(rungs []Rung, model Club, by MatchBy) ([]Matched, error) {
	want, err := model.Heft()
	if err != nil {
		return nil, err
	}
	var out []Matched
	for _, r := range rungs {
		c := model.With(Change{Length: r.Length - model.Length})
		var head float64
		switch by {
		case BySwingWeight:
			head, err = c.HeadFor(want.SwingWeight)
		case ByInertia:
			head, err = c.HeadForInertia(want.Inertia)
		default:
			err = &InputError{Field: "match", Value: string(by), Reason: "is no way to match a set", Try: "use swingweight or inertia"}
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", r.Name, err)
		}
		c.HeadMass = head
		out = append(out, Matched{r, head, c.heft()})
	}
	return out, nil
}

// Step is how one club follows another in a measured set.
type Step struct {
	From, To     string
	Wanted, Real float64 // m, how much shorter To is
	Off          float64 // m, Real − Wanted
	Within       bool
}

// CheckSteps compares a measured set with the wanted ladder, club by club, and
// marks steps that are off by more than tolerance (m). Clubs that were not
// measured are left out, and the steps close over them.
func CheckSteps(wanted []Rung, measured map[string]float64, tolerance float64) ([]Step, error) {
	if err := within("tolerance", tolerance, 0, 0.05, "m", "a sixteenth of an inch is 1.6 mm"); err != nil {
		return nil, err
	}
	real := map[string]float64{}
	for name, length := range measured {
		if find(wanted, name) < 0 {
			return nil, &InputError{Field: "club", Value: fmt.Sprintf("%q", name), Reason: "is not in the set",
				Try: "use one of " + strings.Join(names(wanted), ", ")}
		}
		if err := within("length of "+name, length, 0.6, 1.4, "m", "give the playing length, such as 37.25in"); err != nil {
			return nil, err
		}
		real[strings.ToLower(strings.TrimSpace(name))] = length
	}
	var out []Step
	last := -1
	for i, r := range wanted {
		length, ok := real[strings.ToLower(r.Name)]
		if !ok {
			continue
		}
		if last >= 0 {
			from := wanted[last]
			s := Step{From: from.Name, To: r.Name, Wanted: from.Length - r.Length, Real: real[strings.ToLower(from.Name)] - length}
			s.Off = s.Real - s.Wanted
			s.Within = math.Abs(s.Off) <= tolerance+1e-9
			out = append(out, s)
		}
		last = i
	}
	return out, nil
}
