package console

import (
	"net/http"

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

// takenBack writes that an event of a page is taken back.
func (s *server) takenBack(r *http.Request, mine func(*event.VisitEvent) bool) error {
	id := r.PostForm.Get("event")
	for _, bay := range s.bays {
		for _, ev := range s.writer.Live(bay) {
			if ev.Id != id || !mine(ev) {
				continue
			}
			_, err := s.write(r, bay, &event.VisitEvent{Id: keyOf("undo", r.PostForm), Who: r.PostForm.Get("who"), Session: ev.Session,
				Visit: ev.Visit, Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: id}}}, anyhow)
			return err
		}
	}
	if s.writer.wasTaken(keyOf("undo", r.PostForm)) {
		return nil // the tap came twice
	}
	return refuse("event", "", "was taken back meanwhile, or is of longer ago than this page takes back", "look at the page again")
}
