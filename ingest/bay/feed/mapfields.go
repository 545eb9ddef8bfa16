package feed

import (
	"errors"
	"regexp"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// fieldMap says where one measured quantity stands and how it is written.
type fieldMap struct {
	info        event.FieldInfo
	slot        int // -1: constant
	constant    float64
	conv        unit.Converter
	unitName    string
	invert      bool
	handed      bool
	optional    bool
	missing     map[string]bool // markers of this field alone
	zero        bool            // a zero means: not measured
	scale       float64         // of the number as written, before its unit
	offset      float64
	pattern     *regexp.Regexp // what of the cell is the value
	side        int            // slot of a column that names the side, -1: none
	unitSlot    int            // slot of a column that names the unit, -1: none
	bearing     bool           // a compass bearing, of which the target line's is taken
	bearingOf   float64        // the target line's, deg
	bearingSlot int            // slot of a column that holds the target line's, -1: none
	positive    []string       // marks of the sides; none: the sign says it
	negative    []string
	provenance  event.Provenance
	air         event.AirAdjusted
}

var provenances = map[string]event.Provenance{
	"measured": event.Provenance_PROVENANCE_MEASURED, "device": event.Provenance_PROVENANCE_DEVICE,
}

func (m *Map) readFields(k map[string]node) error {
	provenance := event.Provenance_PROVENANCE_UNKNOWN
	if n, ok := k["provenance"]; ok {
		word, err := n.oneOf("measured", "device")
		if err != nil {
			return err
		}
		provenance = provenances[word]
	}
	if _, ok := k["fields"]; !ok {
		return nil
	}
	pairs, err := k["fields"].pairs()
	if err != nil {
		return err
	}
	var wrong []error // all at once: a map is corrected in one go
	for _, p := range pairs {
		info, ok := event.FieldNamed(p.key)
		if !ok {
			wrong = append(wrong, &MapError{File: m.file, Line: p.value.line, Key: p.value.path, Value: p.key, Reason: "is not a field",
				Hint: didYouMean(p.key)})
			continue
		}
		f, err := m.readField(info, p.value, provenance)
		if err != nil {
			wrong = append(wrong, err)
			continue
		}
		m.fields = append(m.fields, f)
	}
	return errors.Join(wrong...)
}

func (m *Map) readField(info event.FieldInfo, n node, provenance event.Provenance) (f fieldMap, err error) {
	f = fieldMap{info: info, slot: -1, provenance: provenance, scale: 1, side: -1, unitSlot: -1, bearingSlot: -1}
	k, err := n.keys(allowed("field")...)
	if err != nil {
		return f, err
	}
	if o, ok := k["optional"]; ok {
		if f.optional, err = o.boolean(); err != nil {
			return f, err
		}
	}
	c, isColumn := k["column"]
	v, isConstant := k["constant"]
	if isColumn == isConstant {
		return f, n.bad("needs either column or constant", "write `column: NAME`, or `constant: NUMBER`")
	}
	if isColumn {
		if f.slot, err = m.slot(c, !f.optional); err != nil {
			return f, err
		}
	}
	if err := f.readUnit(n, k); err != nil {
		return f, err
	}
	if err := f.readSign(k); err != nil {
		return f, err
	}
	if err := m.readCell(&f, k); err != nil {
		return f, err
	}
	if p, ok := k["provenance"]; ok {
		word, err := p.oneOf("measured", "device")
		if err != nil {
			return f, err
		}
		f.provenance = provenances[word]
	}
	if a, ok := k["air"]; ok {
		word, err := a.oneOf("as-flown", "adjusted")
		if err != nil {
			return f, err
		}
		if !info.Distance {
			return f, a.bad("is for distances only", "remove it from "+info.Name)
		}
		f.air = map[string]event.AirAdjusted{"as-flown": event.AirAdjusted_AIR_AS_FLOWN, "adjusted": event.AirAdjusted_AIR_ADJUSTED}[word]
	}
	if isConstant {
		number, err := v.number()
		if err != nil {
			return f, err
		}
		if f.constant = f.conv.To(number); f.constant < info.Min || f.constant > info.Max {
			return f, v.bad("is not plausible for "+info.Name, "check its unit")
		}
	}
	return f, nil
}

func (f *fieldMap) readUnit(n node, k map[string]node) (err error) {
	u, ok := k["unit"]
	if !ok {
		if _, own := k["unit_column"]; own || n.without[n.path+".unit"] {
			f.conv, err = unit.Lookup(f.info.Quantity, "")
			return err
		}
		if f.info.Quantity != unit.Ratio {
			return n.bad("has no unit", "add `unit:` with one of "+strings.Join(unit.Names(f.info.Quantity), ", "))
		}
		f.conv, err = unit.Lookup(unit.Ratio, "")
		return err
	}
	if f.unitName, err = u.str(); err != nil {
		return err
	}
	if f.conv, err = unit.Lookup(f.info.Quantity, f.unitName); err != nil {
		return u.bad("is not a unit of "+string(f.info.Quantity), "use one of "+strings.Join(unit.Names(f.info.Quantity), ", "))
	}
	return nil
}

func (f *fieldMap) readSign(k map[string]node) (err error) {
	if s, ok := k["sign"]; ok {
		word, err := s.oneOf("target", "handed")
		if err != nil {
			return err
		}
		if !f.info.Mirrors {
			return s.bad("does not apply: "+f.info.Name+" has no left and right", "remove it, or use invert or letters")
		}
		f.handed = word == "handed"
	}
	if i, ok := k["invert"]; ok {
		if f.invert, err = i.boolean(); err != nil {
			return err
		}
	}
	l, ok := k["letters"]
	if !ok {
		return nil
	}
	if f.slot < 0 {
		return l.bad("does not apply to a constant", "write the sign of the constant")
	}
	sides, err := l.keys("positive", "negative")
	if err != nil {
		return err
	}
	return f.readSides(l, sides)
}

// readSides reads the marks of both sides.
func (f *fieldMap) readSides(l node, sides map[string]node) error {
	for side, to := range map[string]*[]string{"positive": &f.positive, "negative": &f.negative} {
		s, ok := sides[side]
		if !ok {
			return l.bad("needs both positive and negative", "such as {positive: [R], negative: [L]}")
		}
		words, err := s.strs()
		if err != nil {
			return err
		}
		for _, w := range words {
			w = strings.TrimSpace(w)
			if w == "" || strings.ContainsAny(w, "0123456789+.,") || strings.Trim(w, "-") != w { // in-out is one
				return s.bad("is not a side's mark", "use letters, such as R or right")
			}
			*to = append(*to, w)
		}
		// The longest first, so that "right" is not read as "r" and a rest.
		slices.SortFunc(*to, func(a, b string) int { return len(b) - len(a) })
	}
	for _, w := range f.positive {
		if slices.ContainsFunc(f.negative, func(o string) bool { return strings.EqualFold(o, w) }) {
			return l.bad("has the same mark on both sides", "write one mark a side")
		}
	}
	return nil
}

// didYouMean lists the field names that share a word with what was written, or all.
func didYouMean(name string) string {
	var near, all []string
	for _, f := range event.Fields() {
		all = append(all, f.Name)
		for _, word := range strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r == '_' || r == '-' || r == ' ' }) {
			if len(word) > 2 && strings.Contains(f.Name, word) {
				near = append(near, f.Name)
				break
			}
		}
	}
	if len(near) == 0 {
		near = all
	}
	return "use one of " + strings.Join(near, ", ")
}
