package console

import (
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"

	"fairlead/dashboards/console/people"
	"fairlead/ingest/contract/event"
)

// longestWait is how long what was entered may have waited on a tablet without
// contact and still be taken by itself.
const longestWait = 12 * time.Hour

// since reads when an event that waited on a tablet was entered: the tablet says
// how long ago that was, by a clock of its own that need not be right. Nil: it did
// not wait. An event that came before after all keeps its time of then, so the
// time is given to it by the writer, who knows that, and not before. What is told
// so is late by as long as it was under way, so that of two taps the later one can
// come out as the earlier: it is never before what the same page sent before it.
func (s *server) since(ev *event.VisitEvent, in url.Values) (date func(*event.VisitEvent), fault *event.Fault) {
	text := strings.TrimSpace(in.Get("ago_ms"))
	if text == "" || s.writer.wasTaken(ev.Id) {
		return nil, nil
	}
	ago, err := strconv.ParseInt(text, 10, 64)
	wait := time.Duration(ago) * time.Millisecond
	if err != nil || ago < 0 || wait > longestWait {
		return nil, event.NewFault("", text, "waited too long on the tablet to be taken by itself",
			"look at what is so now, and enter it again if it still holds")
	}
	at := max(s.now().Add(-wait).UnixNano(), s.hands.last(in.Get("page"))+1)
	return func(ev *event.VisitEvent) { ev.EffectiveUnixNs, ev.LastSeen = at, nil }, nil // the screen stood still: it saw nothing
}

// hands knows when the last tap of each page that is open in the studio was, by the
// name that the page gave itself. May be used concurrently.
type hands struct {
	mu    sync.Mutex
	taps  map[string]int64 // Unix ns
	order []string         // of the pages, the one that was first heard of first
}

// mostHands is how many pages are known; a page that is forgotten may only have two
// taps of one second told in the wrong order.
const mostHands = 1024

func (h *hands) last(page string) int64 {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.taps[page]
}

func (h *hands) tapped(page string, at int64) {
	if page == "" || len(page) > 64 {
		return
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.taps == nil {
		h.taps = map[string]int64{}
	}
	if _, known := h.taps[page]; !known {
		if h.order = append(h.order, page); len(h.order) > mostHands {
			delete(h.taps, h.order[0])
			h.order = h.order[1:]
		}
	}
	h.taps[page] = max(h.taps[page], at)
}

// addedPerson adds the name that was typed where a person is asked for, once
// the fitter has said that it is a new one.
func (s *server) addedPerson(ev *event.VisitEvent, in url.Values) *event.Fault {
	field := in.Get("add")
	role := map[string]people.Role{"player": people.Player, "fitter": people.Fitter}[field]
	name := strings.Join(strings.Fields(in.Get(field)), " ")
	if role == "" || name == "" || s.writer.wasTaken(ev.Id) {
		return nil
	}
	if _, fault := s.resolve(field, role, name); fault == nil {
		return nil // known after all
	}
	p := people.Person{Role: role, Name: name}
	if hand := in.Get("hand"); role == people.Player && (hand == "right" || hand == "left") {
		p.Hand = hand
	}
	if _, err := s.people.Put(p); err != nil {
		return event.NewFault(field, name, "can't be added", err.Error())
	}
	return nil
}
