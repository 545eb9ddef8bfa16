package feed

import (
	"math"
	"regexp"

	"fairlead/ingest/contract/unit"
)

// readCell reads how a cell becomes the field's number, beside its unit and
// sign: missing, zero, scale, offset, pattern, side,
// unit_column, bearing.
func (m *Map) readCell(f *fieldMap, k map[string]node) (err error) {
	for _, key := range []string{"missing", "zero", "scale", "offset", "pattern", "side", "unit_column", "bearing"} {
		if n, ok := k[key]; ok && f.slot < 0 {
			return n.bad("does not apply to a constant", "remove it")
		}
	}
	if n, ok := k["missing"]; ok {
		markers, err := n.strs()
		if err != nil {
			return err
		}
		f.missing = map[string]bool{}
		for _, s := range markers {
			f.missing[s] = true
		}
	}
	if n, ok := k["zero"]; ok {
		word, err := n.oneOf("missing", "value")
		if err != nil {
			return err
		}
		f.zero = word == "missing"
	}
	for key, to := range map[string]*float64{"scale": &f.scale, "offset": &f.offset} {
		if n, ok := k[key]; ok {
			if *to, err = n.number(); err != nil {
				return err
			}
		}
	}
	if f.scale == 0 {
		return k["scale"].bad("makes every value the same", "write what the number is to be multiplied with, such as 0.1")
	}
	if n, ok := k["pattern"]; ok {
		text, err := n.str()
		if err != nil {
			return err
		}
		if f.pattern, err = regexp.Compile(text); err != nil {
			return n.bad("is no pattern: "+err.Error(), "write a regular expression with one group, such as \"([0-9.]+) yd\"")
		}
		if f.pattern.NumSubexp() != 1 {
			return n.bad("needs exactly one group in parentheses", "such as \"([0-9.]+) yd\"")
		}
	}
	if n, ok := k["unit_column"]; ok {
		if f.unitSlot, err = m.slot(n, false); err != nil {
			return err
		}
	}
	if n, ok := k["bearing"]; ok {
		if err := m.readBearing(f, n); err != nil {
			return err
		}
	}
	n, ok := k["side"]
	if !ok {
		return nil
	}
	if f.positive != nil {
		return n.bad("stands beside letters", "keep one of the two")
	}
	sides, err := n.keys("column", "positive", "negative")
	if err != nil {
		return err
	}
	if f.side, err = m.slotOf(n, sides); err != nil {
		return err
	}
	return f.readSides(n, sides)
}

// readBearing reads where the target line points to: degrees, or a column.
func (m *Map) readBearing(f *fieldMap, n node) (err error) {
	if f.info.Quantity != unit.Angle || !f.info.Mirrors {
		return n.bad("is for directions only", "remove it from "+f.info.Name)
	}
	f.bearing = true
	if k, bad := n.keys("column"); bad == nil {
		f.bearingSlot, err = m.slotOf(n, k)
		return err
	}
	if f.bearingOf, err = n.number(); err != nil || f.bearingOf < 0 || f.bearingOf > 360 {
		return n.bad("is neither degrees from 0 to 360 nor a column",
			"write the compass bearing of the target line, such as 117.5, or {column: NAME}")
	}
	return nil
}

// turned is a bearing as an angle from the target line, positive to its right,
// from -180 to 180 deg.
func (f *fieldMap) turned(v float64) float64 {
	return math.Mod(v-f.bearingOf+900, 360) - 180
}
