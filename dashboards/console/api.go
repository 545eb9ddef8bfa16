package console

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"

	"google.golang.org/protobuf/encoding/protojson"

	"fairlead/dashboards/console/people"
	"fairlead/ingest/contract/event"
)

// mostBody bounds what a request may carry: an event names at most 2000 shots.
const mostBody = 512 << 10

// fault is one reason of a refusal, as the API gives it.
type fault struct {
	Field  string `json:"field"`
	Value  string `json:"value"`
	Reason string `json:"reason"`
	Hint   string `json:"hint"`
}

// problem is the body of an answer that is no success.
type problem struct {
	Error  string   `json:"error"`
	Faults []fault  `json:"faults,omitempty"`
	Bays   []string `json:"bays,omitempty"`
}

func writeJSON(w http.ResponseWriter, code int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(code)
	json.NewEncoder(w).Encode(v)
}

// answer turns an error of the writer into a status and a body.
func (s *server) problemOf(err error) (int, problem) {
	p := problem{Error: err.Error()}
	var refused *Refused
	var stale *Stale
	var unknown *UnknownBay
	switch {
	case errors.As(err, &stale):
		for _, f := range stale.Faults {
			p.Faults = append(p.Faults, fault{f.Field, f.Value, f.Reason, f.Hint})
		}
		s.metrics.refused.WithLabelValues("stale").Inc()
		return http.StatusConflict, p
	case errors.As(err, &refused):
		for _, f := range refused.Faults {
			p.Faults = append(p.Faults, fault{f.Field, f.Value, f.Reason, f.Hint})
		}
		s.metrics.refused.WithLabelValues("faults").Inc()
		return http.StatusUnprocessableEntity, p
	case errors.As(err, &unknown):
		p.Bays = unknown.Bays
		s.metrics.refused.WithLabelValues("unknown_bay").Inc()
		return http.StatusNotFound, p
	case Full(err):
		s.metrics.refused.WithLabelValues("full").Inc()
		return http.StatusServiceUnavailable, p
	}
	if errors.Is(err, context.Canceled) { // the tablet let go, and sends it again under its key
		s.metrics.refused.WithLabelValues("broken_off").Inc()
		s.log.Warn("a visit event was broken off by who sent it", "error", err)
		return http.StatusServiceUnavailable, p
	}
	s.metrics.refused.WithLabelValues("failed").Inc()
	s.log.Error("a visit event could not be written", "error", err)
	return http.StatusServiceUnavailable, p
}

// write times and counts what the writer does. People are put in by their
// pseudonyms first.
func (s *server) write(r *http.Request, bay string, ev *event.VisitEvent, still stillSo) (Answer, error) {
	begun := s.now()
	signed(r, ev)
	if faults := s.meetPeople(ev); len(faults) > 0 {
		return Answer{}, &Refused{faults}
	}
	answer, err := s.writer.WriteIf(r.Context(), bay, ev, still)
	if err == nil {
		s.pains.forget(ev)
		s.metrics.written.WithLabelValues(event.KindOf(ev)).Inc()
		s.metrics.writeSeconds.Observe(s.now().Sub(begun).Seconds())
	}
	return answer, err
}

func (s *server) apiWrite(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	if err := s.writer.Known(bay); err != nil {
		code, p := s.problemOf(err)
		writeJSON(w, code, p)
		return
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostBody))
	if err != nil {
		writeJSON(w, http.StatusRequestEntityTooLarge, problem{Error: fmt.Sprintf("the event is longer than %d bytes: write several", mostBody)})
		return
	}
	ev := &event.VisitEvent{}
	if err := protojson.Unmarshal(body, ev); err != nil {
		err = refuse("", string(body), "is no visit event: "+err.Error(), "send the JSON form of a VisitEvent, as `fairlead schema` describes it")
		code, p := s.problemOf(err)
		writeJSON(w, code, p)
		return
	}
	var answer Answer
	if err = s.mayWrite(ev); err == nil {
		answer, err = s.write(r, bay, ev, anyhow)
	}
	if err != nil {
		code, p := s.problemOf(err)
		writeJSON(w, code, p)
		return
	}
	writeJSON(w, http.StatusOK, answer)
}

// bayInfo is one bay in the list of bays.
type bayInfo struct {
	Bay     string   `json:"bay"`
	Session string   `json:"session,omitempty"` // the open one
	Player  string   `json:"player,omitempty"`  // pseudonym
	Trial   string   `json:"trial,omitempty"`   // the one that runs
	Shots   int      `json:"shots"`             // of the session that count
	Fresh   bool     `json:"fresh"`             // the hub gave or confirmed the state lately
	Alarms  []string `json:"alarms"`
}

func (s *server) apiBays(w http.ResponseWriter, _ *http.Request) {
	out := []bayInfo{}
	for _, bay := range s.bays {
		state, fresh := s.stateOf(bay)
		b := bayInfo{Bay: bay, Fresh: fresh, Trial: state.Now.Trial, Alarms: s.alarmsOf(bay)}
		if state.Session != nil {
			b.Shots = state.Session.N
			if state.Session.Open {
				b.Session, b.Player = state.Session.ID, state.Session.Player
			}
		}
		out = append(out, b)
	}
	writeJSON(w, http.StatusOK, map[string]any{"studio": s.studio, "bays": out})
}

// alarmsOf are the things someone should look at in a bay.
func (s *server) alarmsOf(bay string) []string {
	out := []string{}
	deaf := s.deaf()
	for _, a := range s.health.Alarms() {
		if a.Bay == bay && !(deaf && a.What == "silent") {
			out = append(out, a.Text)
		}
	}
	return append(out, s.checkAlarm(bay)...)
}

func (s *server) apiState(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	if err := s.writer.Known(bay); err != nil {
		code, p := s.problemOf(err)
		writeJSON(w, code, p)
		return
	}
	if l := s.live.get(bay); l.data != nil {
		w.Header().Set("Content-Type", "application/json")
		w.Write(l.data)
		return
	}
	state, _ := s.stateOf(bay)
	writeJSON(w, http.StatusOK, state)
}

// apiLog lists the bay's events, one JSON line each, in order. live=1 leaves
// out voids and what they took back.
func (s *server) apiLog(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	if err := s.writer.Known(bay); err != nil {
		code, p := s.problemOf(err)
		writeJSON(w, code, p)
		return
	}
	events := s.writer.Events(bay)
	if r.FormValue("live") != "" {
		events = s.writer.Live(bay)
	}
	w.Header().Set("Content-Type", "application/x-ndjson")
	for _, ev := range events {
		if line, err := (protojson.MarshalOptions{UseProtoNames: true}).Marshal(ev); err == nil {
			w.Write(append(line, '\n'))
		}
	}
}

func (s *server) apiPeople(w http.ResponseWriter, _ *http.Request) {
	writeJSON(w, http.StatusOK, s.people.List(""))
}

func (s *server) apiPutPerson(w http.ResponseWriter, r *http.Request) {
	var p people.Person
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, mostBody))
	d.DisallowUnknownFields()
	if err := d.Decode(&p); err != nil {
		writeJSON(w, http.StatusUnprocessableEntity,
			problem{Error: "no person: " + err.Error() + ": send role, name, and optionally id, hand, note"})
		return
	}
	p, err := s.people.Put(p)
	if err != nil {
		writeJSON(w, http.StatusUnprocessableEntity, problem{Error: err.Error()})
		return
	}
	writeJSON(w, http.StatusOK, p)
}
