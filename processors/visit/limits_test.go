package visit

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"fairlead/ingest/contract/event"
)

// What each field of each kind of event may be is kept in testdata/limits.txt: the
// least and greatest number, the longest text, the most entries that are taken, what
// is said beyond and where it is left out.
func TestWhatEachFieldMayBe(t *testing.T) {
	var out strings.Builder
	good := goodEvents()
	for i := range bodies.Len() {
		name := string(bodies.Get(i).Name())
		ev := proto.Clone(good[name]).(*event.VisitEvent)
		l := limits{out: &out, ev: ev, path: name}
		l.message(ev.ProtoReflect().Get(bodies.Get(i)).Message())
		without := proto.Clone(good[name]).(*event.VisitEvent)
		without.Session, without.Visit = "", ""
		fmt.Fprintf(&out, "%s in no session: %s\n", name, faultsOf(without))
	}
	golden(t, "limits.txt", out.String())
}

// limits tries values of the fields of one event.
type limits struct {
	out  *strings.Builder
	ev   *event.VisitEvent
	path string
}

func faultsOf(ev *event.VisitEvent) string {
	var all []string
	for _, f := range Validate(ev, visitNow) {
		value := strings.TrimSpace(f.Value)
		if len(value) > 20 {
			value = fmt.Sprintf("%d signs", len(value))
		}
		all = append(all, fmt.Sprintf("%s %s: %s; %s", f.Field, value, f.Reason, f.Hint))
	}
	if len(all) == 0 {
		return "taken"
	}
	return strings.Join(all, " | ")
}

func (l limits) taken() bool { return len(Validate(l.ev, visitNow)) == 0 }

func (l limits) message(m protoreflect.Message) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		at := limits{l.out, l.ev, l.path + "." + string(f.Name())}
		had := m.Has(f)
		was := m.Get(f)
		switch {
		case f.IsMap():
		case f.IsList():
			at.list(m, f)
		case f.Kind() == protoreflect.MessageKind:
			if !had {
				filled(m.Mutable(f).Message())
				fmt.Fprintf(l.out, "%s of all kinds: %s\n", at.path, faultsOf(l.ev))
				m.Clear(f)
				continue
			}
			m.Clear(f)
			fmt.Fprintf(l.out, "%s left out: %s\n", at.path, faultsOf(l.ev))
			m.Set(f, was)
			at.message(m.Mutable(f).Message())
		default:
			at.scalar(f, func(v protoreflect.Value) { m.Set(f, v) }, was)
			m.Clear(f)
			fmt.Fprintf(l.out, "%s left out: %s\n", at.path, faultsOf(l.ev))
			if had {
				m.Set(f, was)
			}
		}
	}
}

// list tries how many entries there may be, and the fields of the first.
func (l limits) list(m protoreflect.Message, f protoreflect.FieldDescriptor) {
	whole := proto.Clone(m.Interface()).ProtoReflect().Get(f).List() // as it was
	had := m.Has(f)
	m.Clear(f)
	fmt.Fprintf(l.out, "%s left out: %s\n", l.path, faultsOf(l.ev))
	list := m.Mutable(f).List()
	if had && f.Kind() == protoreflect.MessageKind {
		list.Append(whole.Get(0))
		l.message(list.Get(0).Message())
		list.Append(whole.Get(0))
		fmt.Fprintf(l.out, "%s twice the same: %s\n", l.path, faultsOf(l.ev))
	} else if f.Kind() == protoreflect.BytesKind {
		for _, n := range []int{0, 15, 16, 17} {
			list.Truncate(0)
			list.Append(protoreflect.ValueOfBytes(slices.Repeat([]byte{7}, n)))
			fmt.Fprintf(l.out, "%s of %d bytes: %s\n", l.path, n, faultsOf(l.ev))
		}
		most, last := bisect(0, 20_000, func(n float64) bool {
			list.Truncate(0)
			for i := range int(n) {
				id := event.ShotIDFor("d", fmt.Sprint(i))
				list.Append(protoreflect.ValueOfBytes(id[:]))
			}
			return int(n) == 0 || l.taken()
		}, 1)
		fmt.Fprintf(l.out, "%s at most %g entries; %g: %s\n", l.path, most, last, faultsOf(l.ev))
	}
	m.Clear(f)
	if had {
		for i := range whole.Len() {
			m.Mutable(f).List().Append(whole.Get(i))
		}
	}
}

// bisect finds the last number from a taken one towards a refused one.
func bisect(good, bad float64, taken func(float64) bool, grain float64) (last, first float64) {
	if taken(bad) {
		return bad, math.Inf(1)
	}
	for range 200 {
		middle := good + (bad-good)/2
		if grain > 0 {
			middle = math.Trunc(middle/grain) * grain
		}
		if middle == good || middle == bad {
			break
		}
		if taken(middle) {
			good = middle
		} else {
			bad = middle
		}
	}
	taken(bad)
	return good, bad
}

func (l limits) scalar(f protoreflect.FieldDescriptor, set func(protoreflect.Value), was protoreflect.Value) {
	switch f.Kind() {
	case protoreflect.EnumKind:
		values := f.Enum().Values()
		for n := range protoreflect.EnumNumber(values.Len() + 2) {
			set(protoreflect.ValueOfEnum(n - 1))
			fmt.Fprintf(l.out, "%s %d: %s\n", l.path, n-1, faultsOf(l.ev))
		}
	case protoreflect.StringKind:
		longest, _ := bisect(1, 1e5, func(n float64) bool {
			set(protoreflect.ValueOfString(strings.Repeat("a", int(n))))
			return l.taken()
		}, 1)
		fmt.Fprintf(l.out, "%s at most %g signs: %s\n", l.path, longest, faultsOf(l.ev))
		var taken []string
		for _, text := range []string{"a b", "\x01", "ü", "\n", "north/1"} {
			if set(protoreflect.ValueOfString(text)); l.taken() {
				taken = append(taken, text)
			}
		}
		fmt.Fprintf(l.out, "%s may be odd: %q\n", l.path, taken)
	case protoreflect.BoolKind:
		set(protoreflect.ValueOfBool(!was.Bool()))
		fmt.Fprintf(l.out, "%s %v: %s\n", l.path, !was.Bool(), faultsOf(l.ev))
	case protoreflect.BytesKind:
	default:
		l.number(f, set, was)
	}
}

func (l limits) number(f protoreflect.FieldDescriptor, set func(protoreflect.Value), was protoreflect.Value) {
	value, grain, start := func(x float64) protoreflect.Value { return protoreflect.ValueOfFloat64(x) }, 0.0, 0.0
	switch f.Kind() {
	case protoreflect.DoubleKind:
		start = was.Float()
		set(protoreflect.ValueOfFloat64(math.NaN()))
		fmt.Fprintf(l.out, "%s NaN: %s\n", l.path, faultsOf(l.ev))
	case protoreflect.Int64Kind:
		grain, start = 1, float64(was.Int())
		value = func(x float64) protoreflect.Value { return protoreflect.ValueOfInt64(int64(x)) }
	case protoreflect.Int32Kind, protoreflect.Sint32Kind:
		grain, start = 1, float64(was.Int())
		value = func(x float64) protoreflect.Value { return protoreflect.ValueOfInt32(int32(x)) }
	case protoreflect.Uint64Kind:
		grain, start = 1, float64(was.Uint())
		value = func(x float64) protoreflect.Value { return protoreflect.ValueOfUint64(uint64(max(x, 0))) }
	case protoreflect.Uint32Kind:
		grain, start = 1, float64(was.Uint())
		value = func(x float64) protoreflect.Value { return protoreflect.ValueOfUint32(uint32(max(x, 0))) }
	}
	taken := func(x float64) bool { set(value(x)); return l.taken() }
	for _, x := range []float64{start, 1, 0, 0.1, -1, 10, 100, 1000, 1.8e18} {
		if start = x; taken(start) {
			break
		}
	}
	far := map[bool]float64{true: 1e12, false: 9e18}[f.Kind() == protoreflect.DoubleKind]
	if grain > 0 && (f.Kind() == protoreflect.Int32Kind || f.Kind() == protoreflect.Sint32Kind || f.Kind() == protoreflect.Uint32Kind) {
		far = 2e9
	}
	greatest, _ := bisect(start, far, taken, grain)
	fmt.Fprintf(l.out, "%s at most %v: %s\n", l.path, greatest, faultsOf(l.ev))
	least, _ := bisect(start, -far, taken, grain)
	fmt.Fprintf(l.out, "%s at least %v: %s\n", l.path, least, faultsOf(l.ev))
}
