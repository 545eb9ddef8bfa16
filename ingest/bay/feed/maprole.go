package feed

import (
	"maps"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
)

var roleWords = []string{"ball", "club", "roll", "stroke"}

func roleOf(word string) event.Role {
	return event.Role(event.Role_value["ROLE_"+strings.ToUpper(word)])
}

// readRole reads what the device describes of a hit: a word, or a column that
// says it of each line, with the texts that stand for each role. A text that is
// not listed is the role of else, and without else the line is refused.
func (m *Map) readRole(n node) error {
	pairs, err := n.pairs()
	if err != nil {
		word, err := n.oneOf(roleWords...)
		m.role = roleOf(word)
		return err
	}
	k, err := n.keys(allowed("role")...)
	if err != nil {
		return err
	}
	if m.roleSlot, err = m.slotOf(n, k); err != nil {
		return err
	}
	m.roles = map[string]event.Role{}
	first := true
	for _, p := range pairs {
		switch p.key {
		case "column":
			continue
		case "else":
			word, err := p.value.oneOf(roleWords...)
			if err != nil {
				return err
			}
			m.roles[elseRole], m.role, first = roleOf(word), roleOf(word), false
			continue
		}
		texts, err := p.value.strs()
		if err != nil {
			return err
		}
		for _, text := range texts {
			if was, ok := m.roles[fold(text)]; ok && was != roleOf(p.key) {
				return p.value.bad("lists "+quoted(text)+", which stands for another role too", "keep it in one of them")
			}
			m.roles[fold(text)] = roleOf(p.key)
		}
		if first {
			m.role, first = roleOf(p.key), false
		}
	}
	if len(m.roles) == 0 {
		return n.bad("lists no texts", "write {column: Kind, roll: [putt], else: ball}")
	}
	return nil
}

// elseRole is the key of all texts that are not listed; no folded cell is so.
const elseRole = "\x00else"

// fillRole says what the line describes of a hit.
func (m *Map) fillRole(e *event.Entry, get func(int) cell, refuse func(field, value, reason, hint string)) {
	if m.roleSlot < 0 {
		return
	}
	c := get(m.roleSlot)
	if c.problem != "" {
		refuse("role", "", "column "+quoted(m.cols[m.roleSlot].name)+" "+c.problem, c.hint)
		return
	}
	role, ok := m.roles[fold(c.text)]
	if !ok {
		role, ok = m.roles[elseRole]
	}
	if !ok {
		known := slices.Sorted(maps.Keys(m.roles))
		refuse("role", c.text, "is no role that the map knows", "the map lists "+strings.Join(known, ", ")+"; add it, or else")
		return
	}
	e.Role = role
}
