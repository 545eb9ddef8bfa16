package stock

import (
	"fmt"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
)

// Fields are the figures and words that a kind of part may have: of a head its
// loft, of a shaft its flex. The first is its model.
func Fields(k event.PartKind) []event.BuildField {
	return fieldsOf[k]
}

var fieldsOf = map[event.PartKind][]event.BuildField{
	event.PartKind_PART_HEAD: {event.BuildField_BUILD_HEAD_MODEL, event.BuildField_BUILD_STATED_LOFT, event.BuildField_BUILD_LIE,
		event.BuildField_BUILD_FACE_ANGLE, event.BuildField_BUILD_BOUNCE, event.BuildField_BUILD_SOLE, event.BuildField_BUILD_HEAD_WEIGHT,
		event.BuildField_BUILD_MOVABLE_WEIGHTS, event.BuildField_BUILD_FINISH, event.BuildField_BUILD_TOE_HANG,
		event.BuildField_BUILD_PUTTER_HOSEL, event.BuildField_BUILD_ALIGNMENT},
	event.PartKind_PART_SHAFT: {event.BuildField_BUILD_SHAFT_MODEL, event.BuildField_BUILD_SHAFT_MATERIAL,
		event.BuildField_BUILD_SHAFT_WEIGHT, event.BuildField_BUILD_FLEX, event.BuildField_BUILD_TORQUE, event.BuildField_BUILD_FREQUENCY,
		event.BuildField_BUILD_BALANCE_POINT, event.BuildField_BUILD_LENGTH},
	event.PartKind_PART_GRIP: {event.BuildField_BUILD_GRIP_MODEL, event.BuildField_BUILD_GRIP_SIZE, event.BuildField_BUILD_GRIP_WEIGHT,
		event.BuildField_BUILD_GRIP_FORM},
	event.PartKind_PART_ADAPTER: {event.BuildField_BUILD_HOSEL_SETTING},
	event.PartKind_PART_WORK:    {event.BuildField_BUILD_FINISH},
}

// Model is the field that says which model a part of a kind is.
func Model(k event.PartKind) event.BuildField {
	if all := fieldsOf[k]; len(all) > 0 {
		return all[0]
	}
	return event.BuildField_BUILD_NONE
}

// Spec is what is known of a part; nil: nothing is.
func Spec(p *event.CataloguePart, f event.BuildField) *event.Spec {
	for _, s := range p.GetSpecs() {
		if s.GetField() == f {
			return s
		}
	}
	return nil
}

// Name is what a part is called: its model, and what tells it from its like.
func Name(p *event.CataloguePart) string {
	text := Spec(p, Model(p.GetKind())).GetText()
	if text == "" {
		text = p.GetCode()
	}
	for _, word := range []string{p.GetClub(), Spec(p, event.BuildField_BUILD_FLEX).GetText()} {
		if word != "" {
			text += " " + word
		}
	}
	if s := Spec(p, event.BuildField_BUILD_STATED_LOFT); s != nil {
		text += fmt.Sprintf(" %g°", s.GetNumber())
	}
	return text
}

// KindWord is a kind of part for people.
func KindWord(k event.PartKind) string {
	return strings.ToLower(strings.TrimPrefix(k.String(), "PART_"))
}

// Kinds are the kinds of parts, as a club is put together.
func Kinds() []event.PartKind {
	return []event.PartKind{event.PartKind_PART_HEAD, event.PartKind_PART_SHAFT, event.PartKind_PART_GRIP, event.PartKind_PART_ADAPTER,
		event.PartKind_PART_WORK}
}

// Price writes hundredths of a currency: 189.00 EUR; empty where none is known.
func Price(hundredths int64, currency string) string {
	if currency == "" || hundredths == 0 {
		return ""
	}
	sign := ""
	if hundredths < 0 {
		sign, hundredths = "-", -hundredths
	}
	return fmt.Sprintf("%s%d.%02d %s", sign, hundredths/100, hundredths%100, currency)
}

// Build puts parts together: what is known of a club made of them, as stated. A
// raw shaft's length is not the club's.
func Build(parts []*event.CataloguePart) (specs []*event.Spec) {
	seen := map[event.BuildField]bool{}
	for _, p := range parts {
		for _, s := range p.GetSpecs() {
			if raw := s.Field == event.BuildField_BUILD_LENGTH || s.Field == event.BuildField_BUILD_BALANCE_POINT ||
				s.Field == event.BuildField_BUILD_FREQUENCY; raw || seen[s.Field] || p.GetKind() == event.PartKind_PART_WORK {
				continue
			}
			seen[s.Field] = true
			specs = append(specs, &event.Spec{Field: s.Field, Number: s.Number, Text: s.Text})
		}
	}
	slices.SortFunc(specs, func(a, b *event.Spec) int { return int(a.Field) - int(b.Field) })
	return specs
}
