package console

import (
	"fmt"

	"fairlead/processors/hub/process"
)

// overviewView is what the list of bays shows.
type overviewView struct {
	Studio string
	Bays   []overviewBay
	Alarms []string // of the console and the hub
}

type overviewBay struct {
	Bay, Player, Category, Trial, State string
	Open                                bool
	Shots                               int
	Alarms                              []string
	Lead                                string
}

func (s *server) overviewView() overviewView {
	v := overviewView{Studio: s.studio}
	silent := 0
	for _, bay := range s.bays {
		state, fresh := s.stateOf(bay)
		if !fresh {
			silent++
		}
		span := s.writer.Timeline(bay).Now()
		b := overviewBay{Bay: bay, State: "free", Alarms: s.alarmsOf(bay)}
		if len(b.Alarms) > 0 {
			b.State = "in trouble"
		}
		if span.Session != nil {
			b.Open, b.State, b.Category, b.Player = true, "hitting", span.Session.Category, s.people.Name(span.Session.Player)
			switch {
			case span.Paused:
				b.State = "paused"
			case span.Trial == nil:
				b.State = "no trial runs"
			default:
				b.Trial = fmt.Sprintf("Trial %d, %s", span.Trial.Number, nonEmpty(span.Trial.Build.GetName(), "unnamed build"))
			}
			if state.Session != nil && state.Session.ID == span.Session.ID {
				b.Shots = state.Session.N
				if n := len(state.Comparisons); n > 0 {
					b.Lead = state.Comparisons[n-1].Name + ": " + headline(&state.Comparisons[n-1], span.Session.Category == "putter")
				}
			}
		}
		v.Bays = append(v.Bays, b)
	}
	causes := s.causes()
	for _, k := range causes {
		v.Alarms = append(v.Alarms, "The "+k.Where+" "+k.Text+".")
	}
	if silent == len(s.bays) && silent > 0 && len(causes) == 0 {
		v.Alarms = append(v.Alarms, "The hub does not answer: figures may be old. What you enter is kept here and arrives when it is back.")
	}
	for _, a := range s.health.Alarms() {
		if a.Bay == process.ConsoleBay && a.What != "silent" {
			v.Alarms = append(v.Alarms, "Console: "+a.Text)
		}
	}
	return v
}
