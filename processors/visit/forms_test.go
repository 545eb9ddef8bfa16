package visit

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"strings"
	"testing"

	"google.golang.org/protobuf/encoding/protojson"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// What each form is read as is kept in testdata/forms.txt: left empty, with
// nonsense in every field, filled in, and filled in with each other word that a
// field offers. FAIRLEAD_GOLDEN=write records it anew: read the difference.
func TestWhatEachFormIsReadAs(t *testing.T) {
	s := &script{}
	s.add(&event.SessionOpened{Player: "p-7kq2m", Category: "iron", Hand: event.Hand_HAND_RIGHT, Fitter: "f-2"}, session("s"))
	s.add(&event.TrialStarted{Trial: "t-1", Build: &event.Build{Name: "own 7", Gamer: true}})
	s.add(&event.TrialStarted{Trial: "t-2", Build: &event.Build{Name: "candidate"}})
	place := &Place{Bay: "north", Timeline: s.log.Timeline(), Live: s.log.All(), Now: minute(9)}
	var out strings.Builder
	say := func(what string, a Act, in Input) {
		ev, faults := Read(a.Name, in, place)
		text, err := protojson.Marshal(ev)
		var plain bytes.Buffer // the library varies its spaces on purpose
		if err == nil {
			err = json.Compact(&plain, text)
		}
		if err != nil {
			t.Fatal(a.Name, err)
		}
		fmt.Fprintf(&out, "%s, %s: %s\n", a.Name, what, plain.String())
		for _, f := range faults {
			fmt.Fprintf(&out, "\t%s %q: %s; %s\n", f.Field, f.Value, f.Reason, f.Hint)
		}
	}
	for _, a := range Acts() {
		whole, odd := Input{}, Input{}
		for _, f := range a.Fields {
			whole[f.Name], odd[f.Name] = []string{enteredIn(f)}, []string{"?!"}
		}
		fmt.Fprintf(&out, "%s as a command: %s\n", a.Name, a.Usage())
		for _, f := range a.Fields {
			fmt.Fprintf(&out, "\t%s: yes %v, many %v, shots %v, rest %v, page %v\n", f.Name, f.Yes, f.Many, f.Shots, f.Rest, a.Page)
		}
		say("empty", a, Input{})
		say("nonsense", a, odd)
		say("filled in", a, whole)
		for _, f := range a.Fields {
			for _, word := range f.Choices {
				if in := maps.Clone(whole); word != enteredIn(f) {
					in[f.Name] = []string{word}
					say(f.Name+" "+word, a, in)
				}
			}
			if in := maps.Clone(whole); len(a.Fields) > 1 {
				delete(in, f.Name)
				say("no "+f.Name, a, in)
			}
		}
	}
	golden(t, "forms.txt", out.String())
}

// enteredIn is what a person might enter in a field.
func enteredIn(f Field) string {
	switch {
	case len(f.Choices) > 0:
		return f.Choices[0]
	case f.Quantity == unit.Length:
		return "37.5in"
	case f.Quantity == unit.Angle:
		return "32deg"
	case f.Quantity == unit.Mass:
		return "65g"
	case f.Quantity != "":
		return "12"
	case f.Shots:
		id := event.ShotIDFor("d", "1")
		return id.String()
	case f.Yes:
		return "yes"
	case strings.Contains(f.Name, "trial") || f.Name == "baseline" || f.Name == "candidate":
		return "t-1"
	case f.Name == "base":
		return "t-1"
	case f.Name == "promised":
		return "2026-06-12"
	case f.Name == "cure":
		return "24h"
	case f.Name == "set" || f.Name == "measured":
		return "length=37.5in"
	case f.Name == "event":
		return "e3"
	}
	return "1"
}
