package export

import (
	"bytes"
	"encoding/json"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/stream"
	"fairlead/processors/visit"
)

// fill gives every field of a message something to say, to any depth; what was added to
// the contract since is filled as well.
func fill(m protoreflect.Message) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		one := func() protoreflect.Value {
			switch f.Kind() {
			case protoreflect.StringKind:
				return protoreflect.ValueOfString("x-" + string(f.Name()))
			case protoreflect.BytesKind:
				return protoreflect.ValueOfBytes(bytes.Repeat([]byte{7}, 16))
			case protoreflect.BoolKind:
				return protoreflect.ValueOfBool(true)
			case protoreflect.EnumKind:
				return protoreflect.ValueOfEnum(1)
			case protoreflect.DoubleKind:
				return protoreflect.ValueOfFloat64(1.25)
			case protoreflect.Int64Kind:
				return protoreflect.ValueOfInt64(3)
			case protoreflect.Uint64Kind:
				return protoreflect.ValueOfUint64(3)
			case protoreflect.Uint32Kind:
				return protoreflect.ValueOfUint32(3)
			case protoreflect.Sint32Kind, protoreflect.Int32Kind:
				return protoreflect.ValueOfInt32(1)
			}
			panic("a field of a kind that this test can't fill: " + f.FullName())
		}
		switch {
		case f.IsList() && f.Kind() == protoreflect.MessageKind:
			fill(m.Mutable(f).List().AppendMutable().Message())
		case f.IsList():
			m.Mutable(f).List().Append(one())
		case f.Kind() == protoreflect.MessageKind:
			fill(m.Mutable(f).Message())
		default:
			m.Set(f, one())
		}
	}
}

// everyKind makes one event of each kind of the contract, whole.
func everyKind() (all []*event.VisitEvent) {
	bodies := (&event.VisitEvent{}).ProtoReflect().Descriptor().Oneofs().ByName("body").Fields()
	for i := range bodies.Len() {
		ev := &event.VisitEvent{Contract: event.Contract, Id: fmt.Sprintf("k%03d", i), Studio: "every-kind", Bay: "pier", Visit: "vk",
			Session: "sk",
			Who:     "f-bo", EffectiveUnixNs: int64(i+1) * 1e9, RecordedUnixNs: int64(i+1) * 1e9, Person: "f-bo", Device: "tablet"}
		fill(ev.ProtoReflect().Mutable(bodies.Get(i)).Message())
		all = append(all, ev)
	}
	return all
}

// Each kind of fact, whatever was added last, outlives the console's journal being cut
// off as it stands, is stored and exported whole, folds from the store to what it folds
// to from the journal, and leaves what its kind keeps when its session is erased.
func testEveryKindIsKeptLikeAShot(t *testing.T, x world) {
	ctx, at := t.Context(), stream.Place{Studio: "every-kind", Bay: "pier"}
	all := everyKind()
	folder := filepath.Join(t.TempDir(), "visits")
	options := func(dir string) journal.Options {
		return journal.Options{Dir: dir, Studio: at.Studio, Bay: "console", Logger: slog.New(slog.DiscardHandler)}
	}
	j, _, err := journal.Open(options(folder))
	check(t, err)
	for _, ev := range all {
		payload, err := proto.MarshalOptions{Deterministic: true}.Marshal(ev)
		check(t, err)
		_, err = j.Append(ctx, journal.Record{Payload: payload})
		check(t, err)
	}
	cut := filepath.Join(t.TempDir(), "visits") // what a machine that lost its power finds
	check(t, os.CopyFS(cut, os.DirFS(folder)))
	check(t, j.Close())
	again, _, err := journal.Open(options(cut))
	check(t, err)
	defer again.Close()
	r := again.Read(again.ID(), 1)
	defer r.Close()
	var found []*event.VisitEvent
	for {
		e, ok, err := r.TryNext()
		if check(t, err); !ok {
			break
		}
		ev := &event.VisitEvent{}
		check(t, proto.Unmarshal(e.Payload, ev))
		found = append(found, ev)
	}
	if len(found) != len(all) {
		t.Fatalf("%d events found of %d", len(found), len(all))
	}
	check(t, x.Store.InsertEvents(ctx, found))
	check(t, x.Store.InsertEvents(ctx, found[len(found)/2:])) // sent again, for nobody knew that they had come
	stored, err := x.Store.Events(ctx, at)
	check(t, err)
	byID, fresh, old := map[string]*event.VisitEvent{}, &visit.Log{}, &visit.Log{}
	for _, ev := range stored {
		byID[ev.Id] = ev
		fresh.Add(ev)
	}
	for i, ev := range all {
		old.Add(ev)
		if kind := event.KindOf(ev); !proto.Equal(found[i], ev) || !proto.Equal(byID[ev.Id], ev) {
			t.Errorf("%s: entered\n%v\nafter the cut\n%v\nstored\n%v", kind, ev, found[i], byID[ev.Id])
		}
	}
	if len(stored) != len(all) || fresh.Len() != old.Len() || fmt.Sprint(holdings(fresh)) != fmt.Sprint(holdings(old)) {
		t.Errorf("%d stored of %d; from the store it folds to another timeline", len(stored), len(all))
	}
	x.exportsEach(t, all)
	// One of the kinds is the session's erasure: who holds the log holds what is left.
	for _, ev := range all {
		if got, want := fresh.Event(ev.Id), visit.Erase(ev); !proto.Equal(got, want) {
			t.Errorf("%s, erased: %v, not %v", event.KindOf(ev), got, want)
		}
	}
}

func holdings(l *visit.Log) (out []visit.Holding) {
	tl := l.Timeline()
	for i := range tl.Spans {
		out = append(out, tl.Spans[i].Holding())
	}
	return out
}

// exportsEach looks whether an export has each event with every field of its body.
func (x world) exportsEach(t *testing.T, all []*event.VisitEvent) {
	t.Helper()
	var text bytes.Buffer
	_, err := x.Write(t.Context(), &text, Request{Table: "visits", Studio: "every-kind"}, NDJSON, &Names{})
	check(t, err)
	told := map[string]map[string]json.RawMessage{}
	for line := range bytes.Lines(text.Bytes()) {
		var row struct{ ID, Kind, Body string }
		check(t, json.Unmarshal(line, &row))
		var body map[string]json.RawMessage
		check(t, json.Unmarshal([]byte(row.Body), &body))
		var of map[string]json.RawMessage
		check(t, json.Unmarshal(body[row.Kind], &of))
		told[row.ID] = of
	}
	for _, ev := range all {
		m := ev.ProtoReflect()
		body := m.WhichOneof(m.Descriptor().Oneofs().ByName("body"))
		fields := body.Message().Fields()
		if told[ev.Id] == nil {
			t.Errorf("%s is not exported", body.Name())
		}
		for i := range fields.Len() {
			if name := string(fields.Get(i).Name()); told[ev.Id] != nil && told[ev.Id][name] == nil {
				t.Errorf("%s is exported without %s", body.Name(), name)
			}
		}
	}
}
