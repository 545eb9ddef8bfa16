package order

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
)

// Refusal is why an order can't be placed as it stands.
type Refusal struct {
	Club   string // empty: the order as a whole
	Part   Part
	Reason string
	Try    string
}

func (r Refusal) String() string {
	at := strings.TrimSpace(r.Club + " " + strings.ReplaceAll(string(r.Part), "_", " "))
	if at != "" {
		at += ": "
	}
	return at + r.Reason + "; " + r.Try
}

// span is a range in the stored unit.
type span struct{ low, high float64 }

// made is what clubs of a kind are made like: beyond it a figure is a slip of
// the finger. Working ranges, wide on purpose; no norm says them.
var made = map[glossary.Category]map[Part]span{
	glossary.Driver: {Loft: {5, 20}, Lie: {48, 68}, Length: {0.95, 1.25}, Head: {0.16, 0.24}},
	glossary.Wood:   {Loft: {10, 32}, Lie: {50, 68}, Length: {0.9, 1.2}, Head: {0.17, 0.27}},
	glossary.Hybrid: {Loft: {13, 40}, Lie: {52, 68}, Length: {0.85, 1.12}, Head: {0.2, 0.29}},
	glossary.Iron:   {Loft: {14, 56}, Lie: {54, 72}, Length: {0.8, 1.08}, Head: {0.2, 0.34}},
	glossary.Wedge:  {Loft: {38, 72}, Lie: {56, 72}, Length: {0.76, 0.99}, Head: {0.25, 0.36}},
	glossary.Putter: {Loft: {-3, 10}, Lie: {60, 81}, Length: {0.7, 1.4}, Head: {0.28, 0.65}},
}

var anyClub = map[Part]span{Shaft: {0.03, 0.18}, Grip: {0.015, 0.2}, Total: {0.2, 1}, TipTrim: {0, 0.2}, ButtTrim: {0, 0.5}}

func (p *Plan) refuse(name string, part Part, try, reason string, args ...any) {
	p.Refusals = append(p.Refusals, Refusal{name, part, fmt.Sprintf(reason, args...), try})
}

// needed are the figures without which nobody can build a club.
func needed(c glossary.Category) []Part {
	if c == glossary.Putter {
		return []Part{Length, Loft, Lie}
	}
	return []Part{Length, Loft, Lie, SwingWeight}
}

// check finds what can't be built.
func (p *Plan) check(a Asked) {
	h := newHeft(a.Hit)
	for _, r := range p.Rows {
		for _, part := range needed(r.Category) {
			if _, ok := r.Figures[part]; !ok {
				p.refuse(r.Name, part, "measure it on the club that was hit, or fix it for this club", "is not known")
			}
		}
		for _, part := range Parts() {
			f, ok := r.Figures[part]
			if !ok {
				continue
			}
			within, ok := made[r.Category][part]
			if !ok {
				within, ok = anyClub[part]
			}
			switch {
			case math.IsNaN(f.Number) || math.IsInf(f.Number, 0):
				p.refuse(r.Name, part, "give the figures that it follows from", "comes to no number")
			case part == ButtTrim && f.Number < 0:
				p.refuse(r.Name, part, "order a longer raw shaft, or a shorter club", "the raw shaft is %.1f mm too short", -f.Number*1000)
			case ok && (f.Number < within.low || f.Number > within.high):
				p.refuse(r.Name, part, "check the figure and its unit", "%s is outside %s, as a %s is made", say(part, f.Number), between(part, within),
					r.Category)
			}
		}
		if got, ok := h.forecast(r); ok && r.Figures[SwingWeight].Origin == Fixed && r.Figures[Head].Origin == Fixed {
			points := (got - r.Figures[SwingWeight].Number) / club.Point
			if tol := club.DefaultTolerances()[club.SpecSwingWeight] + r.Figures[SwingWeight].Unsure; math.Abs(points) > tol {
				p.refuse(r.Name, SwingWeight, "let the head or the swing weight follow", "the fixed parts come to %s, %+.1f points from what is asked",
					club.SwingWeightOf(got), points)
			}
		}
		if total, ok := r.Number(Total); ok && r.Figures[Total].Origin == Fixed && len(h.missing) == 0 {
			head, _ := r.Number(Head)
			shaft, _ := r.Number(Shaft)
			grip, _ := r.Number(Grip)
			if off := head + shaft + grip + r.Rest - total; math.Abs(off) > club.DefaultTolerances()[club.SpecMass] {
				p.refuse(r.Name, Total, "let the total follow, or fix the parts that make it", "the parts come to %.1f g, %+.1f g from what is asked",
					(total+off)*1000, off*1000)
			}
		}
	}
	p.steps(Length, -1)
	p.steps(Loft, +1)
	if !a.Unhit && !slices.ContainsFunc(p.Rows, func(r Row) bool { return r.Anchor }) {
		p.refuse("", "", "order the club that was hit with the others, or say that this is ordered though nobody hit it",
			"nobody hit a club of this order (the %s was hit)", a.HitName)
	}
}

// steps finds a set whose clubs do not follow one another: by sign, each club is
// to have more (+1) or less (-1) of a figure than the one before, or as much.
func (p *Plan) steps(part Part, sign float64) {
	last := map[string]Row{}
	for _, r := range p.Rows {
		v, ok := r.Number(part)
		if !ok {
			continue
		}
		before, seen := last[family(r.Category)]
		last[family(r.Category)] = r
		if b, _ := before.Number(part); seen && sign*(v-b) < -1e-9 && order(before) < order(r) {
			p.refuse(r.Name, part, "fix one of the two anew", "is %s, against %s of the %s before it: a set steps the other way", say(part, v),
				say(part, b), before.Name)
		}
	}
}

// order is a club's place in a set.
func order(r Row) float64 {
	for i, s := range club.StandardSet() {
		if s.Name == r.Name {
			return float64(i)
		}
	}
	if loft, ok := r.Number(Loft); ok {
		return 100 + loft
	}
	return 1000
}

func say(p Part, v float64) string {
	switch p {
	case Loft, Lie:
		return fmt.Sprintf("%.4g°", v)
	case SwingWeight:
		return club.SwingWeightOf(v).String()
	case Head, Shaft, Grip, Total:
		return fmt.Sprintf("%.1f g", v*1000)
	}
	return fmt.Sprintf("%.4g in (%.4g m)", v/club.Inch, v)
}

func between(p Part, s span) string { return say(p, s.low) + " to " + say(p, s.high) }
