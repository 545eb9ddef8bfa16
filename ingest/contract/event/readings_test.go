package event

import (
	"reflect"
	"testing"

	"fairlead/deploy/proof"

	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"
)

// What a second device gave fills in what the first did not, measure by
// measure, and neither is changed.
func TestReadingsFilled(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		first, second := drawEntry(t), drawEntry(t)
		a, b := ReadingsOf(first), ReadingsOf(second)
		merged := proto.Clone(first).(*Entry)
		for _, m := range second.Measures {
			if int(m.Field) < 0 || m.Field >= 64 || a.Has>>m.Field&1 == 0 {
				merged.Measures = append(merged.Measures, m)
			}
		}
		want := ReadingsOf(merged)
		want.NotFinite = a.NotFinite || b.NotFinite // whatever the measure was for
		if got := a.Filled(b); !reflect.DeepEqual(got, want) {
			t.Fatalf("%v\n%v\ngot  %+v\nwant %+v", first.Measures, second.Measures, got, want)
		}
		if !reflect.DeepEqual(a, ReadingsOf(first)) || !reflect.DeepEqual(b, ReadingsOf(second)) {
			t.Fatal("filling in changed what it was made of")
		}
	})
}
