package console

import (
	"bytes"
	"fmt"
	"hash/fnv"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairlead/dashboards/page"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
)

// partNames are the pieces of the bay page that are sent anew when they change.
var partNames = []string{"nav", "alarms", "now", "suspicion", "compare", "trials", "plot", "delivery", "figures", "shots", "taps",
	"trialform", "sessionform", "bar", "feel", "told", "kind", "setting", "amend", "verdict", "check", "more", "history"}

// laterParts are sent when things have settled: they are the bulk, and change
// with each device's view of a shot and each statement that is weighed anew.
var laterParts = map[string]bool{"compare": true, "trials": true, "delivery": true, "figures": true, "history": true}

// parts renders the pieces of a bay's page. all shows every shot, not only the
// latest; key is for the forms of a page that is loaded whole.
func (s *server) parts(bay string, all bool, key string) (map[string]template.HTML, *bayView, error) {
	begun, nth := s.now(), s.looks.Add(1)
	v := s.bayView(bay, all)
	v.Nth = nth
	v.Hand.Guard.Key = key
	out := make(map[string]template.HTML, len(partNames))
	for _, name := range partNames {
		var b bytes.Buffer
		if err := s.pages.ExecuteTemplate(&b, "part-"+name, v); err != nil {
			return nil, nil, fmt.Errorf("part %s: %w", name, err)
		}
		out[name] = template.HTML(b.String())
	}
	s.metrics.rendered.Observe(s.now().Sub(begun).Seconds())
	return out, v, nil
}

// bayPage shows a bay.
func (s *server) bayPage(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	if err := s.writer.Known(bay); err != nil {
		s.fail(w, http.StatusNotFound, err)
		return
	}
	s.showBay(w, http.StatusOK, bay, r.FormValue("all") != "", "")
}

func (s *server) showBay(w http.ResponseWriter, code int, bay string, all bool, notice template.HTML) {
	parts, v, err := s.parts(bay, all, event.NewID(s.now()))
	if err != nil {
		s.fail(w, http.StatusInternalServerError, err)
		return
	}
	s.show(w, code, "bay.html", map[string]any{"V": v, "Parts": parts, "Notice": notice, "Title": "Bay " + bay, "All": all,
		"Have": have(parts)})
}

// show writes a whole page.
func (s *server) show(w http.ResponseWriter, code int, name string, data any) {
	page.Show(w, s.log, s.pages, code, name, data)
}

func (s *server) fail(w http.ResponseWriter, code int, err error) {
	s.show(w, code, "fail.html", map[string]any{"Title": http.StatusText(code), "Error": err.Error(), "Bays": s.bays, "Studio": s.studio})
}

// bayLive sends the pieces of the page that changed, as they change.
func (s *server) bayLive(w http.ResponseWriter, r *http.Request) {
	bay, all := r.PathValue("bay"), r.FormValue("all") != ""
	if err := s.writer.Known(bay); err != nil {
		http.Error(w, err.Error(), http.StatusNotFound)
		return
	}
	p := push(w)
	sent := map[string]string{} // hashes of the pieces that the page has
	if have := r.FormValue("have"); r.Header.Get("Last-Event-ID") == "" && len(have) == hashLength*len(partNames) {
		for i, name := range partNames {
			sent[name] = have[i*hashLength : (i+1)*hashLength]
		}
	}
	s.follow(r, bay, settle, p.still, func(rest bool) error {
		parts, v, err := s.parts(bay, all, "")
		if err != nil {
			s.log.Error("a live page can't be rendered", "bay", bay, "error", err)
			return err
		}
		changed := map[string]template.HTML{}
		for name, html := range parts {
			if h := hashOf(html); sent[name] != h && (rest || !laterParts[name]) {
				changed[name], sent[name] = html, h
			}
		}
		if len(changed) == 0 {
			return p.still()
		}
		changed["nth"] = template.HTML(strconv.FormatUint(v.Nth, 10))
		err = p.sendJSON("parts", changed)
		if v.Fresh {
			s.metrics.stateAge.Observe(time.Duration(s.now().UnixNano() - v.State.At).Seconds())
		}
		return err
	})
}

// hashLength is how long a piece's hash is written.
const hashLength = 8

// hashOf names a piece's content, so that a page can say what it has.
func hashOf(html template.HTML) string {
	h := fnv.New32a()
	h.Write([]byte(html))
	return fmt.Sprintf("%08x", h.Sum32())
}

// have is what a page that was sent whole has of each piece.
func have(parts map[string]template.HTML) string {
	var b strings.Builder
	for _, name := range partNames {
		b.WriteString(hashOf(parts[name]))
	}
	return b.String()
}

// act writes the event of a posted form.
func (s *server) act(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	if err := s.writer.Known(bay); err != nil {
		s.fail(w, http.StatusNotFound, err)
		return
	}
	r.Body = http.MaxBytesReader(w, r.Body, mostBody)
	if err := r.ParseForm(); err != nil {
		s.fail(w, http.StatusBadRequest, fmt.Errorf("the form can't be read: %w", err))
		return
	}
	act, at := r.PathValue("act"), s.writer.Place(bay)
	at.Prefer = func(info event.BuildFieldInfo) string { return s.units.spec(info.Quantity).Name }
	at.Shown = s.units.entered
	at.Shelf = s.shelf(r.Context())
	at.Next = func() []visit.Lot {
		state, _ := s.stateOf(bay)
		return state.Lots()
	}
	ev, faults := posted(act, r.PostForm, at)
	ev.Id, ev.Who = keyOf(act, r.PostForm), whoOf(r, at)
	date, fault := s.since(ev, r.PostForm)
	if fault != nil {
		faults = append(faults, fault)
	}
	if fault := s.addedPerson(ev, r.PostForm); fault != nil {
		faults = append(faults, fault)
	}
	if o := ev.GetSessionOpened(); o != nil {
		s.asBefore(o, r.PostForm)
	}
	if v := ev.GetVerdictGiven(); v != nil && v.Trial != "" {
		state, _ := s.stateOf(bay)
		Promise(state, v)
	}
	var err error
	var answer Answer
	if len(faults) > 0 {
		err = &Refused{faults}
	} else {
		answer, err = s.write(r, bay, ev, func(p *visit.Place, ev *event.VisitEvent) error {
			if date != nil {
				date(ev)
			}
			return s.guarded(p, ev, r.PostForm)
		})
	}
	code, data := http.StatusOK, map[string]any{"Bay": bay, "Guard": guardOf(s.writer.Timeline(bay).Now())}
	if err != nil {
		var p problem
		code, p = s.problemOf(err)
		data["Error"], data["Faults"] = p.Error, p.Faults
	} else {
		s.hands.tapped(r.PostForm.Get("page"), answer.Effective)
		after := s.writer.Timeline(bay)
		written := slices.IndexFunc(s.writer.Events(bay), func(e *event.VisitEvent) bool { return e.Id == answer.ID })
		if written >= 0 {
			data["Done"] = s.describe(after, s.writer.Events(bay)[written])
		}
		if ev.GetVoided() == nil {
			data["Undo"] = answer.ID
		}
	}
	var b bytes.Buffer
	if e := s.pages.ExecuteTemplate(&b, "notice", data); e != nil {
		s.log.Error("a notice can't be shown", "error", e)
	}
	if r.Header.Get("HX-Request") != "" {
		if err == nil {
			s.barAfter(&b, bay)
		}
		now := guardOf(s.writer.Timeline(bay).Now()) // for what waits on a tablet to be sent after this
		w.Header().Set("Fairlead-Session", now.Session)
		w.Header().Set("Fairlead-Trial", now.Trial)
		if err == nil && ev.GetVoided() == nil {
			w.Header().Set("Fairlead-Event", answer.ID)
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.WriteHeader(code)
		w.Write(b.Bytes())
		return
	}
	if err == nil {
		http.Redirect(w, r, "/bays/"+bay, http.StatusSeeOther)
		return
	}
	s.showBay(w, code, bay, false, template.HTML(b.String()))
}

// barAfter sends the bar of a bay with the answer to what was entered: what Undo
// takes back must be what was entered last, before the page is told of the rest. It
// carries how new it is, for the live page may have overtaken it.
func (s *server) barAfter(b *bytes.Buffer, bay string) {
	nth := s.looks.Add(1)
	state, _ := s.stateOf(bay)
	fmt.Fprintf(b, `<div id="part-bar" hx-swap-oob="innerHTML" data-nth="%d">`, nth)
	if err := s.pages.ExecuteTemplate(b, "part-bar", &bayView{Bay: bay, State: state, Hand: s.handView(bay, state)}); err != nil {
		s.log.Error("the bar can't be shown", "bay", bay, "error", err)
	}
	b.WriteString("</div>")
}

// Promise freezes in a verdict what is to be expected of the chosen trial's build
// by a bay's state, with the prior that it was weighed with, and names the
// incumbent where no baseline was given.
func Promise(state *rolling.State, v *event.VerdictGiven) {
	chosen := slices.IndexFunc(state.Trials, func(t rolling.Trial) bool { return t.ID == v.Trial })
	base := slices.IndexFunc(state.Trials, func(t rolling.Trial) bool { return t.Key == state.Incumbent })
	if chosen < 0 {
		return
	}
	row := state.Trials[chosen].Key
	ball := v.Kind == event.VerdictKind_VERDICT_BALL
	of := func(c rolling.Comparison) bool { return c.Ball != "" && slices.Contains(c.Rows, row) }
	if at := slices.IndexFunc(state.Comparisons, of); ball && at >= 0 {
		base = slices.IndexFunc(state.Trials, func(t rolling.Trial) bool { return t.Key == state.Comparisons[at].RowWas })
	}
	if v.Baseline == "" && base >= 0 && state.Trials[base].ID != v.Trial {
		v.Baseline = state.Trials[base].ID
	}
	for _, c := range state.Comparisons {
		if c.Club != state.Trials[chosen].Club || ball != (c.Ball != "") || ball && !slices.Contains(c.Rows, row) {
			continue
		}
		if len(v.Promises) > 0 {
			break // of swings of several lengths, what was hit last is promised
		}
		for _, o := range c.Outcomes {
			if !o.NotYet {
				v.Promises = append(v.Promises, &event.Promise{Outcome: o.Name, Change: o.Change, Low: o.Low, High: o.High,
					ProbabilityBetter: o.ProbBetter,
					Prior: &event.Prior{Outcome: o.Name, Mean: o.Prior.Mean, Sd: o.Prior.SD, Doubt: o.Prior.Doubt, Answer: o.Prior.Answer,
						Players: o.Prior.Players, AnsweredUnixNs: o.Prior.Answered, MarkUnixNs: o.Prior.Mark, Large: o.Prior.Large,
						LargeSd: o.Prior.LargeSD, Office: o.Prior.Office, Studios: o.Prior.Studios},
					PriorHeld: o.Prior.Held})
			}
		}
	}
}

// verdictWord is the verdict for people. Where what counts as better is only a
// convention, the direction is said instead.
func verdictWord(w rolling.Weighed) string {
	switch evidence.Verdict(w.Verdict) {
	case evidence.Better, evidence.Worse, evidence.Moved:
		if glossary.Name(w.Name).Sided() {
			return evidence.SideWords(evidence.Verdict(w.Verdict), w.Change)
		}
		if glossary.Name(w.Name).Tightness() {
			if w.Verdict == string(evidence.Better) {
				return "tighter"
			}
			return "wider"
		}
		if w.Assumed {
			if w.Change > 0 {
				return "higher"
			}
			return "lower"
		}
	case evidence.CannotTell:
		if w.NotYet && w.More > 0 {
			return fmt.Sprintf("not yet, %d more", w.More)
		}
	}
	return w.Verdict
}
