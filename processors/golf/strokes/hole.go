package strokes

import (
	"encoding/json"
	"fmt"
	"io"
	"math"

	"fairlead/ingest/contract/glossary"
)

// Hole is the hole on which shots are valued. Lengths are m.
type Hole struct {
	// Of is where the figures come from, in words.
	Of string `json:"of"`
	// Length is that of the hole for what is hit from its tee.
	Length float64 `json:"length_m"`
	// Fairway is its whole width, and Rough how far from its middle one can still play
	// on toward the hole: beyond one has to come back first.
	Fairway float64 `json:"fairway_m"`
	Rough   float64 `json:"rough_m"`
	// Green is the radius of the green for what is hit at a flag in its middle.
	Green float64 `json:"green_m"`
	// Strokes to hole out from either, and putts on the green.
	FromFairway  Table `json:"from_fairway"`
	FromRough    Table `json:"from_rough"`
	FromRecovery Table `json:"from_recovery"`
	Putts        Table `json:"putts"`
}

// Usual is a par four of 360 m with a fairway of 30 m, and greens of 13 m radius
// (530 m²): working values for a course of middle length. How one goes on is as
// tournament professionals did; others lose more with every metre and every miss, so
// that what it says of a difference is the least that it makes.
func Usual() Hole {
	return Hole{Of: "as tournament professionals go on (Broadie 2012)", Length: 360, Fairway: 30, Rough: 35, Green: 13,
		FromFairway: fairway, FromRough: rough, FromRecovery: recovery, Putts: putts}
}

// Read reads a hole as JSON, with the fields of Hole; what is left out stays as usual.
func Read(r io.Reader) (Hole, error) {
	h := Usual()
	h.Of = "as the hole's file says"
	d := json.NewDecoder(r)
	d.DisallowUnknownFields()
	if err := d.Decode(&h); err != nil {
		return Hole{}, fmt.Errorf("hole: %w; give length_m, fairway_m, rough_m, green_m, and from_fairway, from_rough, from_recovery and putts "+
			"as lists of {\"m\": …, \"strokes\": …}", err)
	}
	return h, h.check()
}

func (h Hole) check() error {
	for _, x := range []struct {
		name       string
		v, low, up float64
	}{
		{"length_m", h.Length, 50, 700}, {"fairway_m", h.Fairway, 5, 200}, {"rough_m", h.Rough, h.Fairway / 2, 300},
		{"green_m", h.Green, 2, 50},
	} {
		if !(x.v >= x.low && x.v <= x.up) {
			return fmt.Errorf("hole: %s is %g, and must be %g to %g m", x.name, x.v, x.low, x.up)
		}
	}
	for name, t := range map[string]Table{"from_fairway": h.FromFairway, "from_rough": h.FromRough, "from_recovery": h.FromRecovery,
		"putts": h.Putts} {
		last := math.Inf(-1)
		for _, p := range t {
			if !(p.Metres > last) || !(p.Strokes >= 1 && p.Strokes <= 20) || math.IsInf(p.Metres, 0) {
				return fmt.Errorf("hole: %s at %g m: distances must rise, and strokes be 1 to 20", name, p.Metres)
			}
			last = p.Metres
		}
		if len(t) < 2 {
			return fmt.Errorf("hole: %s needs two distances or more", name)
		}
	}
	return nil
}

// FromTee says that a category is valued from the tee of the hole, for its length too;
// what is hit at a flag is valued for its scatter alone, since another club would be taken
// for another distance.
func FromTee(c glossary.Category) bool { return c == glossary.Driver || c == glossary.Wood }

// Valued says that shots of a category are valued at all: putts are not.
func Valued(c glossary.Category) bool {
	return FromTee(c) || c == glossary.Hybrid || c == glossary.Iron || c == glossary.Wedge
}

// rest is what it takes from where a shot comes down: along and beside, m, from the tee
// or from the flag. What comes down within half a cell of an edge is partly on either side
// of it.
func (h *Hole) rest(tee bool, along, beside, cell float64) float64 {
	within := func(d, edge float64) float64 { return min(max((edge-d)/cell+0.5, 0), 1) }
	mix := func(share float64, in, out Table, d float64) float64 {
		switch share {
		case 0:
			return out.At(d)
		case 1:
			return in.At(d)
		}
		return share*in.At(d) + (1-share)*out.At(d)
	}
	if !tee {
		d := math.Hypot(along, beside)
		return mix(within(d, h.Green), h.Putts, h.FromRough, d)
	}
	d, off := math.Hypot(h.Length-along, beside), math.Abs(beside)
	switch {
	case d <= h.Green:
		return h.Putts.At(d)
	case off < (h.Fairway/2+h.Rough)/2:
		return mix(within(off, h.Fairway/2), h.FromFairway, h.FromRough, d)
	}
	return mix(within(off, h.Rough), h.FromRough, h.FromRecovery, d)
}

// Shot is what it takes after one shot that came down at a carry and so far beside the
// line, m; flag is how far off the flag is that was aimed at, where it was not hit from the
// hole's tee.
func (h *Hole) Shot(c glossary.Category, flag, carry, offline float64) float64 {
	if FromTee(c) {
		return h.rest(true, carry, offline, edge)
	}
	return h.rest(false, carry-flag, offline, edge)
}

// edge is as sharp as an edge is, m.
const edge = 1e-6

// Scatter is how a player hits a club: mean carry, m, and the standard deviations of
// carry, as a share of it, and of direction, deg. What lies beside the line on average is
// aimed off.
type Scatter struct{ Carry, CarryShare, Direction float64 }

// node is a place in a normal scatter, in standard deviations, and its weight.
type node struct{ z, weight float64 }

// reach is how many standard deviations the sums go.
const reach = 4.0

// lengths and turns are the nodes along and across; across lie the edges.
var lengths, turns = nodes(21), nodes(41)

func nodes(n int) []node {
	out, total := make([]node, n), 0.0
	for i := range out {
		z := reach * (2*float64(i)/float64(n-1) - 1)
		out[i] = node{z, math.Exp(-z * z / 2)}
		total += out[i].weight
	}
	for i := range out {
		out[i].weight /= total
	}
	return out
}

// Expect is the mean of strokes to hole out after a shot of a normal scatter, carry and
// direction independent. An error says that it is no scatter.
func (h *Hole) Expect(c glossary.Category, s Scatter) (float64, error) {
	if !(s.Carry > 0 && s.Carry < 1000) || !(s.CarryShare >= 0 && s.CarryShare < 1) || !(s.Direction >= 0 && s.Direction < 60) {
		return 0, fmt.Errorf("scatter of %g m ± %g, ± %g°: no club is hit like that", s.Carry, s.CarryShare, s.Direction)
	}
	tee := FromTee(c)
	beside := make([]float64, len(turns))
	for j, turn := range turns {
		beside[j] = math.Tan(s.Direction * turn.z * math.Pi / 180)
	}
	step := 2 * reach / float64(len(turns)-1) * s.Direction * math.Pi / 180
	sum := 0.0
	for _, l := range lengths {
		carry := s.Carry * (1 + s.CarryShare*l.z)
		along := carry
		if !tee {
			along -= s.Carry
		}
		row, cell := 0.0, max(step*math.Abs(carry), edge)
		if !tee { // the edge is a circle: cells along it are those of carry
			cell = max(cell, 2*reach/float64(len(lengths)-1)*s.CarryShare*s.Carry)
		}
		for j, turn := range turns {
			row += turn.weight * h.rest(tee, along, carry*beside[j], cell)
		}
		sum += l.weight * row
	}
	return sum, nil
}
