package visit

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"fairlead/ingest/contract/event"
)

// Every kind of the contract stands in a file of its own and says all that is
// asked of a kind.
func TestEveryKindIsKnownWhole(t *testing.T) {
	good := goodEvents()
	known := map[string]*Kind{}
	for _, k := range Kinds() {
		known[k.Name] = k
	}
	acts := map[string]bool{}
	for i := range bodies.Len() {
		name := string(bodies.Get(i).Name())
		k := known[name]
		if k == nil {
			t.Errorf("nothing is known of %s: make processors/visit/%s.go", name, name)
			continue
		}
		if _, err := os.Stat(name + ".go"); err != nil {
			t.Errorf("%s does not stand in a file of its name: %v", name, err)
		}
		if good[name] == nil {
			t.Errorf("no example of %s", name)
			continue
		}
		if got := (&Teller{Timeline: (&Log{}).Timeline(), Name: func(id string) string { return id }}).Says(good[name]); got == "" {
			t.Errorf("%s has no words", name)
		}
		if bodies.Get(i).Message().Fields().Len() > 0 && k.check == nil {
			t.Errorf("%s has fields that nothing checks", name)
		}
		if k.Bears == 0 {
			t.Errorf("%s bears on nothing", name)
		}
		if k.step == nil && k.later == nil && name != "voided" {
			t.Errorf("%s changes nothing when a log is folded", name)
		}
		for _, a := range k.Acts {
			if acts[a.Name] || a.read == nil || a.Short == "" || a.Example == "" && !a.Page {
				t.Errorf("%s: act %+v", name, a)
			}
			acts[a.Name] = true
			if !a.Page && !strings.HasPrefix(a.Example, a.Name+" ") {
				t.Errorf("%s: example %q", name, a.Example)
			}
		}
	}
}

// filled makes a message of which every field says something, to any depth.
func filled(m protoreflect.Message) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		if f.ContainingOneof() != nil && !f.HasOptionalKeyword() {
			continue // of the body, one is chosen by the caller
		}
		value := func() protoreflect.Value {
			switch f.Kind() {
			case protoreflect.StringKind:
				return protoreflect.ValueOfString("secret-" + string(f.Name()))
			case protoreflect.BytesKind:
				return protoreflect.ValueOfBytes([]byte("secret-" + f.Name()))
			case protoreflect.BoolKind:
				return protoreflect.ValueOfBool(true)
			case protoreflect.EnumKind:
				return protoreflect.ValueOfEnum(1)
			case protoreflect.DoubleKind:
				return protoreflect.ValueOfFloat64(150.25)
			case protoreflect.Int64Kind:
				return protoreflect.ValueOfInt64(15025)
			case protoreflect.Uint64Kind:
				return protoreflect.ValueOfUint64(15025)
			case protoreflect.Uint32Kind:
				return protoreflect.ValueOfUint32(1)
			case protoreflect.Sint32Kind, protoreflect.Int32Kind:
				return protoreflect.ValueOfInt32(1)
			}
			panic("a field of a kind that this test can't fill: " + f.FullName())
		}
		switch {
		case f.IsList() && f.Kind() == protoreflect.MessageKind:
			filled(m.Mutable(f).List().AppendMutable().Message())
		case f.IsList():
			m.Mutable(f).List().Append(value())
		case f.Kind() == protoreflect.MessageKind:
			filled(m.Mutable(f).Message())
		default:
			m.Set(f, value())
		}
	}
}

// What may stay of an event of an erased session, listed a second time: who
// adds a field or a kind decides here, too.
var mayStay = map[string][]string{
	"": {"contract", "id", "studio", "bay", "journal", "seq", "who", "effective_unix_ns", "recorded_unix_ns", "last_seen",
		"visit", "session", "erased", "boot", "mono_ns", "person", "device"},
	"session_opened": {"category", "fitter", "beside"},
	"setting_changed": {"place", "surface", "tee_height_m", "ball_model", "ball_class", "target_bearing_deg", "green_speed_m",
		"wind_speed_mps",
		"wind_toward_deg", "target_distance_m", "forgotten"},
	"trial_started": {"trial"}, "build_amended": {"trial"}, "hitter_changed": {"kind"}, "instruction_noted": {"kind"},
	"intent_changed": {"intent"},
	"class_changed":  {"class", "length_m", "shot_ids"}, "feel_noted": {"trial"}, "shots_excluded": {"shot_ids"},
	"shots_restored": {"shot_ids"},
	"shots_moved":    {"shot_ids", "trial", "at_unix_ns"}, "clock_met": {"boot", "ahead_ns", "error_ns"}, "shots_unpaired": {"shot_ids"},
	"session_corrected": {"bay"}, "verdict_given": {"kind"},
	"hit_checked": {"verdict", "trial"}, "voided": {"event"}, "order_placed": {"order", "verdict", "parts"}, "order_moved": {"order", "state"},
	"club_built": {"order", "club", "judgement"}, "order_marked": {"order", "mark"},
	"bay_checked": {"judgement", "fields", "device", "club_id", "ball"},
	// Facts of the studio: nothing in them is of a person.
	"parts_listed": {"parts"}, "stock_counted": {"part", "reason", "pieces", "order"},
	"test_club_placed": {"club_id", "category", "club", "bay", "parts", "specs", "gone", "reference"},
}

func TestNothingUndecidedSurvivesAnErasure(t *testing.T) {
	for i := range bodies.Len() {
		f := bodies.Get(i)
		ev := &event.VisitEvent{}
		filled(ev.ProtoReflect())
		ev.Erased = false
		m := ev.ProtoReflect()
		filled(m.Mutable(f).Message())
		// A later version says more than this one knows.
		m.Mutable(f).Message().SetUnknown(protoreflect.RawFields("\x9a\x06\x06secret"))
		m.SetUnknown(protoreflect.RawFields("\x9a\x06\x06secret"))
		before := proto.Clone(ev)
		kept := Erase(ev)
		if !proto.Equal(ev, before) {
			t.Errorf("%s: the event given was changed", f.Name())
		}
		if f.Name() == "session_erased" {
			if !proto.Equal(kept, ev) {
				t.Error("an erasure was erased")
			}
			continue
		}
		if !kept.Erased || event.KindOf(kept) != string(f.Name()) || kept.Id != ev.Id || kept.Session != ev.Session {
			t.Errorf("%s: another fact now: %v", f.Name(), kept)
		}
		look := func(m protoreflect.Message, may []string) {
			m.Range(func(x protoreflect.FieldDescriptor, v protoreflect.Value) bool {
				if x != f && !slices.Contains(may, string(x.Name())) {
					t.Errorf("%s: %s is still there: %v", f.Name(), x.Name(), v)
				}
				return true
			})
			if len(m.GetUnknown()) > 0 {
				t.Errorf("%s: what a later version said is still there", f.Name())
			}
		}
		look(kept.ProtoReflect(), mayStay[""])
		look(kept.ProtoReflect().Get(f).Message(), mayStay[string(f.Name())])
		if !proto.Equal(Erase(kept), kept) {
			t.Errorf("%s: erasing twice gives something else", f.Name())
		}
	}
	unknown := &event.VisitEvent{Id: "e1", Session: "s1"}
	unknown.ProtoReflect().SetUnknown(protoreflect.RawFields("\xd2\x02\x11sore left wrist .")) // a kind of a later version
	if text, _ := proto.Marshal(Erase(unknown)); bytes.Contains(text, []byte("wrist")) {
		t.Errorf("a kind that nobody decided on survives: %q", text)
	}
}

// What is kept of the good examples says nothing of the player.
func TestErasedExamplesSayNothingOfThePlayer(t *testing.T) {
	for kind, ev := range goodEvents() {
		if kind == "session_erased" {
			continue
		}
		text, err := protojson.Marshal(Erase(ev))
		if err != nil {
			t.Fatal(err)
		}
		for _, word := range []string{"p1", "p-ada", "HAND_LEFT", "land it softer", "Skerry", "gamer", "ball back", "heavy", "thinned", "0.97",
			"priors", "lower back", "1.81", "145.5"} {
			if bytes.Contains(text, []byte(word)) {
				t.Errorf("%s still says %q: %s", kind, word, text)
			}
		}
	}
}

// What a kind says that it bears on is what it bears on: nothing of the spans
// or shots may change by an event that does not say so.
func TestKindsBearOnWhatTheySay(t *testing.T) {
	good := goodEvents()
	for _, k := range Kinds() {
		ev := good[k.Name]
		if ev == nil {
			t.Errorf("no example of %s", k.Name)
			continue
		}
		log := &Log{}
		for _, name := range []string{"session_opened", "trial_started"} {
			first := proto.Clone(good[name]).(*event.VisitEvent)
			first.Id = name
			first.EffectiveUnixNs--
			log.Add(first)
		}
		before := fmt.Sprint(spansOf(log.Timeline()), len(log.Timeline().Overlays))
		ev = proto.Clone(ev).(*event.VisitEvent)
		ev.Id = "the event"
		log.Add(ev)
		after := fmt.Sprint(spansOf(log.Timeline()), len(log.Timeline().Overlays))
		if before != after && k.Bears&(OnSpan|OnShots|OnTrial) == 0 {
			t.Errorf("%s changes tags and does not say so:\n%s\n%s", k.Name, before, after)
		}
	}
}

func spansOf(tl *Timeline) (out []Holding) {
	for i := range tl.Spans {
		out = append(out, tl.Spans[i].Holding())
	}
	return out
}
