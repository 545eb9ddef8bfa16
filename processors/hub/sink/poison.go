package sink

import (
	"fmt"
	"math"
	"time"

	"github.com/nats-io/nats.go/jetstream"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

// Bays and the console validate what they write, so what is refused here was
// written by somebody else, by a later version, or by a program that is broken.
// It must not stop the bay: what can't be read or is not the bay's is set aside
// and counted, and an entry that can't be right is stored as rejected, with the
// reason, because its number is one that the store is asked for.

// Times outside of these can't be right. The rule knows no clock, so that every
// worker at any time decides alike.
var (
	earliest = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).UnixNano()
	latestNs = time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC).UnixNano()
)

func plausible(ns int64) bool { return ns >= earliest && ns < latestNs }

// taken is a message of the log and the entry it holds.
type taken struct {
	msg  jetstream.Msg
	line event.Line
	// aside says why the message holds no entry of this bay; empty: it does.
	aside string
	// mended: the entry is not what the message says, but rejected.
	mended bool
}

// take decodes a message, beside the worker that tags.
func take(m jetstream.Msg, place stream.Place, r *event.Reader) taken {
	l, err := r.Read(m.Data())
	if err != nil {
		return taken{msg: m, aside: "undecodable"}
	}
	e := l.Entry
	switch {
	case e.Contract > event.Contract:
		return taken{msg: m, aside: "contract"}
	case e.Journal == "" || e.Seq == 0 || len(e.ShotId) != len(event.ShotID{}):
		return taken{msg: m, aside: "identity"}
	case e.Studio != place.Studio || e.Bay != place.Bay:
		return taken{msg: m, aside: "foreign"}
	}
	if !sound(l) {
		if l, err = mended(l.Bytes); err != nil {
			return taken{msg: m, aside: "undecodable"}
		}
		return taken{msg: m, line: l, mended: true}
	}
	return taken{msg: m, line: l}
}

// notedMessage is how a message that holds nothing of the bay is written down.
func notedMessage(m jetstream.Msg, of string, place stream.Place, why string) store.Aside {
	key := m.Subject()
	if meta, err := m.Metadata(); err == nil {
		key = fmt.Sprintf("message %d", meta.Sequence.Stream)
	}
	return store.Aside{Place: place, Of: of, Key: key, Reason: why}
}

// sound says whether mend would find nothing.
func sound(l event.Line) bool {
	e := l.Entry
	return !l.Given.NotFinite && plausible(e.EffectiveUnixNs) && storable(e.ReceivedUnixNs) && storable(e.DeviceUnixNs)
}

// AsStored is what the store holds of a message of the log: its bytes, but of an
// entry that can't be right what was made of it.
func AsStored(data []byte) (event.Line, error) {
	l, err := event.NewReader().Read(data)
	if err != nil || sound(l) {
		return l, err
	}
	return mended(data)
}

// mended is the line of an entry that can't be right, as it is stored.
func mended(data []byte) (event.Line, error) {
	e := &event.Entry{}
	if err := proto.Unmarshal(data, e); err != nil {
		return event.Line{}, err
	}
	mend(e)
	data, err := proto.MarshalOptions{Deterministic: true}.Marshal(e)
	if err != nil {
		return event.Line{}, err
	}
	return event.NewReader().Read(data)
}

// mend takes out of an entry what can't be stored or computed with, and says so
// among its faults.
func mend(e *event.Entry) {
	fault := func(field string, value any, reason string) {
		e.Faults = append(e.Faults, event.NewFault(field, fmt.Sprint(value), reason, "look for what else writes to this bay's subject"))
	}
	kept := e.Measures[:0]
	for _, m := range e.Measures {
		if v := m.GetValue(); !event.Sane(v) {
			info, _ := m.Field.Info()
			reason := "not a finite number"
			if !math.IsNaN(v) && !math.IsInf(v, 0) {
				reason = "beyond what can be measured"
			}
			fault(info.Name, v, reason)
			continue
		}
		kept = append(kept, m)
	}
	e.Measures = kept
	day := func(ns int64) string { return time.Unix(0, ns).UTC().Format(time.RFC3339) }
	const off = "a time that can't be right"
	if !plausible(e.EffectiveUnixNs) {
		fault("effective", day(e.EffectiveUnixNs), off)
		e.EffectiveUnixNs = earliest
		if plausible(e.ReceivedUnixNs) {
			e.EffectiveUnixNs = e.ReceivedUnixNs
		}
		e.Certainty = event.Certainty_CERTAINTY_UNSURE
	}
	if !storable(e.ReceivedUnixNs) {
		fault("received", day(e.ReceivedUnixNs), off)
		e.ReceivedUnixNs = e.EffectiveUnixNs
	}
	if !storable(e.DeviceUnixNs) {
		fault("device_time", day(e.DeviceUnixNs), off)
		e.DeviceUnixNs = 0
	}
}

// storable: a bay's or a device's own clock may be wrong by decades, and zero
// says that there is none.
func storable(ns int64) bool { return ns >= 0 && ns < latestNs }

// readEvent decodes a visit event; why says what is wrong with it.
func readEvent(data []byte, place stream.Place) (ev *event.VisitEvent, why string) {
	ev = &event.VisitEvent{}
	if err := proto.Unmarshal(data, ev); err != nil {
		return nil, "undecodable"
	}
	switch {
	case ev.Contract > event.Contract:
		return nil, "contract"
	case ev.Id == "":
		return nil, "identity"
	case ev.Studio != place.Studio || ev.Bay != place.Bay:
		return nil, "foreign"
	case !plausible(ev.EffectiveUnixNs) || !plausible(ev.RecordedUnixNs):
		return nil, "time"
	case !sane(ev.ProtoReflect()):
		return nil, "not finite"
	}
	return ev, ""
}

// sane says whether every number of a message is finite and may be meant.
func sane(m protoreflect.Message) (ok bool) {
	ok = true
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		one := func(v protoreflect.Value) bool {
			switch f.Kind() {
			case protoreflect.DoubleKind, protoreflect.FloatKind:
				return event.Sane(v.Float())
			case protoreflect.MessageKind:
				return sane(v.Message())
			}
			return true
		}
		switch {
		case f.IsMap(): // none of the contract's maps holds numbers
		case f.IsList():
			for i := range v.List().Len() {
				ok = ok && one(v.List().Get(i))
			}
		default:
			ok = one(v)
		}
		return ok
	})
	return ok
}
