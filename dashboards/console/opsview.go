package console

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/dustin/go-humanize"

	"fairlead/processors/hub/watch"
)

// Ops is what the console shows of the studio's watch.
type Ops struct {
	State func() (watch.State, error)             // what the watch found last
	Days  func() (watch.Days, error)              // how bays were on each day; nil: nobody keeps it
	Test  func(context.Context) ([]string, error) // sends a test message; who was told
	// Forward says in a line how far a head office has what the studio stored; empty:
	// there is none.
	Forward func(now time.Time) string
	Targets func() any // where processes show their metrics
}

// opsView is the page of what is wrong.
type opsView struct {
	Studio  string
	Forward string // how far the head office has what is stored here; empty: there is none
	Stopped string // why the watch's word is not of now; empty: it is
	Now     []opsAlarm
	Bays    []opsBay
	Others  []opsStudio
	Month   string // of which the bays' figures are
	Why     string // what of them is not known; empty: nothing
	Lately  []opsAlarm
}

type opsAlarm struct {
	Where, What, Text string
	Critical          bool
	Since, For        string
	Ended             string
}

// shownEnded is how many of the troubles that are over are listed.
const shownEnded = 40

func (s *server) opsView() opsView {
	v := opsView{Studio: s.studio}
	state, err := s.ops.State()
	now := time.Now()
	switch {
	case err != nil:
		v.Stopped = err.Error()
	case state.Looked.IsZero():
		v.Stopped = "The watch has not looked yet: `fairlead up` starts it."
	case !state.Fresh(now):
		v.Stopped = "The watch last looked " + humanize.RelTime(state.Looked, now, "ago", "from now") +
			": it does not run. What follows is of then."
	}
	if s.ops.Forward != nil {
		v.Forward = s.ops.Forward(now)
	}
	for _, k := range state.Lasting() {
		v.Now = append(v.Now, opsAlarmOf(k, now))
	}
	said := s.thisMonth(now)
	v.Month, v.Others, v.Why = now.Format("January"), said.others, said.why
	v.Bays = s.opsBays(state, said, now)
	for _, k := range slices.Backward(state.Alarms) {
		if !k.Ended.IsZero() && len(v.Lately) < shownEnded {
			v.Lately = append(v.Lately, opsAlarmOf(k, now))
		}
	}
	return v
}

func opsAlarmOf(k watch.Known, now time.Time) opsAlarm {
	until := now
	a := opsAlarm{Where: k.Where, What: k.What, Text: k.Text, Critical: k.Severity == watch.Critical, Since: clockOf(k.Since, now)}
	if !k.Ended.IsZero() {
		until, a.Ended = k.Ended, clockOf(k.Ended, now)
	}
	a.For = strings.TrimSpace(humanize.RelTime(k.Since, until, "", ""))
	return a
}

// clockOf is a clock time, with the day where it is another one.
func clockOf(t, now time.Time) string {
	t = t.Local()
	if t.Format(time.DateOnly) == now.Local().Format(time.DateOnly) {
		return t.Format("15:04")
	}
	return t.Format("2 Jan 15:04")
}

func (s *server) opsPage(w http.ResponseWriter, _ *http.Request) { s.showOps(w, http.StatusOK, "") }

func (s *server) showOps(w http.ResponseWriter, code int, notice string) {
	s.show(w, code, "ops.html", map[string]any{"Title": "Watch", "V": s.opsView(), "Notice": notice, "Enrols": s.enrol != nil})
}

// opsLive sends the lists when they changed.
func (s *server) opsLive(w http.ResponseWriter, r *http.Request) {
	s.lookLive(w, r, "ops", func() any { return s.opsView() })
}

// opsTest sends a test message and says who was told.
func (s *server) opsTest(w http.ResponseWriter, r *http.Request) {
	told, err := s.ops.Test(r.Context())
	if err != nil {
		s.showOps(w, http.StatusBadGateway, err.Error())
		return
	}
	s.showOps(w, http.StatusOK, "A test message went out by "+strings.Join(told, " and ")+".")
}

// opsTargets answers as Prometheus's HTTP service discovery wants it.
func (s *server) opsTargets(w http.ResponseWriter, _ *http.Request) {
	writeJSON(w, http.StatusOK, s.ops.Targets())
}

// causes are the processes of the hub that the watch knows to be stuck: what
// bays seem to lack is then theirs.
func (s *server) causes() (out []watch.Known) {
	if s.ops == nil {
		return nil
	}
	state, err := s.ops.State()
	if err != nil || !state.Fresh(time.Now()) {
		return nil
	}
	for _, k := range state.Lasting() {
		if k.What == watch.Stuck && k.Where != watch.Console && k.Where != watch.Forward {
			out = append(out, k)
		}
	}
	return out
}

// deaf says that the broker is known to be stuck, so that no bay can be heard.
func (s *server) deaf() bool {
	return slices.ContainsFunc(s.causes(), func(k watch.Known) bool { return k.Where == watch.Broker })
}
