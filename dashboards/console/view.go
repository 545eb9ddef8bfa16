package console

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"fairlead/dashboards/draw"
	"fairlead/processors/hub/health"
	"fairlead/processors/hub/process"
	"fairlead/processors/visit/rolling"
)

// bayView is all that the page of a bay shows.
type bayView struct {
	Studio, Bay string
	Nth         uint64 // of all looks at bays: what is shown is at least as new as what a lower number shows
	Nav         []navItem
	State       *rolling.State
	Fresh       bool
	Behind      bool // the hub has not taken in all of the console's events yet
	Alarms      []string
	U           units
	Player      string
	Fitter      string
	Trials      []trialView
	// Of those, what stands open on the page: all that run or were hit last.
	Older, Latest []trialView
	Compare       []compareView
	Shots         []shotView // latest first
	More          int        // older shots that are not shown
	SeenBy        string     // the devices that saw most shots, where two saw any; empty: each was seen by one
	Loose         []shotView
	Pictures      pictures
	Delivery      delivery
	Hand          handView
	Safety        string
	TryNext       []tryNext
	Confounded    bool // no comparison tells the club from the swing
	Putts         bool
	Next          []nextBlock // what to hit next
}

// safety stands on every bay page.
const safety = "Before anyone swings: nobody within reach of the club, nobody between player and screen, no loose head or shaft. Stop at " +
	"pain."

type navItem struct {
	Bay    string
	Here   bool
	State  string // for people
	Alarms int
}

func (s *server) bayView(bay string, all bool) *bayView {
	state, fresh := s.stateOf(bay)
	tl := s.writer.Timeline(bay)
	v := &bayView{Studio: s.studio, Bay: bay, State: state, Fresh: fresh, U: s.units, Alarms: s.alarmsOf(bay), Safety: safety,
		Behind: fresh && state.Events < tl.Events}
	if !fresh {
		v.Alarms = append(v.Alarms, "The hub does not answer: shots and figures below may be old. Shots are kept in the bay, what you enter is "+
			"kept here; both arrive when it is back.")
	}
	for _, a := range s.health.Alarms() {
		if a.Bay == process.ConsoleBay && a.What != "silent" {
			v.Alarms = append(v.Alarms, "Console: "+a.Text)
		}
	}
	for _, d := range state.Sensors {
		v.Alarms = append(v.Alarms, fmt.Sprintf("Device %s, %s, %s shots: %s (%+.1f, usually %+.1f) against the flight of its own launch. "+
			"Clean, level and calibrate it; look at the units and the air that are set.",
			d.Device, strings.ReplaceAll(d.Field, "_", " "), d.Category, d.Status, d.Average, d.Ordinary))
	}
	v.Alarms = append(v.Alarms, state.Alarms...)
	v.Nav = s.nav(bay)
	if state.Session != nil {
		v.Alarms = append(s.painOf(state.Session.Player), v.Alarms...)
		v.TryNext = s.counsel.of(state.Session.Player, state.Session.Category)
		v.Player, v.Fitter = s.people.Name(state.Session.Player), s.people.Name(state.Session.Fitter)
	}
	markers := map[string]template.HTML{}
	for i := range state.Trials {
		t := &state.Trials[i]
		markers[t.Key] = draw.Mark(t.Number)
		v.Trials = append(v.Trials, s.trialView(state, t))
	}
	v.Older, v.Latest = folded(v.Trials)
	for i := range state.Comparisons {
		v.Compare = append(v.Compare, s.compareView(state, &state.Comparisons[i]))
	}
	v.Confounded = len(v.Compare) > 0 && !slices.ContainsFunc(v.Compare, func(c compareView) bool { return !c.Confounded })
	// The club in hand first, then those hit last.
	running := 0
	for _, t := range state.Trials {
		if t.Running {
			running = t.Club
		}
	}
	slices.SortStableFunc(v.Compare, func(a, b compareView) int {
		if (a.Club == running) != (b.Club == running) {
			if a.Club == running {
				return -1
			}
			return 1
		}
		return b.Club - a.Club
	})
	v.Putts, v.Next = state.Session != nil && state.Session.Category == "putter", s.nextBlocks(state, v.Compare)
	v.SeenBy = seenBy(state.Shots)
	for i := len(state.Shots) - 1; i >= 0; i-- {
		if !all && len(v.Shots) == latestShots {
			v.More = i + 1 + state.Earlier
			break
		}
		v.Shots = append(v.Shots, s.shotView(state, &state.Shots[i], markers, v.SeenBy))
	}
	for i := len(state.Loose) - 1; i >= 0; i-- {
		if l := state.Loose[i]; l.Status != "repeat" && l.Status != "paired" && l.Status != "superseded" {
			v.Loose = append(v.Loose, s.shotView(state, &l, markers, ""))
		}
	}
	v.Pictures, v.Delivery = s.pictures(state), s.delivery(state)
	v.Hand = s.handView(bay, state)
	return v
}

func (s *server) nav(here string) []navItem {
	alarms := s.health.Alarms()
	var out []navItem
	for _, b := range s.bays {
		n := navItem{Bay: b, Here: b == here, State: "free"}
		span := s.writer.Timeline(b).Now()
		switch {
		case span.Session != nil && span.Paused:
			n.State = "paused"
		case span.Session != nil:
			n.State = span.Session.Category
		}
		n.Alarms = len(slices.DeleteFunc(slices.Clone(alarms), func(a health.Alarm) bool { return a.Bay != b }))
		out = append(out, n)
	}
	return out
}

// folded parts trials from those that a phone's page has no room for: the fifth
// last and before, unless one runs again.
func folded(all []trialView) (older, latest []trialView) {
	const open = 4
	for i, t := range all {
		if len(all) > open+1 && i < len(all)-open && !t.Running {
			older = append(older, t)
			continue
		}
		latest = append(latest, t)
	}
	return older, latest
}
