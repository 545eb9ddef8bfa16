package group

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"fairlead/ingest/contract/event"
)

func pseudonyms(t *testing.T) *Pseudonyms {
	t.Helper()
	p, err := OpenPseudonyms(filepath.Join(t.TempDir(), "keys", "pseudonyms.key"))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// fill puts a text into every text of a message, and something into every other field.
func fill(m protoreflect.Message, text string, depth int) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		if f.ContainingOneof() != nil && m.WhichOneof(f.ContainingOneof()) != nil && m.WhichOneof(f.ContainingOneof()) != f {
			continue
		}
		one := func() protoreflect.Value {
			switch f.Kind() {
			case protoreflect.StringKind:
				return protoreflect.ValueOfString(text)
			case protoreflect.BytesKind:
				return protoreflect.ValueOfBytes([]byte(text))
			case protoreflect.Int64Kind, protoreflect.Sint64Kind:
				return protoreflect.ValueOfInt64(7)
			}
			return f.Default()
		}
		switch {
		case f.IsMap():
			if f.MapValue().Kind() == protoreflect.StringKind {
				m.Mutable(f).Map().Set(protoreflect.ValueOfString(text).MapKey(), protoreflect.ValueOfString(text))
			}
		case f.Kind() == protoreflect.MessageKind && f.IsList():
			if depth > 0 {
				fill(m.Mutable(f).List().AppendMutable().Message(), text, depth-1)
			}
		case f.Kind() == protoreflect.MessageKind:
			if depth > 0 {
				fill(m.Mutable(f).Message(), text, depth-1)
			}
		case f.Kind() == protoreflect.StringKind && f.IsList():
			m.Mutable(f).List().Append(one())
		case f.IsList():
		default:
			m.Set(f, one())
		}
	}
}

const word = "ada-was-here"

// Of each kind of event, with a name in every text, no text of a person leaves.
func TestNothingOfAPersonLeaves(t *testing.T) {
	p := pseudonyms(t)
	bodies := (&event.VisitEvent{}).ProtoReflect().Descriptor().Oneofs().ByName("body").Fields()
	for i := range bodies.Len() {
		ev := &event.VisitEvent{Studio: "s", Bay: "b", Id: "i", Journal: "j", Seq: 3, Who: word, Person: word, Device: word}
		body := ev.ProtoReflect().NewField(bodies.Get(i))
		fill(body.Message(), word, 4)
		ev.ProtoReflect().Set(bodies.Get(i), body)
		before := proto.CloneOf(ev)
		out := p.Event(ev)
		if !proto.Equal(ev, before) {
			t.Fatalf("%s: the event itself was changed", bodies.Get(i).Name())
		}
		if out.Person != "" || out.Device != "" || out.Who == word {
			t.Errorf("%s: %v", bodies.Get(i).Name(), out)
		}
		event.Texts(out, func(text string) string {
			if text == word {
				t.Errorf("%s: a free text leaves in clear", bodies.Get(i).Name())
			}
			return text
		})
		if told := personIn(out.ProtoReflect()); told != "" {
			t.Errorf("%s: %s is the studio's own id", bodies.Get(i).Name(), told)
		}
		if !proto.Equal(out, p.Event(before)) {
			t.Errorf("%s: leaves in two forms", bodies.Get(i).Name())
		}
	}
}

func personIn(m protoreflect.Message) (told string) {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case f.IsMap():
		case f.Kind() == protoreflect.MessageKind && f.IsList():
			for i := range v.List().Len() {
				told += personIn(v.List().Get(i).Message())
			}
		case f.Kind() == protoreflect.MessageKind:
			told += personIn(v.Message())
		case f.Kind() == protoreflect.StringKind && persons[f.Name()] && v.String() == word:
			told += string(f.FullName())
		}
		return true
	})
	return told
}

// A sealed word stays as it is; an entry keeps what was measured and loses its line.
func TestWhatLeavesOfAnEntry(t *testing.T) {
	e := &event.Entry{}
	fill(e.ProtoReflect(), word, 3)
	e.Device, e.Feed, e.Studio, e.Bay, e.Journal, e.Boot, e.MapVersion, e.Firmware, e.ShotId = "d", "f", "s", "b", "j", "", "", "",
		[]byte("id")
	e.ErasedContent, e.Measures = nil, []*event.Measure{{Field: event.Field_FIELD_CARRY, Value: 150}}
	for _, f := range e.Faults {
		f.Field = "carry"
	}
	out := Entry(e)
	data, err := proto.Marshal(out)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(data, []byte(word)) {
		t.Errorf("the entry leaves with what people wrote: %v", out)
	}
	if out.Content() != e.Content() || out.Valid() != e.Valid() || len(out.Measures) != 1 {
		t.Error("tagging would see another entry")
	}
	if !proto.Equal(Entry(out), out) {
		t.Error("leaving twice gives something else")
	}
	sealed := event.SealedText("abcdefghijklmnop", bytes.Repeat([]byte("x"), 32))
	ev := &event.VisitEvent{Body: &event.VisitEvent_FeelNoted{FeelNoted: &event.FeelNoted{Words: sealed}}}
	if got := pseudonyms(t).Event(ev).GetFeelNoted().Words; got != sealed {
		t.Errorf("a sealed word became %q", got)
	}
}

func TestPseudonymsAreAStudiosOwn(t *testing.T) {
	file := filepath.Join(t.TempDir(), "keys", "pseudonyms.key")
	first, err := OpenPseudonyms(file)
	if err != nil {
		t.Fatal(err)
	}
	again, err := OpenPseudonyms(file)
	if err != nil {
		t.Fatal(err)
	}
	id := first.Of("p-7kq2m")
	if again.Of("p-7kq2m") != id || pseudonyms(t).Of("p-7kq2m") == id || first.Of("p-7kq2n") == id || first.Of("") != "" ||
		!strings.HasPrefix(id, "h-") {
		t.Errorf("%s", id)
	}
}
