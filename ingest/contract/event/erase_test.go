package event

import (
	"bytes"
	"testing"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

// A field that the contract gets later is either kept on purpose or gone: what
// is kept of an entry is listed here a second time.
func TestAnErasedEntryKeepsIdentityOnly(t *testing.T) {
	id := ShotIDFor("alder", "1")
	e := &Entry{ShotId: id[:]}
	m := e.ProtoReflect()
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		switch {
		case f.IsMap():
			m.Mutable(f).Map().Set(protoreflect.ValueOfString("secret").MapKey(), protoreflect.ValueOfString("secret"))
		case f.Name() == "measures":
			e.Measures = []*Measure{{Field: Field_FIELD_CARRY, Value: 150.25}}
		case f.Name() == "faults":
			e.Faults = []*Fault{NewFault("carry", "secret", "secret", "secret")}
		case f.Name() == "shot_id" || f.Name() == "erased_content":
		case f.Kind() == protoreflect.StringKind:
			m.Set(f, protoreflect.ValueOfString("secret-"+string(f.Name())))
		case f.Kind() == protoreflect.BytesKind:
			m.Set(f, protoreflect.ValueOfBytes([]byte("secret line 150.25")))
		}
	}
	e.Seq, e.ReceivedUnixNs, e.EffectiveUnixNs, e.DeviceUnixNs, e.Line, e.Revision = 7, 8, 9, 10, 11, 12
	before := proto.Clone(e)
	kept := EraseEntry(e)
	if !proto.Equal(e, before) {
		t.Error("the entry given was changed")
	}
	may := map[protoreflect.Name]bool{}
	for _, n := range []protoreflect.Name{"contract", "studio", "bay", "journal", "seq", "shot_id", "device", "role", "feed", "firmware",
		"received_unix_ns", "effective_unix_ns", "certainty", "revision", "deleted", "faults", "erased_content",
		"boot", "read_mono_ns", "seen_mono_ns", "earliest_unix_ns", "latest_unix_ns"} {
		may[n] = true
	}
	kept.ProtoReflect().Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		if !may[f.Name()] {
			t.Errorf("%s is still there: %v", f.Name(), v)
		}
		return true
	})
	if kept.Content() != e.Content() || kept.ID() != e.ID() || kept.Valid() != e.Valid() {
		t.Error("tagging would see another entry")
	}
	if text, _ := protojson.Marshal(&Entry{Faults: kept.Faults}); bytes.Contains(text, []byte("secret")) {
		t.Errorf("faults still say %s", text)
	}
	if !proto.Equal(EraseEntry(kept), kept) {
		t.Error("erasing twice gives something else")
	}
}
