package event

import (
	"fmt"
	"reflect"
	"testing"

	"fairlead/deploy/proof"

	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"
)

// sameAsLibrary checks that a Reader reads what the protobuf library reads,
// and refuses what it refuses.
func sameAsLibrary(t interface{ Fatalf(string, ...any) }, r *Reader, data []byte) {
	want := &Entry{}
	wantErr := proto.Unmarshal(data, want)
	got, err := r.Read(data)
	if (err != nil) != (wantErr != nil) {
		t.Fatalf("%x: error %v, the library's %v", data, err, wantErr)
	}
	if err != nil {
		return
	}
	if of := ReadingsOf(want); !reflect.DeepEqual(got.Given, of) {
		t.Fatalf("%x:\ngot  %+v\nwant %+v", data, got.Given, of)
	}
	want.Measures = nil
	if !proto.Equal(got.Entry, want) {
		t.Fatalf("%x:\ngot  %v\nwant %v", data, got.Entry, want)
	}
}

func drawEntry(t *rapid.T) *Entry {
	text := func(name string) string {
		return rapid.SampledFrom([]string{"", "north", "quay", "ä", "a longer name of something"}).Draw(t, name)
	}
	e := &Entry{
		Contract: rapid.Uint32().Draw(t, "contract"), Studio: text("studio"), Bay: text("bay"), Journal: text("journal"),
		Seq:    rapid.Uint64().Draw(t, "seq"),
		ShotId: rapid.SliceOfN(rapid.Byte(), 0, 16).Draw(t, "id"), Device: text("device"), DeviceShotId: text("device shot"),
		Role: Role(rapid.Int32Range(-1, 5).Draw(t, "role")), Feed: text("feed"), File: text("file"), Line: rapid.Uint64().Draw(t, "line"),
		Raw: rapid.SliceOfN(rapid.Byte(), 0, 40).Draw(t, "raw"), DeviceUnixNs: rapid.Int64().Draw(t, "device time"),
		ReceivedUnixNs: rapid.Int64().Draw(t, "received"), EffectiveUnixNs: rapid.Int64().Draw(t, "effective"),
		Certainty: Certainty(rapid.Int32Range(0, 4).Draw(t, "certainty")), Revision: rapid.Uint32().Draw(t, "revision"),
		Deleted: rapid.Bool().Draw(t, "deleted"), DeviceClub: text("club"), Firmware: text("firmware"),
		Boot: text("boot"), ReadMonoNs: rapid.Int64().Draw(t, "read"), SeenMonoNs: rapid.Int64().Draw(t, "seen"),
		EarliestUnixNs: rapid.Int64().Draw(t, "earliest"), LatestUnixNs: rapid.Int64().Draw(t, "latest"),
		RereadUnixNs: rapid.Int64().Draw(t, "reread"), Layout: text("layout"), Encoding: text("encoding"),
	}
	for range rapid.IntRange(0, 20).Draw(t, "measures") {
		e.Measures = append(e.Measures, &Measure{
			Field: Field(rapid.Int32Range(-1, 70).Draw(t, "field")), Value: rapid.Float64().Draw(t, "value"),
			Provenance: Provenance(rapid.Int32Range(0, 4).Draw(t, "provenance")), Handed: rapid.Bool().Draw(t, "handed"),
			AirAdjusted: AirAdjusted(rapid.Int32Range(0, 3).Draw(t, "air")),
		})
	}
	if rapid.Bool().Draw(t, "settings") {
		e.Settings = map[string]string{"club": text("setting")}
	}
	if rapid.Bool().Draw(t, "faults") {
		e.Faults = []*Fault{{Field: "carry", Reason: text("reason")}}
	}
	return e
}

func TestReaderReadsWhatTheLibraryReads(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		r := NewReader()
		for range 3 {
			data, err := proto.Marshal(drawEntry(t))
			if err != nil {
				t.Fatal(err)
			}
			sameAsLibrary(t, r, data)
			for range 4 { // cut, with a byte turned, with more behind it
				n := rapid.IntRange(0, len(data)).Draw(t, "cut")
				sameAsLibrary(t, r, data[:n])
				if n < len(data) {
					turned := append([]byte(nil), data...)
					turned[n] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
					sameAsLibrary(t, r, turned)
				}
			}
			later := protowire.AppendVarint(protowire.AppendTag(append([]byte(nil), data...), 90, protowire.VarintType), 7)
			sameAsLibrary(t, r, later)
			sameAsLibrary(t, r, protowire.AppendVarint(protowire.AppendVarint(append([]byte(nil), data...), (1<<32+1)<<3), 7))
			sameAsLibrary(t, r, append(later, data...))
		}
	})
}

func TestReaderKeepsFewWords(t *testing.T) {
	r := NewReader()
	for i := range 3 * maxWords {
		data, err := proto.Marshal(&Entry{File: fmt.Sprint("shots-", i, ".csv"), Bay: "north"})
		if err != nil {
			t.Fatal(err)
		}
		sameAsLibrary(t, r, data)
	}
	if len(r.words) > maxWords {
		t.Errorf("%d words are kept", len(r.words))
	}
}

func FuzzReader(f *testing.F) {
	for seed := range 20 {
		data, err := proto.Marshal(rapid.Custom(drawEntry).Example(seed))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) { sameAsLibrary(t, NewReader(), data) })
}

func BenchmarkReader(b *testing.B) {
	e := &Entry{Contract: 1, Studio: "harbour-row", Bay: "north", Journal: "00000000000000aa", Seq: 7, ShotId: make([]byte, 16),
		Device: "alder", DeviceShotId: "7",
		Feed: "ball", File: "shots.csv", Line: 7, Raw: make([]byte, 90), ReceivedUnixNs: 1777885200e9, EffectiveUnixNs: 1777885200e9}
	for f := Field(1); f < 18; f++ {
		e.Measures = append(e.Measures, &Measure{Field: f, Value: 1.5, Provenance: Provenance_PROVENANCE_MEASURED})
	}
	data, err := proto.Marshal(e)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("library", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if err := proto.Unmarshal(data, &Entry{}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("reader", func(b *testing.B) {
		b.ReportAllocs()
		r := NewReader()
		for b.Loop() {
			if _, err := r.Read(data); err != nil {
				b.Fatal(err)
			}
		}
	})
}
