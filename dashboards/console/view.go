package console

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"time"

	"fairlead/dashboards/console/people"
	"fairlead/dashboards/figure"
	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/hub/process"
	"fairlead/processors/hub/health"
	"fairlead/processors/visit/rolling"
)

// bayView is all that the page of a bay shows.
type bayView struct {
	Studio, Bay string
	Nav         []navItem
	State       *rolling.State
	Fresh       bool
	Behind      bool // the hub has not taken in all of the console's events yet
	Alarms      []string
	U           units
	Player      string
	Fitter      string
	Trials      []trialView
	Compare     []compareView
	Shots       []shotView // latest first
	More        int        // older shots that are not shown
	SeenBy      string     // the devices that saw most shots, where two saw any; empty: each was seen by one
	Loose       []shotView
	Plot        template.HTML
	Face        template.HTML
	Hand        handView
	Safety      string
	TryNext     []tryNext
	Confounded  bool // no comparison tells the club from the swing
}

// safety stands on every bay page.
const safety = "Before anyone swings: nobody within reach of the club, nobody between player and screen, no loose head or shaft. Stop at pain."

type navItem struct {
	Bay    string
	Here   bool
	State  string // for people
	Alarms int
}

type trialView struct {
	rolling.Trial
	Marker  template.HTML
	Build   []string // what is known, in words
	Changes []changeView
	Unknown string
	Primary []cell
	Cells   []cell
	Drift   string
	Face    string
}

type changeView struct{ Label, From, To string }

// cell is one number of a row.
type cell struct {
	Label, Value, Interval string
	NotYet                 bool
}

type compareView struct {
	rolling.Comparison
	Marker   template.HTML
	Changes  []changeView
	Unknown  string        // parts that are known of one of the two only
	Lead     []weighedView // what the category is judged by, and what is decided
	Rest     []weighedView
	Waiting  string // outcomes that nothing can be said of yet
	Headline string
	Expected string      // whose word the odds begin with
	Priors   []priorView // of each outcome that something is said of
	Clashes  []string    // shots and fleet disagree
}

type weighedView struct {
	Label, Change, Interval, Word, Mark, Odds, Need string
	Decided, Primary                                bool
	Prior                                           string // what the fleet expects, in short
}

type shotView struct {
	rolling.ShotRow
	Marker template.HTML
	Cells  []cell
	When   string
	Out    bool
	Notes  string // what is special about it
}

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

const latestShots = 30

func (s *server) bayView(bay string, all bool) *bayView {
	state, fresh := s.stateOf(bay)
	tl := s.writer.Timeline(bay)
	v := &bayView{Studio: s.studio, Bay: bay, State: state, Fresh: fresh, U: s.units, Alarms: s.alarmsOf(bay), Safety: safety,
		Behind: fresh && state.Events < tl.Events}
	if !fresh {
		v.Alarms = append(v.Alarms, "The hub does not answer: shots and figures below may be old. Shots are kept in the bay, what you enter is kept here; both arrive when it is back.")
	}
	for _, a := range s.health.Alarms() {
		if a.Bay == process.ConsoleBay && a.What != "silent" {
			v.Alarms = append(v.Alarms, "Console: "+a.Text)
		}
	}
	for _, d := range state.Sensors {
		v.Alarms = append(v.Alarms, fmt.Sprintf("Device %s, %s, %s shots: %s (%+.1f, usually %+.1f) against the flight of its own launch. Clean, level and calibrate it; look at the units and the air that are set.",
			d.Device, strings.ReplaceAll(d.Field, "_", " "), d.Category, d.Status, d.Average, d.Ordinary))
	}
	v.Alarms = append(v.Alarms, state.Alarms...)
	v.Nav = s.nav(bay)
	if state.Session != nil {
		v.TryNext = s.counsel.of(state.Session.Player, state.Session.Category)
		v.Player, v.Fitter = s.people.Name(state.Session.Player), s.people.Name(state.Session.Fitter)
	}
	markers := map[string]template.HTML{}
	for i := range state.Trials {
		t := &state.Trials[i]
		markers[t.Key] = marker(t.Number)
		v.Trials = append(v.Trials, s.trialView(state, t))
	}
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
	v.SeenBy = seenBy(state.Shots)
	for i := len(state.Shots) - 1; i >= 0; i-- {
		if !all && len(v.Shots) == latestShots {
			v.More = i + 1
			break
		}
		v.Shots = append(v.Shots, s.shotView(state, &state.Shots[i], markers, v.SeenBy))
	}
	for i := len(state.Loose) - 1; i >= 0; i-- {
		if l := state.Loose[i]; l.Status != "repeat" && l.Status != "paired" && l.Status != "superseded" {
			v.Loose = append(v.Loose, s.shotView(state, &l, markers, ""))
		}
	}
	v.Plot, v.Face = s.plot(state), s.face(state)
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

// statCell writes a statistic with its interval, or how many more shots it needs.
func statCell(label string, sc figure.Unit, st *rolling.Stat) cell {
	c := cell{Label: label}
	switch {
	case st == nil:
		c.Value, c.NotYet = "–", true
	case st.NotYet && st.More > 0:
		c.Value, c.NotYet = fmt.Sprintf("not yet, %d more", st.More), true
	case st.NotYet:
		c.Value, c.NotYet = "not yet", true
	default:
		c.Value, c.Interval = sc.With(sc.Number(st.Value)), sc.Number(st.Low)+" to "+sc.Number(st.High)
	}
	return c
}

// changes tells differences that are known from parts that are known of one
// build only: those may differ or not.
func (s *server) changes(list []rolling.Change) (out []changeView, unknown string) {
	var fromUnknown, toUnknown []string
	for _, c := range list {
		switch {
		case !c.From.Known:
			fromUnknown = append(fromUnknown, strings.ToLower(c.Label)+" "+s.units.value(c.Field, c.To))
		case !c.To.Known:
			toUnknown = append(toUnknown, strings.ToLower(c.Label)+" "+s.units.value(c.Field, c.From))
		default:
			out = append(out, changeView{c.Label, s.units.value(c.Field, c.From), s.units.value(c.Field, c.To)})
		}
	}
	if len(fromUnknown) > 0 {
		unknown = "Known of this one only: " + strings.Join(fromUnknown, ", ") + ". "
	}
	if len(toUnknown) > 0 {
		unknown += "Known of the other only: " + strings.Join(toUnknown, ", ") + "."
	}
	return out, unknown
}

func (s *server) trialView(state *rolling.State, t *rolling.Trial) trialView {
	v := trialView{Trial: *t, Marker: marker(t.Number)}
	v.Changes, v.Unknown = s.changes(t.Changes)
	for _, p := range t.Build {
		v.Build = append(v.Build, p.Label+" "+s.units.value(p.Field, p.Value))
	}
	for i := range t.Primary {
		p := &t.Primary[i]
		if p.Name == "carry_m" {
			continue // stands in its own column
		}
		v.Primary = append(v.Primary, statCell(outcomeWord(p.Name), s.units.of(p.Name), &p.Stat))
	}
	if state.Session != nil && state.Session.Category != "putter" {
		v.Cells = append(v.Cells, statCell("Carry", s.units.Distance(), t.Carry))
	}
	for _, c := range cellColumns(state) {
		m, ok := t.Fields[c.column]
		one := cell{Label: c.label, Value: "–", NotYet: true}
		if sc := s.units.of(c.column); ok {
			one = cell{Label: c.label, Value: sc.With(sc.Number(m.Mean))}
			if m.SD != nil {
				one.Interval = "sd " + sc.Number(*m.SD)
			}
		}
		v.Cells = append(v.Cells, one)
	}
	if t.Drifting {
		for _, r := range t.LastFive {
			if math.Abs(r.T) >= 4.5 {
				sc := s.units.of(r.Column)
				v.Drift = fmt.Sprintf("Last five differ from the shots before: %s %s against %s.", columnLabel(r.Column), sc.With(sc.Number(r.Last)), sc.With(sc.Number(r.Before)))
				break
			}
		}
	}
	return v
}

type column struct{ column, label string }

func cellColumns(state *rolling.State) []column {
	if state.Session != nil && state.Session.Category == "putter" {
		return []column{{"ball_speed_mps", "Ball speed"}, {"launch_angle_deg", "Launch"}, {"skid_distance_m", "Skid"}}
	}
	return []column{{"launch_angle_deg", "Launch"}, {"spin_rate_rpm", "Spin"}, {"landing_angle_deg", "Landing"}}
}

func columnLabel(name string) string {
	for _, f := range event.Fields() {
		if f.Column == name {
			return f.Label
		}
	}
	return name
}

func (s *server) compareView(state *rolling.State, c *rolling.Comparison) compareView {
	v := compareView{Comparison: *c}
	for i := range state.Trials {
		if t := &state.Trials[i]; t.Club == c.Club {
			v.Marker = marker(t.Number)
			v.Changes, v.Unknown = s.changes(t.Changes)
			break
		}
	}
	var waiting []string
	var fleet *rolling.Prior
	more := 0
	for _, o := range c.Outcomes {
		v.Priors = append(v.Priors, priorView{outcomeWord(o.Name), s.priorText(o)})
		if o.Prior.Fleet() {
			fleet = &o.Prior
		}
		if o.NotYet {
			waiting, more = append(waiting, strings.ToLower(outcomeWord(o.Name))), max(more, o.More)
			continue
		}
		w := weighedView{Label: outcomeWord(o.Name), Word: verdictWord(o), Primary: o.Primary, Decided: o.Verdict != string(evidence.CannotTell)}
		w.Mark = map[string]string{"better": "▲", "worse": "▼", "practically the same": "≈"}[o.Verdict]
		if !w.Decided {
			w.Mark = "?"
		}
		if o.Assumed && w.Decided && w.Mark != "≈" {
			w.Mark = "△"
			if o.Change < 0 {
				w.Mark = "▽"
			}
		}
		w.Change, w.Interval = s.units.change(o)
		w.Odds = oddsWord(o)
		if p := o.Prior; p.Fleet() {
			mean, sd := s.units.prior(o)
			w.Prior = fmt.Sprintf("fleet: %s ± %s", strings.ReplaceAll(mean, " ", " "), sd)
			if p.Disagrees {
				w.Prior += ", disagrees"
				v.Clashes = append(v.Clashes, s.clash(o))
			}
		}
		if !w.Decided && !c.Confounded {
			w.Need = needWord(o)
		}
		if o.Primary || w.Decided {
			v.Lead = append(v.Lead, w)
		} else {
			v.Rest = append(v.Rest, w)
		}
	}
	switch {
	case len(waiting) > 0 && len(waiting) == len(c.Outcomes) && more > 0:
		v.Waiting = fmt.Sprintf("Nothing can be said before %d more shots.", more)
		waiting = nil
	case c.Confounded:
		waiting = nil
	}
	if len(waiting) > 0 {
		v.Waiting = "Nothing yet on " + strings.Join(waiting, ", ")
		if more > 0 {
			v.Waiting += fmt.Sprintf(": %d more to go", more)
		}
		v.Waiting += "."
	}
	v.Headline = headline(c)
	v.Expected = s.expected(c, fleet)
	return v
}

// headline is the one sentence of a comparison.
func headline(c *rolling.Comparison) string {
	switch {
	case c.Blocked != "":
		return "No comparison: " + c.Blocked + "."
	case c.Computing:
		return "Being weighed …"
	case c.Confounded:
		return "Club and swing changed together: hit the incumbent again before judging the club."
	}
	var known, open []string
	for _, o := range c.Outcomes {
		word := strings.ToLower(outcomeWord(o.Name))
		switch {
		case o.Verdict == string(evidence.CannotTell):
			if o.Primary {
				open = append(open, word)
			}
		default:
			known = append(known, word+" "+verdictWord(o))
		}
	}
	text := ""
	if len(known) > 0 {
		text = strings.ToUpper(known[0][:1]) + strings.Join(known, ", ")[1:] + ". "
	}
	if len(open) > 0 {
		text += "Cannot tell yet: " + strings.Join(open, ", ") + "."
	} else if len(known) > 0 {
		text += "All that this kind of club is judged by is decided."
	}
	return nonEmpty(text, "Nothing can be said yet.")
}

// oddsWord says the odds that the change goes the way that counts as better.
func oddsWord(o rolling.Weighed) string {
	p := o.ProbBetter
	what := "better"
	if evidence.Name(o.Name).Tightness() {
		what = "tighter"
	} else if o.Assumed {
		what = o.Way // higher, lower
		if o.Way == string(evidence.Toward) {
			what = "nearer to target"
		}
	}
	switch {
	case p >= 0.995:
		return "> 99 % " + what
	case p <= 0.005:
		return "< 1 % " + what
	}
	return fmt.Sprintf("%.0f %% %s", 100*p, what)
}

func needWord(o rolling.Weighed) string {
	switch {
	case o.NeedP50 < 0:
		return "not worth hitting for"
	case o.NeedP50 == 0:
		return ""
	case o.NeedP90 < 0:
		return fmt.Sprintf("about %d more shots, maybe far more", o.NeedP50)
	}
	return fmt.Sprintf("about %d more shots, up to %d", o.NeedP50, o.NeedP90)
}

func (s *server) shotView(state *rolling.State, r *rolling.ShotRow, markers map[string]template.HTML, usual string) shotView {
	v := shotView{ShotRow: *r, Marker: markers[r.Row], When: time.Unix(0, r.At).Format("15:04:05"), Out: r.Status != "counts"}
	columns := []column{{"carry_m", "Carry"}, {"offline_m", "Offline"}, {"ball_speed_mps", "Ball"}, {"launch_angle_deg", "Launch"}, {"spin_rate_rpm", "Spin"}}
	if state.Session != nil && state.Session.Category == "putter" {
		columns = []column{{"ball_speed_mps", "Ball"}, {"launch_direction_deg", "Start"}, {"launch_angle_deg", "Launch"}}
	}
	for _, c := range columns {
		x, ok := r.Values[c.column]
		if !ok {
			v.Cells = append(v.Cells, cell{Label: c.label, Value: "–", NotYet: true})
			continue
		}
		sc := s.units.of(c.column)
		text := sc.With(sc.Number(x))
		if c.column == "offline_m" || c.column == "launch_direction_deg" {
			text = sided(sc, x)
		}
		if slices.Contains(r.Computed, c.column) {
			text = "≈ " + text
		}
		v.Cells = append(v.Cells, cell{Label: c.label, Value: text})
	}
	var notes []string
	if r.Swap > 0 && r.Swap <= 2 && r.Number > 1 {
		notes = append(notes, fmt.Sprintf("shot %d after a swap", r.Swap))
	}
	if r.Moved {
		notes = append(notes, "moved by hand")
	}
	if seen := devices(r); seen != usual && usual != "" {
		notes = append(notes, "seen by "+seen)
	}
	if v.Out {
		notes = append(notes, nonEmpty(r.Reason, strings.ReplaceAll(r.Status, "_", " ")))
		if r.Status == "excluded" {
			notes[len(notes)-1] = "left out: " + r.Reason
		}
	}
	v.Notes = strings.Join(notes, " · ")
	return v
}

// devices names those that saw a shot.
func devices(r *rolling.ShotRow) string {
	if r.Second == "" {
		return r.Device + " only"
	}
	return r.Device + " and " + r.Second
}

// seenBy names the devices that saw most of the shots, so that only the others
// have to be remarked on; nothing where no shot was seen by two.
func seenBy(shots []rolling.ShotRow) (usual string) {
	times := map[string]int{}
	paired := false
	for i := range shots {
		seen := devices(&shots[i])
		times[seen]++
		if usual == "" || times[seen] > times[usual] {
			usual = seen
		}
		paired = paired || shots[i].Second != ""
	}
	if !paired {
		return ""
	}
	return usual
}

// sided writes a direction with its side.
func sided(sc figure.Unit, x float64) string {
	side := " R"
	if x < 0 {
		side = " L"
	}
	return sc.With(sc.Number(math.Abs(x))) + side
}

func (s *server) handView(bay string, state *rolling.State) handView {
	tl := s.writer.Timeline(bay)
	span := tl.Now()
	h := handView{Open: span.Session != nil, Paused: span.Paused, Players: s.people.List(people.Player), Fitters: s.people.List(people.Fitter),
		Bays: s.bays, Cats: event.Categories(), Hitter: state.Now.Hitter, Class: state.Now.Class, Intent: state.Now.Intent}
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

// plainWhy puts people's words for outcomes into a reason.
func plainWhy(why string) string {
	for _, n := range evidence.Names() {
		why = strings.ReplaceAll(why, "its "+string(n)+" ", "its "+strings.ToLower(outcomeWord(string(n)))+" ")
	}
	return why
}

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
					b.Lead = state.Comparisons[n-1].Name + ": " + headline(&state.Comparisons[n-1])
				}
			}
		}
		v.Bays = append(v.Bays, b)
	}
	if silent == len(s.bays) && silent > 0 {
		v.Alarms = append(v.Alarms, "The hub does not answer: figures may be old. What you enter is kept here and arrives when it is back.")
	}
	for _, a := range s.health.Alarms() {
		if a.Bay == process.ConsoleBay && a.What != "silent" {
			v.Alarms = append(v.Alarms, "Console: "+a.Text)
		}
	}
	return v
}
