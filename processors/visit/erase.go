package visit

import (
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"fairlead/ingest/contract/event"
)

// Erase returns what is kept of an event of a session that was erased: that it
// happened, when, and what the order of other facts needs (ids of trials, of
// shots, of events that are taken back): of the envelope what is listed here,
// of the body what its kind keeps. All else is left behind, fields and kinds
// that nobody decided on and those of later versions included. The event given
// is not changed; erasing twice gives the same. An erasure itself is kept as it
// is.
func Erase(ev *event.VisitEvent) *event.VisitEvent {
	if ev.GetSessionErased() != nil || ev.GetErased() {
		return ev
	}
	kept := &event.VisitEvent{
		Contract: ev.Contract, Id: ev.Id, Studio: ev.Studio, Bay: ev.Bay, Journal: ev.Journal, Seq: ev.Seq, Who: ev.Who,
		EffectiveUnixNs: ev.EffectiveUnixNs, RecordedUnixNs: ev.RecordedUnixNs, Visit: ev.Visit, Session: ev.Session, Erased: true,
		Person: ev.Person, Device: ev.Device,
		Boot: ev.Boot, MonoNs: ev.MonoNs,
	}
	if s := ev.LastSeen; s != nil {
		kept.LastSeen = &event.Seen{Journal: s.Journal, Seq: s.Seq}
	}
	k := KindOf(ev)
	if k == nil {
		return kept
	}
	from := ev.ProtoReflect().Get(k.body).Message()
	kept.Body = k.empty().Body
	into := kept.ProtoReflect().Mutable(k.body).Message()
	for _, name := range k.Keeps {
		if f := from.Descriptor().Fields().ByName(protoreflect.Name(name)); from.Has(f) {
			into.Set(f, from.Get(f))
		}
	}
	return proto.Clone(kept).(*event.VisitEvent) // lists were shared with the event given
}
