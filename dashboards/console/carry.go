package console

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
)

// carryOver makes the copies of a session's live events for the bay that the
// session really was in. Their ids follow from the originals', so that the same
// correction made twice writes the same facts.
func (w *Writer) carryOver(bay string, corrected *event.VisitEvent, now time.Time) ([]*event.VisitEvent, error) {
	to := corrected.GetSessionCorrected().Bay
	if err := w.Known(to); err != nil {
		return nil, refuse("corrected_bay", to, fmt.Sprintf("no such bay: there are %v", w.bays), "name one of them")
	}
	session := w.logs[bay].Timeline().Session(corrected.Session)
	var copies []*event.VisitEvent
	for _, s := range w.logs[to].Timeline().Sessions {
		switch {
		case s.ID == session.ID && s.MovedTo != "":
			// It was there before, and comes back.
			copies = append(copies, &event.VisitEvent{
				Contract: event.Contract, Id: carriedID(corrected.Id, to), Studio: w.studio, Bay: to, Who: corrected.Who,
				EffectiveUnixNs: corrected.EffectiveUnixNs, RecordedUnixNs: now.UnixNano(), Visit: s.Visit, Session: s.ID,
				Body: &event.VisitEvent_SessionCorrected{SessionCorrected: &event.SessionCorrected{Bay: to}},
			})
		case s.ID != session.ID && s.MovedTo == "" && s.From < session.To && session.From < s.To:
			return nil, refuse("corrected_bay", to, fmt.Sprintf("session %s of player %s was there at the same time", s.ID, s.Player),
				"correct or close that one first")
		}
	}
	there := map[string]bool{} // events of this bay that are copies of what the other one holds
	for _, ev := range w.logs[to].All() {
		there[carriedID(ev.Id, bay)] = true
	}
	for _, ev := range w.logs[bay].Events() {
		if ev.Session != session.ID || ev.GetSessionCorrected().GetBay() != "" || there[ev.Id] {
			continue
		}
		c := proto.Clone(ev).(*event.VisitEvent)
		c.Id, c.Bay, c.RecordedUnixNs, c.LastSeen = carriedID(ev.Id, to), to, now.UnixNano(), nil
		if h := c.GetHitChecked(); h != nil && w.logs[bay].Event(h.Verdict) != nil {
			h.Verdict = carriedID(h.Verdict, to)
		}
		if w.logs[to].Event(c.Id) == nil {
			copies = append(copies, c)
		}
	}
	return copies, nil
}

// carriedID names an event's copy in another bay.
func carriedID(id, bay string) string {
	if out := id + ":" + bay; len(out) <= 64 {
		return out
	}
	sum := sha256.Sum256([]byte(id + ":" + bay))
	return "c-" + hex.EncodeToString(sum[:16])
}
