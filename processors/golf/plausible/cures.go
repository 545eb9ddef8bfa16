package plausible

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fairlead/ingest/contract/unit"
)

// Declared is what a field map says of a field.
type Declared struct {
	Quantity unit.Quantity
	Unit     string
	Mirrors  bool // it has a left and a right
}

// Suspicion is one mistake in a field map that would explain what shots break.
type Suspicion struct {
	Fields []string `json:"fields"`         // that were declared wrongly
	Kind   string   `json:"kind"`           // unit, sign, swap, digits, unknown
	Unit   string   `json:"unit,omitempty"` // kind unit: what the values are in
	Cure   string   `json:"cure"`           // in words
	Why    string   `json:"why"`            // the worst law that the shots break as declared
	Before float64  `json:"before"`         // cost as declared
	After  float64  `json:"after"`          // cost with the cure
}

// rank orders suspicions: by what is left unexplained, and of two that explain
// alike the mistake that people make more often.
func (s *Suspicion) rank() float64 {
	return s.After + map[string]float64{"swap": .1, "digits": .3}[s.Kind]*(.5+.1*s.Before)
}

const (
	// fewest is how many shots say anything against a map.
	fewest = 3
	// suspect is the cost from which a run of shots is looked into.
	suspect = 1.6
)

// Suspect names what a map most likely says wrongly, the likeliest first;
// nothing where the shots go together as declared. The shots are as read
// through the map. One mistake is looked for: where several are made, the one
// whose cure explains most is named first, and the next after it is cured.
func Suspect(s Shots, declared map[string]Declared, putts bool) []Suspicion {
	s = s.thin()
	if len(s) < fewest {
		return nil
	}
	judge := &Judge{}
	base := judge.Of(s, putts)
	if base.Cost < suspect || len(base.Breaks) == 0 {
		return nil
	}
	why := base.Breaks[0].Law + ": " + base.Breaks[0].Says
	var out []Suspicion
	for _, c := range cures(s, declared) {
		cost := judge.Of(c.apply(s), putts).Cost
		if cost < .5*base.Cost && base.Cost-cost > .8 {
			c.Suspicion.Before, c.Suspicion.After, c.Suspicion.Why = base.Cost, cost, why
			out = append(out, c.Suspicion)
		}
	}
	slices.SortStableFunc(out, func(a, b Suspicion) int { return cmp.Compare(a.rank(), b.rank()) })
	if len(out) == 0 {
		b := base.Breaks[0]
		if b.By < 2 {
			return nil
		}
		return []Suspicion{{Fields: b.Fields, Kind: "unknown", Cure: "check the columns and units of " + list(b.Fields), Why: why,
			Before: base.Cost, After: base.Cost}}
	}
	return out[:min(3, len(out))]
}

type cure struct {
	Suspicion
	apply func(Shots) Shots
}

// cures are the mistakes that people make in maps, one at a time.
func cures(s Shots, declared map[string]Declared) (out []cure) {
	fields := s.fields()
	scale := func(field string, by float64) func(Shots) Shots {
		return func(s Shots) Shots { return s.with(field, func(v float64) float64 { return v * by }) }
	}
	for _, f := range fields {
		d := declared[f]
		seen := map[float64]bool{1: true}
		if from, err := unit.Lookup(d.Quantity, d.Unit); err == nil {
			for _, name := range everyday[d.Quantity] {
				to, err := unit.Lookup(d.Quantity, name)
				by := (to.To(1) - to.To(0)) / (from.To(1) - from.To(0))
				if err != nil || seen[math.Round(by*1e6)/1e6] {
					continue
				}
				seen[math.Round(by*1e6)/1e6] = true
				out = append(out, cure{Suspicion{Fields: []string{f}, Kind: "unit", Unit: name,
					Cure: fmt.Sprintf("%s looks like %s, and the map says %s", f, name, d.Unit)},
					func(s Shots) Shots { return s.with(f, func(v float64) float64 { return to.To(from.From(v)) }) }})
			}
		}
		for _, by := range []float64{1000, .001, 10, .1, 100, .01} {
			if seen[by] {
				continue
			}
			out = append(out, cure{Suspicion{Fields: []string{f}, Kind: "digits",
				Cure: fmt.Sprintf("%s looks %g times too %s: check numbers.decimal and numbers.thousands, or its unit", f, max(by, 1/by),
					map[bool]string{true: "small", false: "large"}[by > 1])},
				scale(f, by)})
		}
		if d.Mirrors || f == "attack_angle" || f == "launch_angle" || f == "back_spin" {
			out = append(out, cure{Suspicion{Fields: []string{f}, Kind: "sign",
				Cure: f + " looks turned round: check sign, invert and letters"}, scale(f, -1)})
		}
		for _, g := range fields {
			if f < g && declared[f].Quantity == declared[g].Quantity {
				out = append(out, cure{Suspicion{Fields: []string{f, g}, Kind: "swap",
					Cure: f + " and " + g + " look swapped: check their columns"}, func(s Shots) Shots { return s.swapped(f, g) }})
			}
		}
	}
	return out
}

// everyday are the units that devices write, one name each.
var everyday = map[unit.Quantity][]string{
	unit.Speed: {"m/s", "km/h", "mph", "fps", "kn"}, unit.Length: {"m", "yd", "ft", "in", "cm", "mm"},
	unit.Angle: {"deg", "rad"}, unit.Rotation: {"rpm", "rps", "rad/s", "deg/s", "krpm"}, unit.Time: {"s", "ms"},
	unit.Temperature: {"degC", "degF"}, unit.Pressure: {"Pa", "hPa", "inHg"}, unit.Ratio: {"1", "%"},
}

// Units lists the units that devices write a quantity in, one name each.
func Units(q unit.Quantity) []string { return slices.Clone(everyday[q]) }

func (s Shots) with(field string, f func(float64) float64) Shots {
	out := make(Shots, len(s))
	for i, shot := range s {
		out[i] = make(Shot, len(shot))
		for name, v := range shot {
			if name == field {
				v = f(v)
			}
			out[i][name] = v
		}
	}
	return out
}

func (s Shots) swapped(f, g string) Shots {
	out := make(Shots, len(s))
	for i, shot := range s {
		out[i] = make(Shot, len(shot))
		for name, v := range shot {
			switch name {
			case f:
				name = g
			case g:
				name = f
			}
			out[i][name] = v
		}
	}
	return out
}

func list(fields []string) string {
	out := ""
	for i, f := range fields {
		if i > 0 {
			out += ", "
		}
		out += f
	}
	return out
}
