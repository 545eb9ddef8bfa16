package feed

import (
	"errors"
	"strconv"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// cell is what stands in one column of one line.
type cell struct {
	text    string // trimmed
	missing bool   // empty, absent or a missing marker
	number  bool   // a JSON number: always with a decimal point
	problem string // why it can't be read at all
	hint    string
}

// fill reads one field into the entry: a measure, nothing, or a fault.
func (f *fieldMap) fill(e *event.Entry, m *Map, get func(int) cell) {
	v := f.constant
	if f.slot >= 0 {
		c := get(f.slot)
		if c.problem != "" {
			e.Faults = append(e.Faults, event.NewFault(f.info.Name, "", "column "+quoted(m.cols[f.slot].name)+" "+c.problem, c.hint))
			return
		}
		if f.pattern != nil && !c.missing {
			if found := f.pattern.FindStringSubmatch(c.text); found != nil {
				c.text = strings.TrimSpace(found[1])
			} else {
				c.text = ""
			}
		}
		if c.missing || m.missing[c.text] || f.missing[c.text] {
			return
		}
		style := m.num
		if c.number {
			style = numberStyle{decimal: '.', negative: m.num.negative}
		}
		var err error
		from := f
		if f.side >= 0 || f.unitSlot >= 0 || f.bearingSlot >= 0 {
			own := *f
			from = &own
			c.text, err = from.beside(c.text, style, get)
		}
		if err == nil {
			v, err = from.value(c.text, style)
		}
		if v == 0 && f.zero && err == nil {
			return
		}
		if err != nil {
			e.Faults = append(e.Faults, event.NewFault(f.info.Name, c.text, err.Error(), f.hint(err, c.text, style)))
			return
		}
	}
	e.Measures = append(e.Measures, &event.Measure{
		Field: f.info.Field, Value: v, Provenance: f.provenance, Handed: f.handed, AirAdjusted: f.air,
	})
}

// beside takes in what other columns say of a cell: its side, its unit, the
// bearing of the target line. f is changed.
func (f *fieldMap) beside(text string, style numberStyle, get func(int) cell) (string, error) {
	var err error
	if f.bearingSlot >= 0 {
		if f.bearingOf, err = style.parse(get(f.bearingSlot).text); err != nil {
			return text, errTarget
		}
	}
	if f.unitSlot >= 0 {
		if f.conv, err = unit.Lookup(f.info.Quantity, get(f.unitSlot).text); err != nil {
			return text, errUnit
		}
	}
	if f.side >= 0 {
		text += " " + get(f.side).text
	}
	return text, nil
}

func (f *fieldMap) hint(err error, text string, style numberStyle) string {
	switch {
	case errors.Is(err, errNoSide):
		return "write one of " + strings.Join(append(f.positive[:len(f.positive):len(f.positive)], f.negative...), ", ") +
			" beside the number, or remove letters from the map"
	case errors.Is(err, errTwoSigns):
		return "the side would count twice; remove letters from the map if the sign says it all"
	case errors.Is(err, errTarget):
		return "check bearing in the map: the column must hold where the target line points to"
	case errors.Is(err, errUnit):
		return "check the unit in the map, or letters if the cell names a side"
	case errors.Is(err, errHuge):
		return "check the value in the file"
	case style.decimal == '.' && strings.Contains(text, ","), style.decimal == ',' && strings.Contains(text, "."), errors.Is(err, errGroups):
		return "check numbers.decimal and numbers.thousands in the map"
	}
	return "list it under missing in the map if the device means: not measured"
}

// fillIdentity reads the device's time, shot id, revision and deletion.
func (p *Parser) fillIdentity(e *event.Entry, get func(int) cell) {
	m := p.m
	refuse := func(field, value, reason, hint string) {
		e.Faults = append(e.Faults, event.NewFault(field, value, reason, hint))
	}
	m.fillRole(e, get, refuse)
	if m.time != nil {
		text, problem, hint := m.join(m.time.slots, " ", get)
		switch {
		case problem == missingPart: // the device had no time for this shot
		case problem != "":
			refuse("device_time", text, problem, hint)
		default:
			ok := false
			if e.DeviceUnixNs, ok = p.readTime(text, get); !ok {
				refuse("device_time", text, "is not a time of the map's layouts",
					"the layouts are "+strings.Join(m.time.names, " or ")+m.time.fileHint(e.File))
			}
		}
	}
	if m.id != nil {
		id, problem, hint := m.join(m.id, "/", get)
		if problem == missingPart {
			hint = "check shot_id in the map"
		}
		if problem != "" {
			refuse("shot_id", id, problem, hint)
		} else if id = m.scoped(id, e); id == "" {
			refuse("shot_id", "", "counts by day, and the line has no time", "check time in the map, or use another scope")
		} else {
			e.DeviceShotId = id
		}
	}
	if m.revision >= 0 {
		switch c := get(m.revision); {
		case c.problem != "":
			refuse("revision", "", c.problem, c.hint)
		case !c.missing && !m.missing[c.text]:
			n, err := strconv.ParseUint(c.text, 10, 32)
			if err != nil {
				refuse("revision", c.text, "is not a whole number", "check revision in the map")
			}
			e.Revision = uint32(n)
		}
	}
	if m.deleted >= 0 {
		c := get(m.deleted)
		if c.problem != "" {
			refuse("deleted", "", c.problem, c.hint)
		}
		for _, word := range m.deletes {
			e.Deleted = e.Deleted || strings.EqualFold(c.text, word)
		}
	}
}

// readTime reads the device's time with what the lines before it said. A shot
// that is written again has the time that it had.
func (p *Parser) readTime(text string, get func(int) cell) (ns int64, ok bool) {
	key, revised := "", p.m.revision >= 0 || p.m.deleted >= 0
	if p.m.id != nil && revised {
		id, _, _ := p.m.join(p.m.id, "/", get)
		if key = id + "\x00" + text; p.clock.known[key] != 0 {
			return p.clock.known[key], true
		}
	}
	if ns, p.other, ok = p.m.time.read(text, p.file, &p.clock, revised); !ok {
		return ns, false
	}
	p.clock.pass(ns, revised)
	if key != "" {
		if p.clock.known == nil || len(p.clock.known) >= mostKnown {
			p.clock.known = map[string]int64{}
		}
		p.clock.known[strings.Clone(key)] = ns
	}
	return ns, true
}

const missingPart = "is missing"

// join reads several columns as one text.
func (m *Map) join(slots []int, by string, get func(int) cell) (text, problem, hint string) {
	parts := make([]string, 0, len(slots))
	for _, s := range slots {
		c := get(s)
		if c.problem != "" {
			return "", "column " + quoted(m.cols[s].name) + " " + c.problem, c.hint
		}
		if c.missing || m.missing[c.text] {
			problem = missingPart
		}
		parts = append(parts, c.text)
	}
	return strings.Join(parts, by), problem, ""
}

// scoped puts the day or the file before a shot id that is unique only there.
func (m *Map) scoped(id string, e *event.Entry) string {
	switch m.scope {
	case scopeDay:
		if e.DeviceUnixNs == 0 {
			return ""
		}
		return time.Unix(0, e.DeviceUnixNs).In(m.time.zone).Format(time.DateOnly) + "/" + id
	case scopeFile:
		return e.File + "/" + id
	}
	return id
}

func (t *timeMap) fileHint(file string) string {
	if t.fileDate == "" {
		return ""
	}
	return "; the file's name " + quoted(file) + " must hold the date as " + t.fileDate
}

func (m *Map) fillTexts(e *event.Entry, get func(int) cell) {
	text := func(t *textMap) string {
		if t.slot < 0 {
			return t.constant
		}
		c := get(t.slot)
		if c.problem != "" || c.missing || m.missing[c.text] {
			return ""
		}
		return strings.Clone(c.text)
	}
	if m.club.name != "" {
		e.DeviceClub = text(&m.club)
	}
	if m.firmware.name != "" {
		e.Firmware = text(&m.firmware)
	}
	for i := range m.settings {
		if s := text(&m.settings[i]); s != "" {
			if e.Settings == nil {
				e.Settings = map[string]string{}
			}
			e.Settings[m.settings[i].name] = s
		}
	}
}

func quoted(s string) string { return strconv.Quote(s) }
