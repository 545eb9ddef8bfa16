package console

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// undoView is what a page offers to take back: what was entered last of what it
// shows, by whoever, on whatever tablet. A tap after it offers what was before.
type undoView struct{ Event, Text string }

// ofOrder tells events of an order.
func ofOrder(number string) func(*event.VisitEvent) bool {
	return func(ev *event.VisitEvent) bool {
		for _, of := range []string{ev.GetOrderPlaced().GetOrder(), ev.GetOrderMoved().GetOrder(), ev.GetClubBuilt().GetOrder(),
			ev.GetOrderMarked().GetOrder()} {
			if of != "" {
				return of == number
			}
		}
		return false
	}
}

// ofShelf tells what was said of the studio's shelf: price lists, counts, test clubs.
func ofShelf(ev *event.VisitEvent) bool {
	return ev.GetPartsListed() != nil || ev.GetStockCounted() != nil || ev.GetTestClubPlaced() != nil
}

// ofMorning tells checks of a bay.
func ofMorning(bay string) func(*event.VisitEvent) bool {
	return func(ev *event.VisitEvent) bool { return ev.Bay == bay && ev.GetBayChecked() != nil }
}

// ofFile tells what was noted and measured of a player.
func ofFile(f *visit.File) func(*event.VisitEvent) bool {
	seats := map[string]bool{}
	for _, seat := range f.Seats {
		seats[seat.ID] = true
	}
	return func(ev *event.VisitEvent) bool {
		return seats[ev.Session] && (ev.GetPlayerNoted() != nil || ev.GetPlayerMeasured() != nil || ev.GetBagMeasured() != nil)
	}
}

// offered is what a page may take back of its events; nil: nothing of the last weeks.
func (s *server) offered(mine func(*event.VisitEvent) bool) *undoView {
	var last *event.VisitEvent
	in := ""
	for _, bay := range s.bays {
		for _, ev := range s.writer.Live(bay) {
			if mine(ev) && (last == nil || ev.RecordedUnixNs >= last.RecordedUnixNs) {
				last, in = ev, bay
			}
		}
	}
	if last == nil {
		return nil
	}
	v := &undoView{last.Id, s.describe(s.writer.Timeline(in), last)}
	if last.Who != "" {
		v.Text += ", by " + s.people.Name(last.Who)
	}
	return v
}

// lastUnlessNamed has a form that names no event take back the last of its page's,
// which it returns; nil: nothing of the last weeks.
func (s *server) lastUnlessNamed(r *http.Request, mine func(*event.VisitEvent) bool) *undoView {
	last := s.offered(mine)
	if last != nil && r.PostForm.Get("event") == "" {
		r.PostForm.Set("event", last.Event)
	}
	return last
}

// takenBack writes that an event of a page is taken back.
func (s *server) takenBack(r *http.Request, mine func(*event.VisitEvent) bool) error {
	id := r.PostForm.Get("event")
	for _, bay := range s.bays {
		for _, ev := range s.writer.Live(bay) {
			if ev.Id != id || !mine(ev) {
				continue
			}
			return s.voidAll(r, bay, togetherWith(ev, s.writer.Live(bay)))
		}
	}
	if s.writer.wasTaken(keyOf("undo", r.PostForm)) {
		return nil // the tap came twice
	}
	return refuse("event", "", "was taken back meanwhile, or is of longer ago than this page takes back", "look at the page again")
}

// togetherWith are the events that were entered in one go with one: a long price list
// is several, and half of it taken back is no list that anybody sent.
func togetherWith(ev *event.VisitEvent, all []*event.VisitEvent) []*event.VisitEvent {
	at := strings.LastIndexByte(ev.Id, '-')
	if ev.GetPartsListed() == nil || !strings.HasPrefix(ev.Id, "list-") || at < len("list-") {
		return []*event.VisitEvent{ev}
	}
	return slices.DeleteFunc(slices.Clone(all), func(o *event.VisitEvent) bool {
		return o.GetPartsListed() == nil || !strings.HasPrefix(o.Id, ev.Id[:at+1])
	})
}

// voidAll takes events back, under the key of the form.
func (s *server) voidAll(r *http.Request, bay string, all []*event.VisitEvent) error {
	key := keyOf("undo", r.PostForm)
	for n, ev := range all {
		id := key
		if n > 0 && id != "" {
			id = fmt.Sprintf("%s-%d", key, n)
		}
		if _, err := s.write(r, bay, &event.VisitEvent{Id: id, Who: r.PostForm.Get("who"), Session: ev.Session, Visit: ev.Visit,
			Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: ev.Id}}}, anyhow); err != nil {
			return err
		}
	}
	return nil
}
