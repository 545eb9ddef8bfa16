package console

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"fairlead/dashboards/console/people"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/visit"
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
	Guard    Guard
	Settings []string // where and with what is hit now, in words
	Orders   []order  // verdicts whose club may be delivered, latest first
}

// order is a build that was decided on, of any bay.
type order struct{ ID, Text string }

type handTrial struct {
	ID, Label string
	Number    int
	Now       string // what is known of its build, for the choosers: JSON by part
}

type partView struct {
	Name, Label, Now, Unit string
	Checked                bool // measured on a delivered club
}

type historyItem struct{ ID, When, Text, Who string }

func (s *server) handView(bay string, state *rolling.State) handView {
	tl := s.writer.Timeline(bay)
	span := tl.Now()
	now := span.Setting()
	h := handView{Open: span.Session != nil, Paused: span.Paused, Players: s.people.List(people.Player), Fitters: s.people.List(people.Fitter),
		Bays: s.bays, Cats: glossary.CategoryNames(), Hitter: state.Now.Hitter, Class: state.Now.Class, Intent: state.Now.Intent,
		Guard: guardOf(span), Settings: s.units.setting(now)}
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
			h.Trials = append(h.Trials, handTrial{t.ID, fmt.Sprintf("%d · %s", t.Number, nonEmpty(t.Build.GetName(), "unnamed")), t.Number, s.knownParts(t.Build)})
		}
		if last := session.InHand(); last != nil && h.Open {
			h.Base, base = last.ID, last.Build
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
		switch p.Field {
		case event.BuildField_BUILD_LENGTH, event.BuildField_BUILD_LOFT, event.BuildField_BUILD_LIE, event.BuildField_BUILD_SWING_WEIGHT,
			event.BuildField_BUILD_TOTAL_WEIGHT, event.BuildField_BUILD_FREQUENCY, event.BuildField_BUILD_GRIP_SIZE, event.BuildField_BUILD_FACE_ANGLE:
			v.Checked = true
		}
		h.Parts = append(h.Parts, v)
	}
	h.Orders = s.orders()
	// What the console wrote down by itself is not the fitter's to take back.
	live := slices.DeleteFunc(s.writer.Live(bay), func(ev *event.VisitEvent) bool { k := visit.KindOf(ev); return k == nil || len(k.Acts) == 0 })
	slices.SortStableFunc(live, func(a, b *event.VisitEvent) int { return int(min(max(a.RecordedUnixNs-b.RecordedUnixNs, -1), 1)) })
	for i := len(live) - 1; i >= 0 && len(h.History) < 12; i-- {
		ev := live[i]
		item := historyItem{ev.Id, time.Unix(0, ev.RecordedUnixNs).Format("15:04:05"), s.describe(tl, ev), ""}
		if ev.Who != "" {
			item.Who = s.people.Name(ev.Who)
		}
		if len(h.History) == 0 {
			h.Undo, h.UndoText = item.ID, item.Text
		}
		h.History = append(h.History, item)
	}
	return h
}

// knownParts says of a build what is known of each part, as the choosers show it.
func (s *server) knownParts(b *event.Build) string {
	known := map[string]string{}
	for _, spec := range b.GetSpecs() {
		if info, ok := spec.Field.Info(); ok {
			known[info.Name] = s.units.value(info.Name, rolling.Value{Known: true, Number: spec.Number, Text: spec.Text})
		}
	}
	text, err := json.Marshal(known)
	if err != nil {
		return "{}"
	}
	return string(text)
}

// orders lists the builds that were decided on in any bay and not hit since.
func (s *server) orders() (out []order) {
	checked := map[string]bool{}
	for _, bay := range s.bays {
		for _, session := range s.writer.Timeline(bay).Sessions {
			for _, c := range session.Checks {
				checked[c.Made.GetVerdict()] = true
			}
		}
	}
	type at struct {
		order
		at int64
	}
	var all []at
	for _, bay := range s.bays {
		for _, session := range s.writer.Timeline(bay).Sessions {
			for _, v := range session.Verdicts {
				if v.Given.GetKind() == event.VerdictKind_VERDICT_BUILD && !checked[v.Event] && session.MovedTo == "" {
					text := fmt.Sprintf("%s, %s, %s", s.people.Name(session.Player), nonEmpty(v.Given.GetBuild().GetName(), session.Category), time.Unix(0, v.At).Format("2 Jan"))
					all = append(all, at{order{v.Event, text}, v.At})
				}
			}
		}
	}
	slices.SortStableFunc(all, func(a, b at) int { return cmp.Compare(b.at, a.at) })
	for _, a := range all[:min(len(all), 30)] {
		out = append(out, a.order)
	}
	return out
}

func putterOnly(part string) bool {
	return part == "toe_hang" || part == "putter_hosel" || part == "alignment" || part == "grip_form"
}
