package audit

import (
	"context"
	"fmt"
	"slices"

	"github.com/cespare/xxhash/v2"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
)

// Visits is the state of a studio's visit events: those that the console's
// journal holds, those in the log, and those stored.
type Visits struct {
	Unknown   string   `json:"unknown,omitempty"` // why the console's journal could not be asked
	Journaled uint64   `json:"journalled"`
	Published uint64   `json:"published"` // distinct events in the log
	Stored    uint64   `json:"stored"`
	Missing   uint64   `json:"missing"`    // in the journal, not in the store
	Altered   uint64   `json:"altered"`    // stored as other than the journal says
	Forged    uint64   `json:"forged"`     // stored, and neither in the journal nor in the log
	NotInLog  uint64   `json:"not_in_log"` // stored, and not in the log: a replay would lack them
	Mended    uint64   `json:"mended"`     // of what was wrong, made right by this audit
	Examples  []string `json:"examples,omitempty"`
}

// Wrong counts what is wrong with them.
func (v Visits) Wrong() uint64 { return v.Missing + v.Altered + v.Forged + v.NotInLog }

// eventTrouble is what is wrong with one visit event.
type eventTrouble struct {
	kind   string // missing, altered, forged, not in the log
	row    store.Kept
	record *event.VisitEvent // as the journal has it; nil: it does not
}

func (t eventTrouble) key() string { return t.kind + " " + t.row.Bay + "/" + t.row.ID }

func (t eventTrouble) String() string {
	return fmt.Sprintf("visit event %s of bay %s (number %d of journal %s) is %s", t.row.ID, t.row.Bay, t.row.Seq, t.row.Journal, t.kind)
}

// visits audits the studio's visit events, and mends what was asked for.
func (a Auditor) visits(ctx context.Context, studio string) (Visits, error) {
	v, wrong, err := a.visitsNow(ctx, studio)
	// What is wrong is so at each look; what comes meanwhile is on its way.
	for look := 1; err == nil && len(wrong) > 0 && look < mostLooks; look++ {
		if err := pause(ctx, a.again()); err != nil {
			return v, err
		}
		before := map[string]bool{}
		for _, t := range wrong {
			before[t.key()] = true
		}
		if v, wrong, err = a.visitsNow(ctx, studio); err == nil {
			wrong = slices.DeleteFunc(wrong, func(t eventTrouble) bool { return !before[t.key()] })
			v.count(wrong)
		}
	}
	if err != nil || !a.Repair || len(wrong) == 0 {
		return v, err
	}
	if err := a.mendVisits(ctx, studio, wrong); err != nil {
		return v, err
	}
	after, left, err := a.visitsNow(ctx, studio)
	after.Examples, after.Mended = v.Examples, uint64(len(wrong)-min(len(left), len(wrong)))
	return after, err
}

func (a Auditor) visitsNow(ctx context.Context, studio string) (v Visits, wrong []eventTrouble, err error) {
	place := stream.Place{Studio: studio, Bay: stream.ConsoleBay}
	h, asking := Ask(ctx, a.Conn, place, a.Wait)
	if asking != nil {
		if ctx.Err() != nil {
			return v, nil, ctx.Err()
		}
		v.Unknown = "the console does not answer (" + asking.Error() + "): which events it holds and did not send is not known"
		h = &event.Heartbeat{}
	}
	journals, err := a.readEvents(ctx, place, h)
	if err != nil {
		return v, nil, err
	}
	rows, err := a.Store.KeptEvents(ctx, studio)
	if err != nil {
		return v, nil, err
	}
	log, err := gap.InLog(ctx, a.JS, stream.Visits, stream.Place{Studio: studio, Bay: "*"}.VisitsSubject())
	if err != nil {
		return v, nil, err
	}
	for _, r := range log {
		v.Published += r.Count()
	}
	v.Stored, v.Journaled = uint64(len(rows)), uint64(len(journals.byNumber))
	wrong = journals.compare(rows, log)
	v.count(wrong)
	return v, wrong, nil
}

// count says what is wrong.
func (v *Visits) count(wrong []eventTrouble) {
	v.Missing, v.Altered, v.Forged, v.NotInLog, v.Examples = 0, 0, 0, 0, nil
	for _, t := range wrong {
		switch t.kind {
		case eventMissing:
			v.Missing++
		case eventAltered:
			v.Altered++
		case eventForged:
			v.Forged++
		default:
			v.NotInLog++
		}
		if len(v.Examples) < 10 {
			v.Examples = append(v.Examples, t.String())
		}
	}
}

const (
	eventMissing  = "missing in the store"
	eventAltered  = "altered"
	eventForged   = "forged"
	eventUnlogged = "missing in the log"
)

// heldEvents are what the console's journals hold.
type heldEvents struct {
	ends     map[string]uint64 // last number of each journal
	byNumber map[number]*event.VisitEvent
	byID     map[string][]*event.VisitEvent // of bay/id; several where one was said again
}

// readEvents reads the console's journals; events are few.
func (a Auditor) readEvents(ctx context.Context, place stream.Place, h *event.Heartbeat) (heldEvents, error) {
	held := heldEvents{map[string]uint64{}, map[number]*event.VisitEvent{}, map[string][]*event.VisitEvent{}}
	for _, s := range h.Journals {
		held.ends[s.Journal] = s.Last
		for from := max(s.First, 1); from <= s.Last; {
			c, err := a.ask(ctx, place, &event.AskRequest{Journal: s.Journal, From: from, To: s.Last, Records: true})
			if err != nil {
				return held, err
			}
			if len(c.GetHashes()) == 0 {
				delete(held.ends, s.Journal) // it can't say
				break
			}
			for i, record := range c.Records {
				ev := &event.VisitEvent{}
				if len(record) == 0 || proto.Unmarshal(record, ev) != nil {
					continue
				}
				held.byNumber[number{s.Journal, from + uint64(i)}] = ev
				held.byID[ev.Bay+"/"+ev.Id] = append(held.byID[ev.Bay+"/"+ev.Id], ev)
			}
			from += uint64(len(c.Hashes))
		}
	}
	return held, nil
}

// compare holds the rows against the journals, and both against the log.
func (h heldEvents) compare(rows []store.Kept, log map[string]gap.Ranges) (out []eventTrouble) {
	there := map[string]bool{}
	for _, r := range rows {
		key := r.Bay + "/" + r.ID
		there[key] = true
		said, logged := h.byID[key], log[r.Journal].Has(r.Seq)
		end, journaled := h.ends[r.Journal]
		switch {
		case len(said) > 0 && !anySays(said, r):
			out = append(out, eventTrouble{eventAltered, r, said[0]})
		case len(said) == 0 && !logged && journaled && (r.Seq > end || h.byNumber[number{r.Journal, r.Seq}] != nil):
			// Its number is another event's, or was never given.
			out = append(out, eventTrouble{eventForged, r, nil})
		case !logged && !anyLogged(said, log):
			out = append(out, eventTrouble{eventUnlogged, r, nil})
		}
	}
	for key, said := range h.byID {
		if ev := said[0]; !there[key] {
			out = append(out, eventTrouble{eventMissing, store.Kept{Bay: ev.Bay, Journal: ev.Journal, Seq: ev.Seq, ID: ev.Id}, ev})
		}
	}
	return out
}

// anySays whether a row is what one of the records gives.
func anySays(said []*event.VisitEvent, r store.Kept) bool {
	for _, ev := range said {
		if r.Erased {
			ev = visit.Erase(ev)
		}
		if data, err := (proto.MarshalOptions{Deterministic: true}).Marshal(ev); err == nil && xxhash.Sum64(data) == r.Hash {
			return true
		}
	}
	return false
}

func anyLogged(said []*event.VisitEvent, log map[string]gap.Ranges) bool {
	for _, ev := range said {
		if log[ev.Journal].Has(ev.Seq) {
			return true
		}
	}
	return false
}

// mendVisits stores what the journals say in place of what was changed, and takes
// out what nobody said. What the log lacks the hub has sent again.
func (a Auditor) mendVisits(ctx context.Context, studio string, wrong []eventTrouble) error {
	var gone []store.Kept
	var right []*event.VisitEvent
	for _, t := range wrong {
		if t.kind == eventAltered || t.kind == eventForged && !a.KeepUnknown {
			gone = append(gone, t.row)
		}
		if t.record != nil {
			ev := t.record
			if t.row.Erased {
				ev = visit.Erase(ev)
			}
			right = append(right, ev)
		}
	}
	if len(gone) > 0 {
		if err := a.Store.RemoveEvents(ctx, studio, gone); err != nil {
			return err
		}
	}
	return a.Store.InsertEvents(ctx, right)
}
