package console

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/gauge"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
)

// morningRoutes serve the check of each bay with the studio's reference club.
func (s *server) morningRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /morning", s.morningPage)
	mux.HandleFunc("POST /morning/{bay}/{act}", s.morningAct)
	mux.HandleFunc("GET /api/morning", s.apiMorning)
	mux.HandleFunc("POST /api/morning/{bay}/{act}", s.apiMorningAct)
}

// ballsToHit are as many as a check asks for.
const ballsToHit = 10

// bayMorning is one bay on the page.
type bayMorning struct {
	Bay, Word, When, Told string
	Judged                bool // today
	Open                  bool // the reference club is being hit there
	Busy                  bool // somebody else's session is open
	Balls                 int
	Fields                []checkedView
	Undo                  *undoView
}

type checkedView struct{ Label, Mean, Bias, Word string }

func (s *server) morningViews(r *http.Request) (out []bayMorning) {
	last := map[string]visit.BayCheck{}
	for _, c := range s.checksOfBays(r) {
		last[c.Bay] = c
	}
	for _, bay := range s.bays {
		v := bayMorning{Bay: bay, Word: "not checked", Told: "No check of this bay is known."}
		if c, ok := last[bay]; ok {
			v.Word, v.When, v.Told = visit.CheckWord(c.Given.GetJudgement()), s.stamp(c.At), toldOf(c.Given.GetJudgement())
			v.Judged = today(s.now(), c.At)
			for _, f := range c.Given.GetFields() {
				v.Fields = append(v.Fields, s.checkedView(f))
			}
		}
		v.Undo = s.offered(ofMorning(bay))
		if row, session := s.referenceRow(bay); session != nil && session.Player == visit.ReferencePlayer {
			v.Open = true
			if row != nil {
				v.Balls = row.N
			}
		} else if session != nil {
			v.Busy = true
		}
		out = append(out, v)
	}
	return out
}

// checksOfBays are all checks that are known, oldest first.
func (s *server) checksOfBays(r *http.Request) (all []visit.BayCheck) {
	for _, tl := range s.book.timelines(r.Context()) {
		all = append(all, tl.Checked...)
	}
	slices.SortStableFunc(all, func(a, b visit.BayCheck) int { return int(min(max(a.At-b.At, -1), 1)) })
	return all
}

func toldOf(j event.CheckJudgement) string {
	switch j {
	case event.CheckJudgement_CHECK_GO:
		return "It reads as it did, as far as a swing lets one tell."
	case event.CheckJudgement_CHECK_LOOK:
		return "It may read otherwise than it did. Look at level, aim, light, ball and markers; hit ten more."
	case event.CheckJudgement_CHECK_STOP:
		return "It reads otherwise than it did, by more than a swing explains. " +
			"Nobody is fitted here until it is found; what the device’s maker says of setting it up comes first."
	}
	return "The first check of this club and ball on this device: its past begins."
}

// checkAlarm is what a bay's own page and the studio's board say of its last check: a
// stop until another check says go, a look for the day.
func (s *server) checkAlarm(bay string) []string {
	tl := s.writer.Timeline(bay)
	if now := tl.Now().Session; len(tl.Checked) == 0 || now != nil && now.Player == visit.ReferencePlayer {
		return nil // it is being looked at
	}
	last := tl.Checked[len(tl.Checked)-1]
	when := s.stamp(last.At)
	switch last.Given.GetJudgement() {
	case event.CheckJudgement_CHECK_STOP:
		return []string{"Stopped by the check with the reference club, " + when + ". " + toldOf(event.CheckJudgement_CHECK_STOP) +
			" Another check that says go clears it."}
	case event.CheckJudgement_CHECK_LOOK:
		if today(s.now(), last.At) {
			return []string{"The check with the reference club, " + when + ": " + toldOf(event.CheckJudgement_CHECK_LOOK)}
		}
	}
	return nil
}

// today says whether a check is of this morning.
func today(now time.Time, at int64) bool { return now.UnixNano()-at < int64(12*time.Hour) }

func (s *server) checkedView(f *event.CheckedField) checkedView {
	u := s.units.of(f.GetField())
	v := checkedView{Label: strings.ReplaceAll(strings.TrimSuffix(columnWord(f.GetField()), " "), "_", " "), Mean: u.Text(f.GetMean()),
		Word: visit.CheckWord(f.GetJudgement()), Bias: "–"}
	if f.GetBiasSd() > 0 {
		v.Bias = u.Signed(f.GetBias()) + " ± " + u.Short(1.96*f.GetBiasSd())
	}
	return v
}

// columnWord is a column's name without its unit.
func columnWord(column string) string {
	at := strings.LastIndex(column, "_")
	return column[:max(at, 0)]
}

// referenceRow is the row of the trial that runs in a bay and its open session.
func (s *server) referenceRow(bay string) (*rolling.Trial, *visit.Session) {
	session := s.writer.Timeline(bay).Now().Session
	state, _ := s.stateOf(bay)
	if session == nil || state.Session == nil || state.Session.ID != session.ID {
		return nil, session
	}
	for i := range state.Trials {
		if state.Trials[i].N > 0 {
			return &state.Trials[i], session
		}
	}
	return nil, session
}

func (s *server) morningPage(w http.ResponseWriter, r *http.Request) {
	s.showMorning(w, http.StatusOK, r, problem{})
}

func (s *server) showMorning(w http.ResponseWriter, code int, r *http.Request, p problem) {
	var clubs []codeName
	for _, t := range s.shelf(r.Context()).TestClubs() {
		if t.GetReference() {
			clubs = append(clubs, codeName{t.GetClubId(), s.testClub(s.shelf(r.Context()), t).Known})
		}
	}
	ball := ""
	if all := s.checksOfBays(r); len(all) > 0 {
		ball = all[len(all)-1].Given.GetBall()
	}
	s.show(w, code, "morning.html", map[string]any{"Title": "Morning check", "Studio": s.studio, "Bays": s.morningViews(r), "Clubs": clubs,
		"Ball": ball, "Need": ballsToHit, "P": p, "Key": event.NewID(s.now())})
}

func (s *server) apiMorning(w http.ResponseWriter, r *http.Request) {
	type one struct {
		Bay   string  `json:"bay"`
		At    int64   `json:"at_unix_ns,omitempty"`
		Word  string  `json:"word"`
		Check rawJSON `json:"check,omitempty"`
	}
	out := []one{}
	for _, c := range s.checksOfBays(r) {
		if text, err := protoJSON(c.Given); err == nil {
			out = append(out, one{c.Bay, c.At, visit.CheckWord(c.Given.GetJudgement()), text})
		}
	}
	writeJSON(w, http.StatusOK, out)
}

// morningAct begins a check, or judges it.
func (s *server) morningAct(w http.ResponseWriter, r *http.Request) {
	if err := s.doMorning(w, r); err != nil {
		code, p := s.problemOf(err)
		s.showMorning(w, code, r, p)
		return
	}
	http.Redirect(w, r, "/morning#"+r.PathValue("bay"), http.StatusSeeOther)
}

// apiMorningAct is the same for programs.
func (s *server) apiMorningAct(w http.ResponseWriter, r *http.Request) {
	if err := s.doMorning(w, r); err != nil {
		code, p := s.problemOf(err)
		writeJSON(w, code, p)
		return
	}
	s.apiMorning(w, r)
}

func (s *server) doMorning(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, mostBody)
	bay := r.PathValue("bay")
	err := r.ParseForm()
	if err == nil {
		err = s.writer.Known(bay)
	}
	if err == nil {
		switch r.PathValue("act") {
		case "begin":
			err = s.beginCheck(r, bay)
		case "judge":
			err = s.judgeCheck(r, bay)
		case "undo":
			err = s.undoCheck(r, bay)
		default:
			err = refuse("act", r.PathValue("act"), "is nothing that a check knows", "open the page again")
		}
	}
	return err
}

// beginCheck opens a session of nobody with the reference club in hand.
func (s *server) beginCheck(r *http.Request, bay string) error {
	id, ball := strings.TrimSpace(r.PostForm.Get("club")), strings.TrimSpace(r.PostForm.Get("ball"))
	shelf := s.shelf(r.Context())
	t := shelf.TestClub(id)
	switch {
	case t == nil:
		return refuse("club", id, "is no test club", "list it in the stock, as one that bays are checked with")
	case ball == "":
		return refuse("ball", "", "missing", "name the reference ball: another ball reads otherwise")
	case s.writer.Timeline(bay).Now().Session != nil && r.PostForm.Get("close") == "":
		return refuse("bay", bay, "a session is open there", "close it first")
	}
	key := nonEmpty(keyOf("begin", r.PostForm), event.NewID(s.now()))
	b := shelf.BuildOf(t)
	b.Name, b.NamedAfter = "reference "+id, nil
	for n, ev := range []*event.VisitEvent{
		{Body: &event.VisitEvent_SettingChanged{SettingChanged: &event.SettingChanged{BallModel: ball}}},
		{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: visit.ReferencePlayer, Category: t.GetCategory(),
			Hand: event.Hand_HAND_RIGHT}}},
		{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Build: b}}},
	} {
		ev.Id = fmt.Sprintf("%s-%d", key, n)
		if len(ev.Id) > 64 {
			ev.Id = ev.Id[len(ev.Id)-64:]
		}
		if s.writer.wasTaken(ev.Id) {
			continue
		}
		if _, err := s.write(r, bay, ev, anyhow); err != nil {
			return err
		}
	}
	return nil
}

// judgeCheck holds what was hit against the past and the other bays, writes it
// down, and closes the session.
func (s *server) judgeCheck(r *http.Request, bay string) error {
	key := nonEmpty(keyOf("judge", r.PostForm), event.NewID(s.now()))
	if s.writer.wasTaken(key) {
		return nil
	}
	row, session := s.referenceRow(bay)
	if session == nil || session.Player != visit.ReferencePlayer {
		return refuse("bay", bay, "no check was begun there", "begin it first")
	}
	if row == nil || row.N < ballsToHit {
		n := 0
		if row != nil {
			n = row.N
		}
		return refuse("balls", fmt.Sprint(n), "are too few to judge by", fmt.Sprintf("hit %d", ballsToHit))
	}
	read := gauge.Check{}
	for name, m := range row.Fields {
		if m.SD != nil && !math.IsNaN(*m.SD) {
			read[name] = gauge.Reading{N: m.N, Mean: m.Mean, SD: *m.SD}
		}
	}
	now := &event.BayChecked{Trial: row.ID, Ball: s.writer.Timeline(bay).Now().Setting().BallModel}
	if t := s.writer.Timeline(bay).Trial(row.ID); t != nil {
		now.ClubId = t.Build.GetClubId()
	}
	if state, _ := s.stateOf(bay); len(state.Shots) > 0 {
		now.Device = state.Shots[len(state.Shots)-1].Device
	}
	now = visit.JudgeBay(bay, s.now().UnixNano(), now, read, s.checksOfBays(r))
	if len(now.Fields) == 0 {
		return refuse("balls", "", "no figure of them can be judged", "look whether the device measures ball speed, launch or spin")
	}
	if _, err := s.write(r, bay, &event.VisitEvent{Id: key, Session: session.ID, Visit: session.Visit,
		Body: &event.VisitEvent_BayChecked{BayChecked: now}}, anyhow); err != nil {
		return err
	}
	_, err := s.write(r, bay, &event.VisitEvent{Session: session.ID, Visit: session.Visit,
		Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}}, anyhow)
	return err
}

// undoCheck takes back a bay's last check, or the one that is named.
func (s *server) undoCheck(r *http.Request, bay string) error {
	if s.lastUnlessNamed(r, ofMorning(bay)) == nil && r.PostForm.Get("event") == "" {
		return refuse("bay", bay, "has no check of the last weeks", "look at the checks again")
	}
	return s.takenBack(r, ofMorning(bay))
}
