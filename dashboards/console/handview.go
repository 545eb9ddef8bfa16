package console

import (
	"fmt"
	"slices"
	"time"

	"fairlead/dashboards/console/people"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/visit/rolling"
)

// handView is what the forms offer, from the console's own events.
type handView struct {
	Open     bool
	Paused   bool
	Running  string // trial id
	RunningN int
	Player   string // pseudonym
	Category string
	Trials   []handTrial // latest first
	Base     string      // trial that a new build starts from
	Parts    []partView  // of a build, with what is known of the last one
	Undo     string      // event that would be taken back
	UndoText string
	Players  []people.Person
	Fitters  []people.Person
	Bays     []string
	Cats     []string
	Hitter   string
	Class    string
	Intent   string
	History  []historyItem // latest first
	Seen     string
}

type handTrial struct {
	ID, Label string
	Number    int
}

type partView struct{ Name, Label, Now, Unit string }

type historyItem struct{ ID, When, Text string }

func (s *server) handView(bay string, state *rolling.State) handView {
	tl := s.writer.Timeline(bay)
	span := tl.Now()
	h := handView{Open: span.Session != nil, Paused: span.Paused, Players: s.people.List(people.Player), Fitters: s.people.List(people.Fitter),
		Bays: s.bays, Cats: glossary.CategoryNames(), Hitter: state.Now.Hitter, Class: state.Now.Class, Intent: state.Now.Intent}
	if state.LastSeen != nil {
		h.Seen = fmt.Sprintf("%s/%d", state.LastSeen.Journal, state.LastSeen.Seq)
	}
	var base *event.Build
	session := span.Session
	if session == nil && len(tl.Sessions) > 0 {
		session = tl.Sessions[len(tl.Sessions)-1]
	}
	if session != nil {
		h.Player, h.Category = session.Player, session.Category
		for i := len(session.Trials) - 1; i >= 0; i-- {
			t := session.Trials[i]
			h.Trials = append(h.Trials, handTrial{t.ID, fmt.Sprintf("%d · %s", t.Number, nonEmpty(t.Build.GetName(), "unnamed")), t.Number})
		}
		if n := len(session.Trials); n > 0 && h.Open {
			h.Base, base = session.Trials[n-1].ID, session.Trials[n-1].Build
		}
	}
	if span.Trial != nil {
		h.Running, h.RunningN = span.Trial.ID, span.Trial.Number
	}
	for _, p := range event.BuildFields() {
		if putterOnly(p.Name) != (h.Category == "putter") && putterOnly(p.Name) {
			continue
		}
		v := partView{Name: p.Name, Label: p.Label, Now: "unknown"}
		if spec := base.Spec(p.Field); spec != nil {
			v.Now = s.units.value(p.Name, rolling.Value{Known: true, Number: spec.Number, Text: spec.Text})
		}
		if !p.Text {
			v.Unit = s.units.spec(p.Quantity).Name
		}
		h.Parts = append(h.Parts, v)
	}
	// What the console wrote down by itself is not the fitter's to take back.
	live := slices.DeleteFunc(s.writer.Live(bay), func(ev *event.VisitEvent) bool { return ev.GetPriorTaken() != nil })
	slices.SortStableFunc(live, func(a, b *event.VisitEvent) int { return int(min(max(a.RecordedUnixNs-b.RecordedUnixNs, -1), 1)) })
	for i := len(live) - 1; i >= 0 && len(h.History) < 12; i-- {
		ev := live[i]
		item := historyItem{ev.Id, time.Unix(0, ev.RecordedUnixNs).Format("15:04:05"), s.describe(tl, ev)}
		if len(h.History) == 0 {
			h.Undo, h.UndoText = item.ID, item.Text
		}
		h.History = append(h.History, item)
	}
	return h
}

func putterOnly(part string) bool {
	return part == "toe_hang" || part == "putter_hosel" || part == "alignment" || part == "grip_form"
}
