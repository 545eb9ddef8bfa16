package console

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"time"

	"fairlead/dashboards/draw"
	"fairlead/processors/hub/process"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
)

// overviewView is what the studio's board shows.
type overviewView struct {
	Studio string
	Wide   int // bays beside each other on a wide screen
	Bays   []overviewBay
	Alarms []string // of the console and the hub
}

// overviewBay is one bay of it: who is there, what is hit, how the last shot
// came out, what is wrong and how long nothing has happened.
type overviewBay struct {
	Bay, Player, Category, Trial, State string
	Mark                                template.HTML
	Open                                bool
	Shots                               int
	Last                                []cell // of the last shot
	Number                              int    // of the last shot; 0: none yet
	Out                                 string // why it does not count; empty: it does
	Picture                             template.HTML
	Since                               string
	Alarms                              []string
	Lead                                string
}

func (s *server) overviewView() overviewView {
	v := overviewView{Studio: s.studio, Wide: 1}
	for v.Wide*v.Wide < len(s.bays) && v.Wide < 5 {
		v.Wide++
	}
	silent := 0
	for _, bay := range s.bays {
		state, fresh := s.stateOf(bay)
		if !fresh {
			silent++
		}
		v.Bays = append(v.Bays, s.overviewBay(bay, state))
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

func (s *server) overviewBay(bay string, state *rolling.State) overviewBay {
	tl := s.writer.Timeline(bay)
	span := tl.Now()
	b := overviewBay{Bay: bay, Alarms: s.alarmsOf(bay)}
	b.State = wordOf(span, b.Alarms)
	if span.Session == nil {
		if n := len(tl.Sessions); n > 0 && tl.Sessions[n-1].To != visit.Never {
			b.Since = "free " + s.lasted(tl.Sessions[n-1].To)
		}
		return b
	}
	b.Open, b.Category, b.Player = true, span.Session.Category, s.people.Name(span.Session.Player)
	if span.Trial != nil {
		b.Trial, b.Mark = fmt.Sprintf("Trial %d, %s", span.Trial.Number, nonEmpty(span.Trial.Build.GetName(), "unnamed build")),
			draw.Mark(span.Trial.Number)
	}
	b.Since = "no shot yet, open " + s.lasted(span.Session.From)
	if state.Session == nil || state.Session.ID != span.Session.ID {
		return b
	}
	b.Shots = state.Session.N
	if n := len(state.Comparisons); n > 0 {
		b.Lead = state.Comparisons[n-1].Name + ": " + headline(&state.Comparisons[n-1], span.Session.Category == "putter")
	}
	if n := len(state.Shots); n > 0 {
		last := s.shotView(state, &state.Shots[n-1], nil, "")
		b.Number, b.Last, b.Since = last.Number, last.Cells[:min(len(last.Cells), 3)], "last shot "+s.lasted(last.At)+" ago"
		if last.Out {
			b.Out = last.Notes
		}
	}
	for _, of := range []*draw.Session{draw.Full(state, s.units.Units), draw.Partial(state, s.units.Units)} {
		if p := of.Small(); p != nil {
			b.Picture = p.Inline()
			break
		}
	}
	return b
}

// wordOf is how a bay is getting on.
func wordOf(now *visit.Span, alarms []string) string {
	switch {
	case len(alarms) > 0:
		return "in trouble"
	case now.Session == nil:
		return "free"
	case now.Paused:
		return "paused"
	case now.Trial == nil:
		return "no trial runs"
	}
	return "hitting"
}

// lasted is how long ago a moment was, for people.
func (s *server) lasted(ns int64) string {
	switch d := s.now().Sub(time.Unix(0, ns)); {
	case d < 5*time.Second:
		return "a moment"
	case d < time.Minute:
		return fmt.Sprintf("%d s", int(d.Seconds())/5*5) // a board that counts seconds draws the eye for nothing
	default:
		return spanOf(d)
	}
}

// spanOf is a time of a minute or more, for people.
func spanOf(d time.Duration) string {
	switch {
	case d < time.Hour:
		return fmt.Sprintf("%d min", int(d.Minutes()))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h", int(d.Hours()))
	}
	return fmt.Sprintf("%d days", int(d.Hours()/24))
}

// overview shows all bays.
func (s *server) overview(w http.ResponseWriter, _ *http.Request) {
	s.show(w, http.StatusOK, "overview.html", map[string]any{"Title": "Bays", "V": s.overviewView()})
}

// overviewLive sends what of the board changed, bay by bay.
func (s *server) overviewLive(w http.ResponseWriter, r *http.Request) {
	s.piecesLive(w, r, func() (map[string]string, error) {
		v := s.overviewView()
		pieces := map[string]string{}
		piece := func(id, template string, of any) error {
			var b bytes.Buffer
			err := s.pages.ExecuteTemplate(&b, template, of)
			pieces[id] = b.String()
			return err
		}
		if err := piece("alarms", "board-alarms", v); err != nil {
			return nil, err
		}
		for _, b := range v.Bays {
			if err := piece("bay-"+b.Bay, "board-bay", b); err != nil {
				return nil, err
			}
			if err := piece("since-"+b.Bay, "board-since", b); err != nil {
				return nil, err
			}
		}
		return pieces, nil
	})
}
