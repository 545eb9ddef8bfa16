package console

import (
	"context"
	"encoding/json"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club"
	"fairlead/processors/visit/rolling"
)

// leading are the parts that a fitter changes most, in the order of a hand that
// goes through a club; putters have theirs.
var leading = map[bool][]string{
	false: {"length", "loft", "lie", "head_model", "shaft_model", "shaft_weight", "flex", "swing_weight", "head_weight", "grip_size",
		"grip_model"},
	true: {"length", "loft", "lie", "head_model", "head_weight", "putter_hosel", "toe_hang", "alignment", "swing_weight", "grip_model",
		"grip_form", "grip_size"},
}

// checked are the parts that are measured on a delivered club; a putter balances by its
// head and has no flex to tell.
var checked = map[bool][]string{
	false: {"length", "loft", "lie", "swing_weight", "total_weight", "frequency", "grip_size", "face_angle"},
	true:  {"length", "loft", "lie", "head_weight", "total_weight", "grip_size"},
}

// partWords are what a part in words mostly is.
var partWords = map[string][]string{
	"flex": {"L", "A", "R", "S", "X"}, "shaft_material": {"steel", "graphite"},
	"length_method": {"to the ground, sole flat", "along the shaft to the heel"},
	"grip_form":     {"round", "pistol", "flat front", "oversize round"},
	"putter_hosel":  {"plumber’s neck", "single bend", "double bend", "flow neck", "centre shaft", "long neck"},
	"face_wear":     {"new", "worn", "worn smooth"}, "alignment": {"line", "dot", "none"},
}

// grid is the whole club of a category, part by part: what most often changes
// first, each with its unit, its step and what is known of it in a build.
func (s *server) grid(category string, of *event.Build) []partView {
	putter := category == "putter"
	lead := leading[putter]
	shelf := s.shelf(context.Background())
	var all []partView
	for _, p := range event.BuildFields() {
		if putterOnly(p.Name) && !putter || putter && (p.Name == "bounce" || p.Name == "sole" || p.Name == "face_angle") {
			continue
		}
		v := partView{Name: p.Name, Label: p.Label, Now: "unknown", Lead: slices.Contains(lead, p.Name), Words: partWords[p.Name]}
		if words := shelf.Words(category, p.Field); p.Text && len(words) > 0 {
			v.Words = words
		}
		if p.Name == "grip_size" {
			v.Words = []string{"undersize", "standard", "midsize", "oversize", "jumbo"}
		}
		if !p.Text {
			v.Unit = s.units.spec(p.Quantity).Name
			v.Step, v.In = club.TradeStep(p.Name, p.Quantity)
			u := s.units.spec(p.Quantity)
			v.Own = map[string]float64{"mm": 25.4, "in": 1}[u.Name] * v.Step
			if v.Own == 0 {
				v.Own = v.Step
			}
		}
		if spec := of.Spec(p.Field); spec != nil {
			v.Now = s.units.value(p.Name, rolling.Value{Known: true, Number: spec.Number, Text: spec.Text})
			v.Measured, v.On = spec.Knowledge == event.Knowledge_KNOWLEDGE_MEASURED, spec.MeasuredOn
			if !p.Text {
				v.Number = s.units.spec(p.Quantity).Number(spec.Number)
			}
		}
		v.Checked = slices.Contains(checked[putter], p.Name)
		all = append(all, v)
	}
	slices.SortStableFunc(all, func(a, b partView) int {
		at := func(v partView) int {
			if i := slices.Index(lead, v.Name); i >= 0 {
				return i
			}
			return len(lead)
		}
		return at(a) - at(b)
	})
	return all
}

// deliveredParts are the parts that are measured on a delivered club, on the same
// grid: steps begin where the club stands that is hit beside the own one.
func deliveredParts(of []partView) (out []partView) {
	for _, p := range of {
		if p.Checked {
			out = append(out, p)
		}
	}
	return out
}

// knownParts says of a build what is known of each part, as the grid shows it:
// in words, as a bare number, and how it is known.
func (s *server) knownParts(category string, b *event.Build) string {
	known := map[string][]string{}
	for _, v := range s.grid(category, b) {
		if v.Now != "unknown" {
			known[v.Name] = []string{v.Now, v.Number, v.How()}
		}
	}
	text, err := json.Marshal(known)
	if err != nil {
		return "{}"
	}
	return string(text)
}

// How says how a part is known.
func (v partView) How() string {
	switch {
	case v.Now == "unknown":
		return ""
	case v.Measured && v.On != "":
		return "measured on " + v.On
	case v.Measured:
		return "measured"
	case v.On != "":
		return "expected, as measured on " + v.On
	}
	return "stated"
}

// mostChips are how many words of its own a studio is offered.
const mostChips = 6

// saidMost are the words that are said most in the studio of feels and to
// players, of those that fit on a chip. What one tap says has chips already.
func (w *Writer) saidMost() (felt, told []string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.said == nil {
		w.said = &saidWords{felt: map[string]int{}, told: map[string]int{}}
		for _, bay := range w.bays {
			for _, ev := range w.logs[bay].Events() {
				w.said.add(ev)
			}
		}
	}
	return most(w.said.felt), most(w.said.told)
}

// saidWords counts words by how often they were said.
type saidWords struct{ felt, told map[string]int }

func (s *saidWords) add(ev *event.VisitEvent) {
	short := func(text string) string {
		text = strings.ToLower(strings.Join(strings.Fields(text), " "))
		if len(text) > 24 {
			return ""
		}
		return text
	}
	if f := ev.GetFeelNoted(); f != nil && !ev.Erased {
		for word := range strings.SplitSeq(f.Words, ",") {
			if word = short(word); word != "" && word != "better" && word != "same" && word != "worse" {
				s.felt[word]++
			}
		}
	}
	if i := ev.GetInstructionNoted(); i != nil && !ev.Erased {
		if word := short(i.Words); word != "" && word != "set-up" && word != "swing" {
			s.told[word]++
		}
	}
}

func most(of map[string]int) (words []string) {
	for word := range of {
		words = append(words, word)
	}
	slices.SortFunc(words, func(a, b string) int {
		if of[a] != of[b] {
			return of[b] - of[a]
		}
		return strings.Compare(a, b)
	})
	return words[:min(len(words), mostChips)]
}

// event is one of a bay's events; an empty one where it is not known.
func (w *Writer) event(bay, id string) *event.VisitEvent {
	w.mu.Lock()
	defer w.mu.Unlock()
	if l := w.logs[bay]; l != nil {
		if ev := l.Event(id); ev != nil {
			return ev
		}
	}
	return &event.VisitEvent{}
}

// putterOnly are the parts that only a putter has.
func putterOnly(part string) bool {
	return part == "toe_hang" || part == "putter_hosel" || part == "alignment" || part == "grip_form"
}
