package order

import (
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
)

// Asked is what an order is made from.
type Asked struct {
	// Hit is the club that was hit; what is absent is unknown, unless it is fixed
	// in its row of the order (see learn).
	Hit      map[Part]Known
	HitName  string            // which club of the set it is: 7i
	Category glossary.Category // of the club that was hit
	Clubs    []string          // names, as the trade has them: 5i, pw, 56
	Fixed    map[string]map[Part]float64
	Rules    Rules
	// Unhit: somebody orders what nobody hit, and says so.
	Unhit bool
}

// Plan is an order before it is placed.
type Plan struct {
	Rows     []Row
	Missing  []Part    // of the club that was hit, without which heft can't be planned
	Filled   Part      // weight that was taken as the rest of the total; empty: none
	Refusals []Refusal // reasons why it can't be ordered like this; none: it can
	Notes    []string  // what to know, no reason to refuse
}

// New plans an order. Errors are *club.InputError: a name that is no club, or
// one that stands there twice.
func New(a Asked) (Plan, error) {
	var p Plan
	a.learn()
	set, err := ladder(a)
	if err != nil {
		return p, err
	}
	at := slices.IndexFunc(set, func(r club.Rung) bool { return r.Name == a.HitName })
	if at < 0 {
		return p, &club.InputError{Field: "club that was hit", Value: fmt.Sprintf("%q", a.HitName), Reason: "is no club of a set that is known",
			Try: "say which one it is, such as 7i, driver, pw or 56"}
	}
	h := newHeft(a.Hit)
	p.Missing, p.Filled = h.missing, h.filled
	for _, name := range a.Clubs {
		i := slices.IndexFunc(set, func(r club.Rung) bool { return r.Name == name })
		p.Rows = append(p.Rows, row(a, h, set[i], set[at]))
	}
	if _, asked := a.Hit[SwingWeight]; a.Category == glossary.Putter && !asked { // nobody plans it of a putter
		p.Missing = nil
		for _, r := range p.Rows {
			if r.Category == glossary.Putter && r.Figures[SwingWeight].Origin == Derived {
				delete(r.Figures, SwingWeight)
			}
		}
	}
	p.check(a)
	return p, nil
}

// learn takes what was written for the club that was hit, and is not known of it,
// as known of it: who weighs it at the bench writes that into its row, and the set
// follows. Where that row is made to another length, its weights are no other
// club's.
func (a *Asked) learn() {
	fixed := a.Fixed[a.HitName]
	length, known := a.Hit[Length]
	if l, ok := fixed[Length]; ok && known && math.Abs(l-length.Number) > 1e-9 {
		return
	}
	hit := maps.Clone(a.Hit)
	for p, v := range fixed {
		if _, ok := hit[p]; !ok && p != ButtTrim {
			if hit == nil {
				hit = map[Part]Known{}
			}
			hit[p] = Known{Number: v}
		}
	}
	a.Hit = hit
}

var wedgeByLoft = regexp.MustCompile(`^(\d{2}(?:\.\d+)?)\s*(?:°|deg)?$`)

// Names brings what a person wrote to names of clubs: "5i 6i, 7 iron" is not
// asked for, "5-7i" is. Doubles and unknown names are *club.InputError.
func Names(text string) (out []string, err error) {
	bad := func(word, reason string) error {
		return &club.InputError{Field: "club", Value: strconv.Quote(word), Reason: reason, Try: "write names such as 5i 6i 7i pw 56, or 5-9i"}
	}
	known := map[string]bool{"putter": true}
	for _, r := range club.StandardSet() {
		known[r.Name] = true
	}
	add := func(name string) error {
		if m := wedgeByLoft.FindStringSubmatch(name); m != nil {
			name = m[1]
			if loft, _ := strconv.ParseFloat(name, 64); loft < 40 || loft > 70 {
				return bad(name, "is no loft of a wedge")
			}
		} else if !known[name] {
			return bad(name, "is no club of a set that is known")
		}
		if slices.Contains(out, name) {
			return bad(name, "stands there twice")
		}
		out = append(out, name)
		return nil
	}
	span := regexp.MustCompile(`^(\d)-(\d)([iwh])$`)
	for _, word := range strings.FieldsFunc(strings.ToLower(text),
		func(r rune) bool { return r == ' ' || r == ',' || r == '\n' || r == '\t' || r == '\r' }) {
		if m := span.FindStringSubmatch(word); m != nil && m[1] < m[2] {
			for d := m[1][0]; d <= m[2][0]; d++ {
				if err := add(string(d) + m[3]); err != nil {
					return nil, err
				}
			}
			continue
		}
		if err := add(word); err != nil {
			return nil, err
		}
	}
	if len(out) == 0 {
		return nil, bad("", "is missing: no club is named")
	}
	return out, nil
}

// ladder is the standard set with wedges by loft and the putter where they are
// asked for, stepped and moved so that the club that was hit has its length.
func ladder(a Asked) ([]club.Rung, error) {
	set := club.StandardSet()
	for _, name := range append([]string{a.HitName}, a.Clubs...) {
		m := wedgeByLoft.FindStringSubmatch(name)
		if slices.ContainsFunc(set, func(r club.Rung) bool { return r.Name == name }) {
			continue
		}
		switch {
		case m != nil:
			loft, _ := strconv.ParseFloat(m[1], 64)
			set = append(set, club.Rung{Name: name, Category: glossary.Wedge, Length: 35.5 * club.Inch, Loft: loft})
		case name == "putter":
			set = append(set, club.Rung{Name: name, Category: glossary.Putter, Length: 34 * club.Inch, Loft: 3})
		default:
			return nil, &club.InputError{Field: "club", Value: strconv.Quote(name), Reason: "is no club of a set that is known",
				Try: "write names such as 5i, pw, 56, driver, 3w or putter"}
		}
	}
	spec := club.LadderSpec{IronStep: a.Rules.LengthStep, Set: set, Lengths: map[string]float64{}}
	if length, ok := a.Hit[Length]; ok && a.HitName != "putter" {
		spec.Lengths[a.HitName] = length.Number
	}
	out, err := club.Ladder(spec)
	if err != nil {
		return nil, err
	}
	for i := range out { // a putter is no rung of the woods
		if length, ok := a.Hit[Length]; out[i].Category == glossary.Putter {
			out[i].Length = 34 * club.Inch
			if ok && a.HitName == "putter" {
				out[i].Length = length.Number
			}
		}
	}
	return out, nil
}

// row makes one club.
func row(a Asked, h heft, r, hit club.Rung) Row {
	out := Row{Name: r.Name, Category: r.Category, Figures: map[Part]Figure{}, Anchor: r.Name == hit.Name}
	fixed := a.Fixed[r.Name]
	set := func(p Part, v float64, why string) {
		if f, ok := fixed[p]; ok {
			out.Figures[p] = Figure{Number: f, Origin: Fixed}
			return
		}
		if k, ok := a.Hit[p]; ok && out.Anchor && math.Abs(k.Number-v) < 1e-9 {
			out.Figures[p] = Figure{Number: v, Origin: map[bool]Origin{true: Measured, false: Stated}[k.Measured]}
			return
		}
		out.Figures[p] = Figure{Number: v, Origin: Derived, Why: why}
	}
	same := family(r.Category) == family(hit.Category)
	if _, known := a.Hit[Length]; known && same || fixed[Length] > 0 {
		set(Length, r.Length, fmt.Sprintf("length ladder from the %s that was hit", hit.Name))
	}
	if loft, known := a.Hit[Loft]; known && same {
		set(Loft, loft.Number+r.Loft-hit.Loft, fmt.Sprintf("loft steps of a usual set from the %s that was hit", hit.Name))
	} else if fixed[Loft] != 0 {
		set(Loft, fixed[Loft], "")
	}
	length, known := out.Number(Length)
	if lie, ok := a.Hit[Lie]; ok && known && same {
		shorter := (a.Hit[Length].Number - length) / halfInch
		set(Lie, lie.Number+shorter*a.Rules.lieStep(), fmt.Sprintf("%g° more upright for each half inch shorter", a.Rules.lieStep()))
	} else if fixed[Lie] != 0 {
		set(Lie, fixed[Lie], "")
	}
	for _, p := range []Part{SwingWeight, Head, Shaft, Grip, Total, TipTrim, ButtTrim} {
		if v, ok := fixed[p]; ok {
			set(p, v, "")
		}
	}
	if known && same {
		h.weigh(&out, a, set)
		trim(&out, a, set, length)
	}
	return out
}

// family says which clubs follow from one another: a driver says nothing of a
// wedge.
func family(c glossary.Category) string {
	switch c {
	case glossary.Iron, glossary.Wedge:
		return "irons"
	case glossary.Driver, glossary.Wood, glossary.Hybrid:
		return "woods"
	}
	return string(c)
}

// trim fills in what is cut off the shaft.
func trim(out *Row, a Asked, set func(Part, float64, string), length float64) {
	if tip, ok := a.Hit[TipTrim]; ok {
		shorter := (a.Hit[Length].Number - length) / halfInch
		set(TipTrim, max(0, tip.Number+shorter*a.Rules.TipStep), "tip trim of the club that was hit, stepped by the chart's step")
	}
	if a.Rules.RawShaft > 0 {
		tip, _ := out.Number(TipTrim)
		set(ButtTrim, a.Rules.RawShaft-tip-(length-hosel), "raw shaft less tip trim and shaft as cut")
	}
}
