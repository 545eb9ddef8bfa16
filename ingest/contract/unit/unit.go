// Package unit converts between the units that people and devices write and
// the ones Fairlead stores: SI, with angles in degrees and rotation in rpm.
//
// A Quantity is a kind of measurement (a speed, a length, ...). Every quantity
// has one stored unit and any number of accepted ones; all conversions are
// affine, stored = value·factor + offset.
package unit

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Quantity is a kind of measurement; each has exactly one stored unit.
type Quantity string

// The quantities of the project, with the unit each is stored in.
const (
	Speed       Quantity = "speed"       // m/s
	Length      Quantity = "length"      // m
	Angle       Quantity = "angle"       // deg
	Rotation    Quantity = "rotation"    // rpm
	Mass        Quantity = "mass"        // kg
	Time        Quantity = "time"        // s
	Temperature Quantity = "temperature" // degC
	Pressure    Quantity = "pressure"    // Pa
	Density     Quantity = "density"     // kg/m3
	Inertia     Quantity = "inertia"     // kg m2
	Moment      Quantity = "moment"      // kg m (mass times arm; swing weight's base)
	Frequency   Quantity = "frequency"   // cpm, cycles a minute, as shafts are stated
	Ratio       Quantity = "ratio"       // 1
)

// scale is one accepted unit: stored = value*factor + offset.
type scale struct{ factor, offset float64 }

// Units in the one that each quantity is stored in. Whoever needs a factor takes
// it from here.
const (
	Inch  = 0.0254         // m
	Foot  = 12 * Inch      // m
	Yard  = 3 * Foot       // m
	Mile  = 1760 * Yard    // m
	MPH   = Mile / 3600    // m/s
	Ounce = 0.028349523125 // kg
	Pound = 16 * Ounce     // kg
)

// units holds the accepted names of each quantity; the stored one is first in
// storedNames. Names are matched without regard to case after the exact match.
var units = map[Quantity]map[string]scale{
	Speed: {
		"m/s": {1, 0}, "mps": {1, 0}, "km/h": {1 / 3.6, 0}, "kmh": {1 / 3.6, 0}, "kph": {1 / 3.6, 0},
		"mph": {Mile / 3600, 0}, "ft/s": {Foot, 0}, "fps": {Foot, 0}, "kn": {1852.0 / 3600, 0},
	},
	Length: {
		"m": {1, 0}, "mm": {1e-3, 0}, "cm": {1e-2, 0}, "km": {1e3, 0}, "in": {Inch, 0}, `"`: {Inch, 0},
		"ft": {Foot, 0}, "yd": {Yard, 0}, "yds": {Yard, 0},
	},
	Angle:    {"deg": {1, 0}, "°": {1, 0}, "rad": {180 / math.Pi, 0}, "mrad": {180 / math.Pi / 1000, 0}},
	Rotation: {"rpm": {1, 0}, "rps": {60, 0}, "rad/s": {30 / math.Pi, 0}, "deg/s": {1.0 / 6, 0}, "krpm": {1000, 0}},
	Mass:     {"kg": {1, 0}, "g": {1e-3, 0}, "oz": {Ounce, 0}, "lb": {Pound, 0}},
	Time:     {"s": {1, 0}, "ms": {1e-3, 0}, "min": {60, 0}},
	Temperature: {"degC": {1, 0}, "C": {1, 0}, "°C": {1, 0}, "degF": {5.0 / 9, -160.0 / 9}, "F": {5.0 / 9, -160.0 / 9},
		"°F": {5.0 / 9, -160.0 / 9}, "K": {1, -273.15}},
	Pressure:  {"Pa": {1, 0}, "hPa": {100, 0}, "kPa": {1000, 0}, "mbar": {100, 0}, "bar": {1e5, 0}, "inHg": {3386.389, 0}},
	Density:   {"kg/m3": {1, 0}, "kg/m^3": {1, 0}, "kg/m³": {1, 0}, "g/l": {1, 0}},
	Inertia:   {"kgm2": {1, 0}, "kg·m²": {1, 0}, "kg*m2": {1, 0}, "gcm2": {1e-7, 0}, "g·cm²": {1e-7, 0}, "g*cm2": {1e-7, 0}},
	Moment:    {"kgm": {1, 0}, "inoz": {Inch * Ounce, 0}, "in·oz": {Inch * Ounce, 0}, "gin": {Inch * 1e-3, 0}},
	Frequency: {"cpm": {1, 0}, "Hz": {60, 0}},
	Ratio:     {"": {1, 0}, "1": {1, 0}, "%": {0.01, 0}},
}

var storedNames = map[Quantity]string{
	Speed: "m/s", Length: "m", Angle: "deg", Rotation: "rpm", Mass: "kg", Time: "s", Temperature: "degC",
	Pressure: "Pa", Density: "kg/m3", Inertia: "kgm2", Moment: "kgm", Frequency: "cpm", Ratio: "",
}

// Stored returns the name of the unit that q is stored in ("" for a ratio).
func Stored(q Quantity) string { return storedNames[q] }

// Names returns the accepted unit names of q, sorted.
func Names(q Quantity) []string {
	var names []string
	for name := range units[q] {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// A Converter turns values in one named unit into the stored unit of its quantity.
type Converter struct{ s scale }

// To converts a value in the named unit into the stored unit.
func (c Converter) To(v float64) float64 { return v*c.s.factor + c.s.offset }

// From converts a stored value into the named unit.
func (c Converter) From(v float64) float64 { return (v - c.s.offset) / c.s.factor }

// Lookup returns the converter for a unit name of q. An empty name is the
// stored unit. The error lists the names that would be accepted.
func Lookup(q Quantity, name string) (Converter, error) {
	names, known := units[q]
	if !known {
		return Converter{}, fmt.Errorf("unknown quantity %q", q)
	}
	if name == "" {
		return Converter{scale{1, 0}}, nil
	}
	if s, ok := names[name]; ok {
		return Converter{s}, nil
	}
	if s, ok := names[spelled(q, name)]; ok {
		return Converter{s}, nil
	}
	for have, s := range names {
		if strings.EqualFold(have, name) {
			return Converter{s}, nil
		}
	}
	return Converter{}, fmt.Errorf("%q is not a unit of %s: use one of %s", name, q, strings.Join(Names(q), ", "))
}

// Parse reads a number with an optional unit behind it ("156mph", "40.5 yd",
// "0.2") and returns it in the stored unit of q; a bare number is taken as
// stored. NaN and infinities are refused.
func Parse(q Quantity, s string) (float64, error) {
	text := strings.TrimSpace(s)
	end := len(text)
	for end > 0 {
		if _, err := strconv.ParseFloat(text[:end], 64); err == nil {
			break
		}
		end--
	}
	if end == 0 {
		return 0, fmt.Errorf("%q is not a %s: write a number and a unit, such as %s", s, q, example(q))
	}
	v, err := strconv.ParseFloat(text[:end], 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%q is not a finite %s", s, q)
	}
	c, err := Lookup(q, strings.TrimSpace(text[end:]))
	if err != nil {
		return 0, fmt.Errorf("%q: %w", s, err)
	}
	return c.To(v), nil
}

func example(q Quantity) string {
	examples := map[Quantity]string{
		Speed: "70m/s or 156mph", Length: "37.5in, 150yd or 0.95m", Angle: "12.5deg", Rotation: "2700rpm",
		Mass: "200g", Temperature: "20C or 68F", Pressure: "1013hPa", Inertia: "4800gcm2", Moment: "213.5inoz",
	}
	if e, ok := examples[q]; ok {
		return e
	}
	return "1" + storedNames[q]
}

// Value is a flag or form value of one quantity; it holds the stored unit.
// It implements pflag.Value, so that every command takes units alike.
type Value struct {
	Quantity Quantity
	V        float64
	Given    bool // whether Set was called
}

// NewValue returns a Value of q that holds def until it is set.
func NewValue(q Quantity, def float64) *Value { return &Value{Quantity: q, V: def} }

// String writes the value in the stored unit, readable by Set.
func (v *Value) String() string {
	if v == nil || v.Quantity == "" {
		return ""
	}
	return strconv.FormatFloat(v.V, 'g', -1, 64) + storedNames[v.Quantity]
}

// Set parses s as Parse does.
func (v *Value) Set(s string) error {
	f, err := Parse(v.Quantity, s)
	if err != nil {
		return err
	}
	v.V, v.Given = f, true
	return nil
}

// Type names the quantity in a command's help.
func (v *Value) Type() string { return string(v.Quantity) }

// AnyGiven says whether one of them was given.
func AnyGiven(values ...*Value) bool {
	return slices.ContainsFunc(values, func(v *Value) bool { return v.Given })
}
