package console

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
)

// wallView is a bay as it is read from three metres: the last shot, the trial
// that runs, and one sentence. No names: whoever stands in the bay sees it.
type wallView struct {
	Bay, State, Trial string
	Lead, Lean        wallFigure // the two figures of the last shot
	Rest              []cell
	Number            int // of the last shot in its trial; 0: none yet
	Out               string
	Sentence          string
	Trouble           string
}

type wallFigure struct{ Label, Value string }

func (s *server) wallView(bay string) wallView {
	state, fresh := s.stateOf(bay)
	span := s.writer.Timeline(bay).Now()
	v := wallView{Bay: bay, State: "free"}
	switch {
	case !fresh:
		v.Trouble = "The hub does not answer: this may be old."
	case len(s.alarmsOf(bay)) > 0:
		v.Trouble = "This bay needs a look: see its page."
	}
	if span.Session == nil {
		return v
	}
	v.State = "hitting"
	if span.Paused {
		v.State = "paused"
	}
	if span.Trial != nil {
		v.Trial = fmt.Sprintf("Trial %d: %s", span.Trial.Number, nonEmpty(span.Trial.Build.GetName(), "unnamed build"))
	}
	if state.Session == nil || state.Session.ID != span.Session.ID {
		return v
	}
	if n := len(state.Comparisons); n > 0 {
		v.Sentence = state.Comparisons[n-1].Name + ": " + headline(&state.Comparisons[n-1], span.Session.Category == "putter")
	}
	if n := len(state.Shots); n > 0 {
		last := s.shotView(state, &state.Shots[n-1], nil, "")
		v.Number = last.Number
		for i, c := range last.Cells {
			switch i {
			case 0:
				v.Lead = wallFigure{c.Label, c.Value}
			case 1:
				v.Lean = wallFigure{c.Label, c.Value}
			default:
				v.Rest = append(v.Rest, c)
			}
		}
		if last.Out {
			v.Out = last.Notes
		}
	}
	return v
}

func (s *server) wallPage(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	if err := s.writer.Known(bay); err != nil {
		s.fail(w, http.StatusNotFound, err)
		return
	}
	s.show(w, http.StatusOK, "wall.html", map[string]any{"Title": bay, "V": s.wallView(bay)})
}

// wallLive sends the wall's picture when it changed.
func (s *server) wallLive(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	if err := s.writer.Known(bay); err != nil {
		http.Error(w, err.Error(), http.StatusNotFound)
		return
	}
	p := push(w)
	var sent string
	s.follow(r, bay, 0, p.still, func(bool) error {
		var b bytes.Buffer
		if err := s.pages.ExecuteTemplate(&b, "part-wall", s.wallView(bay)); err != nil {
			return err
		}
		if b.String() == sent {
			return p.still()
		}
		sent = b.String()
		return p.sendJSON("parts", map[string]template.HTML{"wall": template.HTML(sent)})
	})
}
