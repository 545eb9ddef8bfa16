package process

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"fairlead/deploy/powercut"
	"fairlead/ingest/contract/event"
	"fairlead/processors/ask/export"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
)

// fill gives every field of a message something to say, to any depth.
func fill(t *testing.T, m protoreflect.Message) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		one := map[protoreflect.Kind]protoreflect.Value{
			protoreflect.StringKind: protoreflect.ValueOfString("x-" + string(f.Name())),
			protoreflect.BytesKind:  protoreflect.ValueOfBytes(bytes.Repeat([]byte{7}, 16)),
			protoreflect.BoolKind:   protoreflect.ValueOfBool(true), protoreflect.EnumKind: protoreflect.ValueOfEnum(1),
			protoreflect.DoubleKind: protoreflect.ValueOfFloat64(1.25), protoreflect.Int64Kind: protoreflect.ValueOfInt64(3),
			protoreflect.Uint64Kind: protoreflect.ValueOfUint64(3), protoreflect.Uint32Kind: protoreflect.ValueOfUint32(3),
			protoreflect.Int32Kind: protoreflect.ValueOfInt32(1), protoreflect.Sint32Kind: protoreflect.ValueOfInt32(1),
		}[f.Kind()]
		switch {
		case f.IsList() && f.Kind() == protoreflect.MessageKind:
			fill(t, m.Mutable(f).List().AppendMutable().Message())
		case f.Kind() == protoreflect.MessageKind:
			fill(t, m.Mutable(f).Message())
		case !one.IsValid():
			t.Fatalf("%s is of a kind that this test can't fill", f.FullName())
		case f.IsList():
			m.Mutable(f).List().Append(one)
		default:
			m.Set(f, one)
		}
	}
}

// One fact of every kind that the contract has, whatever was added last, each in a
// session of its own: the power of the broker's and the store's disk goes, engine,
// broker and hub are killed while they are on their way. All are stored as they were
// entered, audit and replay agree, the export has each, and when the player is
// forgotten of each is left what its kind keeps, in a replay too.
func TestEveryKindOfFactSurvivesAsAShotDoes(t *testing.T) {
	if !powercut.Possible(t) {
		return
	}
	t.Parallel()
	disk := powercut.New(t, 1<<30)
	b := newBench(t, setup{broker: filepath.Join(disk.Dir(), "broker"), engine: filepath.Join(disk.Dir(), "engine")})
	y := b.bay("north")
	b.startHub()
	entered := map[string]*event.VisitEvent{}
	bodies := (&event.VisitEvent{}).ProtoReflect().Descriptor().Oneofs().ByName("body").Fields()
	for i := range bodies.Len() {
		kind := string(bodies.Get(i).Name())
		if kind == "session_erased" {
			continue // the erasure below says it of each session
		}
		session := "s-" + strings.ReplaceAll(kind, "_", "-")
		ev := &event.VisitEvent{Session: session, Who: "f-bo", Person: "f-bo", Device: "tablet"}
		fill(t, ev.ProtoReflect().Mutable(bodies.Get(i)).Message())
		k := visit.KindOf(ev)
		if k == nil {
			t.Fatalf("nobody knows what %s does", kind)
		}
		if k.Studio {
			ev.Session = "" // it is the studio's, and of no player
		} else if kind != "session_opened" {
			o := opened()
			o.Session = session
			y.note(o)
		}
		if o := ev.GetSessionOpened(); o != nil {
			o.Player = "p1"
		}
		if c := ev.GetSessionCorrected(); c != nil {
			c.Player = "p1"
		}
		y.note(ev)
		entered[ev.Id] = ev
		if kind != "session_closed" && !k.Studio {
			y.note(&event.VisitEvent{Session: session, Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}})
		}
		y.hit(1)
		switch i {
		case bodies.Len() / 3:
			disk.Cut()
			b.broker.kill()
			b.engine.Kill()
			y.hit(2)
			disk.Restore()
			b.broker.start()
			b.startEngine()
		case 2 * bodies.Len() / 3:
			b.stopHub()
			b.startHub()
		}
	}
	b.whole()
	stored := func() map[string]*event.VisitEvent {
		all, err := b.store.Events(t.Context(), y.place)
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]*event.VisitEvent{}
		for _, ev := range all {
			ev.Journal, ev.Seq = "", 0
			out[ev.Id] = ev
		}
		return out
	}
	got := stored()
	for id, ev := range entered {
		if !proto.Equal(got[id], ev) {
			t.Errorf("%s: entered\n%v\nstored\n%v", event.KindOf(ev), ev, got[id])
		}
	}
	b.replayed(b.checksums())
	var text bytes.Buffer
	downloads, err := store.OpenDownloads(b.engine.DSN())
	if err != nil {
		t.Fatal(err)
	}
	x := export.Exporter{Store: b.store, Downloads: downloads}
	if _, err := x.Write(t.Context(), &text, export.Request{Table: "visits", Studio: b.studio}, export.NDJSON, &export.Names{}); err != nil {
		t.Fatal(err)
	}
	told := map[string]string{}
	for line := range bytes.Lines(text.Bytes()) {
		var row struct{ ID, Kind string }
		if err := json.Unmarshal(line, &row); err != nil {
			t.Fatal(err)
		}
		told[row.ID] = row.Kind
	}
	for id, ev := range entered {
		if told[id] != event.KindOf(ev) {
			t.Errorf("%s is exported as %q", event.KindOf(ev), told[id])
		}
	}

	e := b.eraser()
	plan, err := e.Plan(t.Context(), "p1")
	if err != nil {
		t.Fatal(err)
	}
	if left, err := e.Run(t.Context(), plan); err != nil || left.Sum() != 0 {
		t.Fatalf("left %+v, %v", left, err)
	}
	b.whole()
	got = stored()
	for id, ev := range entered {
		want := visit.Erase(ev)
		want.Journal, want.Seq = "", 0
		if visit.KindOf(ev).Studio {
			want = ev
		}
		if !proto.Equal(got[id], want) {
			t.Errorf("%s: of it is left\n%v\nand not\n%v", event.KindOf(ev), got[id], want)
		}
	}
	b.audited()
	b.replayed(b.checksums())
}
