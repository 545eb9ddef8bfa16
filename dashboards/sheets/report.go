package sheets

import (
	"context"
	"fmt"
	"html/template"
	"slices"
	"strings"
	"time"

	"fairlead/ingest/event"
	"fairlead/processors/dispersion"
	"fairlead/processors/evidence"
	"fairlead/processors/rolling"
	"fairlead/processors/visit"
)

// Report is what the player takes home of a visit.
type Report struct {
	Visit    string    `json:"visit"`
	Studio   string    `json:"studio"`
	Player   string    `json:"player"`
	PlayerID string    `json:"player_id"`
	Day      time.Time `json:"day"`
	Units    string    `json:"units"`
	Erased   bool      `json:"erased,omitempty"`
	Sessions []Session `json:"sessions"`
}

// Session is one session: one kind of club in one bay.
type Session struct {
	Session  string     `json:"session"`
	Bay      string     `json:"bay"`
	Category string     `json:"category"`
	Fitter   string     `json:"fitter,omitempty"`
	Begun    time.Time  `json:"begun"`
	Aim      string     `json:"came_for,omitempty"` // in the player's words
	Setting  string     `json:"setting,omitempty"`
	Shots    int        `json:"shots"`
	LeftOut  int        `json:"left_out"`
	Open     bool       `json:"open,omitempty"`
	Tried    []Tried    `json:"tried"`
	Found    []Finding  `json:"found"`
	Decided  []Decision `json:"decided"`
	Back     []string   `json:"taken_back,omitempty"` // verdicts that no longer hold
	Earlier  *Earlier   `json:"earlier,omitempty"`
	Sure     []string   `json:"how_sure"`

	Drawing template.HTML `json:"-"`
	Legend  []string      `json:"-"`
}

// Tried is one club of a session, as a difference from the own club.
type Tried struct {
	Name    string   `json:"name"`
	Own     bool     `json:"own_club"`
	Base    bool     `json:"compared_with"` // the others are told against it
	Changes []string `json:"changes"`
	Unknown string   `json:"unknown,omitempty"`
	Shots   int      `json:"shots"`
	LeftOut int      `json:"left_out"`
	Carry   string   `json:"carry,omitempty"`
	Spread  string   `json:"spread,omitempty"`
	Told    []string `json:"told,omitempty"` // instructions
	Felt    []string `json:"felt,omitempty"`

	club int
	most int // shots of the trial that Carry and Spread are of
}

// Decision is a verdict that holds.
type Decision struct {
	Verdict  string    `json:"verdict"` // id: the order's number where it is one
	Kind     string    `json:"kind"`
	Says     string    `json:"says"`
	Words    string    `json:"words,omitempty"`
	At       time.Time `json:"at"`
	Club     string    `json:"club,omitempty"`
	Promises []Promise `json:"promises"`
	Next     string    `json:"next"`
	Ordered  bool      `json:"ordered"`
	trial    string
}

// Promise is what was expected at the moment of the verdict, frozen then, and
// what the hit check of the delivered club has shown of it.
type Promise struct {
	Outcome  string   `json:"outcome"`
	Label    string   `json:"label"`
	Means    string   `json:"means"`
	Text     string   `json:"text"`
	Change   float64  `json:"change"`
	Low      float64  `json:"low"`
	High     float64  `json:"high"`
	Odds     float64  `json:"probability_better"`
	Good     string   `json:"better_is"` // higher, tighter, …
	Measured *float64 `json:"measured,omitempty"`
	SE       *float64 `json:"measured_se,omitempty"`
	Kept     string   `json:"kept,omitempty"` // in words
}

// Report makes the report of a visit, or of one of its sessions where one is
// named; ErrNoVisit where none of this id is stored.
func (s *Source) Report(ctx context.Context, visitID, session string, u Units) (*Report, error) {
	books, err := s.books(ctx, visitID)
	if err != nil {
		return nil, err
	}
	r := &Report{Visit: visitID, Studio: s.Studio, Units: u.Word(), Sessions: []Session{}}
	type place struct {
		b *book
		v *visit.Session
	}
	var all []place
	for _, b := range books {
		for _, v := range b.sessionsOf(visitID) {
			if session == "" || v.ID == session {
				all = append(all, place{b, v})
			}
		}
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%w: %s", ErrNoVisit, strings.TrimSpace(visitID+" "+session))
	}
	slices.SortFunc(all, func(a, b place) int { return int(min(max(a.v.From-b.v.From, -1), 1)) })
	r.Day = s.at(all[0].v.From)
	for _, p := range all {
		if p.v.Erased {
			r.Erased = true
			continue
		}
		r.PlayerID, r.Player = p.v.Player, s.name(p.v.Player)
		part, err := s.session(ctx, p.b, p.v, u)
		if err != nil {
			return nil, err
		}
		r.Sessions = append(r.Sessions, *part)
	}
	return r, nil
}

func (s *Source) session(ctx context.Context, b *book, v *visit.Session, u Units) (*Session, error) {
	state, err := s.state(ctx, b, v)
	if err != nil {
		return nil, err
	}
	p := &Session{Session: v.ID, Bay: b.bay, Category: v.Category, Fitter: s.name(v.Fitter), Begun: s.at(v.From), Aim: v.Aim, Open: v.Open(), Decided: []Decision{}}
	if state.Session == nil {
		return p, nil
	}
	p.Shots = state.Session.N
	p.Setting = settingWords(state.Setting, u)
	p.Tried = tried(&state, u)
	for _, t := range p.Tried {
		p.LeftOut += t.LeftOut
	}
	p.Found = s.findings(&state, u)
	if p.Decided, err = s.decisions(ctx, b, v, u); err != nil {
		return nil, err
	}
	for _, ev := range b.log.All() {
		if g := ev.GetVerdictGiven(); g != nil && ev.Session == v.ID && b.voidOf(ev.Id) != nil {
			p.Back = append(p.Back, fmt.Sprintf("A verdict of %s (“%s”) was taken back and does not hold.", s.at(ev.EffectiveUnixNs).Format("15:04"), strings.ReplaceAll(kindWord(g.Kind), "_", " ")))
		}
	}
	chosen, drawn := clubs(&state, p.Decided)
	for i := range p.Found {
		p.Found[i].Chosen = chosen != 0 && state.Comparisons[i].Club == chosen
	}
	if p.Earlier, err = s.earlier(ctx, b, v, u); err != nil {
		return nil, err
	}
	p.Sure = sure(&state, p)
	p.Drawing, p.Legend = drawing(&state, drawn, u)
	return p, nil
}

// tried lists the clubs in the order in which they were first hit.
func tried(state *rolling.State, u Units) []Tried {
	out := []Tried{}
	for i := range state.Trials {
		t := &state.Trials[i]
		at := slices.IndexFunc(out, func(x Tried) bool { return x.club == t.Club })
		if at < 0 {
			at = len(out)
			one := Tried{Name: t.Name, Own: t.Gamer, Base: t.Key == state.Incumbent, Changes: []string{}, club: t.Club}
			one.Changes, one.Unknown = changesOf(t.Changes, u)
			out = append(out, one)
		}
		one := &out[at]
		one.Base = one.Base || t.Key == state.Incumbent
		one.Shots += t.N
		one.LeftOut += t.Excluded
		if t.N > one.most {
			one.most = t.N
			one.numbers(t, state.Session.Category, u)
		}
		if t.Instruction != "" {
			one.Told = append(one.Told, t.Instruction)
		}
		if t.Part > 1 {
			continue // the feel is of the trial, not of its part
		}
		for _, f := range t.Feels {
			var words []string
			if f.Words != "" {
				words = append(words, "“"+f.Words+"”")
			}
			if l := liking(f.Liking); l != "" {
				words = append(words, l)
			}
			if len(words) > 0 {
				one.Felt = append(one.Felt, strings.Join(words, ", "))
			}
		}
	}
	return out
}

// numbers tells where the shots of a trial went.
func (one *Tried) numbers(t *rolling.Trial, category string, u Units) {
	one.Carry, one.Spread = "", ""
	if category == "putter" {
		return
	}
	if t.Carry != nil && !t.Carry.NotYet {
		d := u.distance()
		one.Carry = fmt.Sprintf("%s on average (range %s to %s)", d.text(t.Carry.Value), d.short(t.Carry.Low), d.text(t.Carry.High))
		if t.N < one.Shots {
			one.Carry += fmt.Sprintf(", of the %d shots of trial %d", t.N, t.Number)
		}
	}
	if t.DirSD != nil && !t.DirSD.NotYet {
		a := scale{"°", 1, 1}
		one.Spread = fmt.Sprintf("two shots in three within %s of their middle direction (range %s to %s)", a.text(t.DirSD.Value), a.short(t.DirSD.Low), a.text(t.DirSD.High))
	}
}

// changesOf tells differences that are known from parts that only one of the
// clubs is known in.
func changesOf(list []rolling.Change, u Units) (out []string, unknown string) {
	out = []string{}
	var half []string
	for _, c := range list {
		info, _ := event.BuildFieldNamed(c.Field)
		if !c.From.Known || !c.To.Known {
			half = append(half, strings.ToLower(c.Label))
			continue
		}
		at := func(v rolling.Value) string {
			return u.spec(&event.Spec{Field: info.Field, Number: v.Number, Text: v.Text}, info)
		}
		out = append(out, fmt.Sprintf("%s: %s instead of %s", c.Label, at(c.To), at(c.From)))
	}
	if len(half) > 0 {
		unknown = "Known of one of the two clubs only, so it may differ or not: " + strings.Join(half, ", ") + "."
	}
	return out, unknown
}

func settingWords(s *rolling.Setting, u Units) string {
	if s == nil {
		return ""
	}
	var out []string
	for _, w := range []string{s.Place, s.Surface} {
		if w != "" {
			out = append(out, w)
		}
	}
	if s.BallModel != "" || s.BallClass != "" {
		out = append(out, strings.TrimSpace(s.BallModel+" "+s.BallClass)+" balls")
	}
	if s.GreenSpeedM != nil {
		out = append(out, "green speed "+u.pick(scale{"m", 1, 2}, scale{"ft", 1 / 0.3048, 1}).text(*s.GreenSpeedM))
	}
	return strings.Join(out, ", ")
}

// clubs are the numbers of the club that the last verdict chose to build, and
// of the one to draw beside the incumbent: the chosen one, else the one hit
// last. 0 where there is none.
func clubs(state *rolling.State, decided []Decision) (chosen, drawn int) {
	base := 0
	for _, t := range state.Trials {
		if t.Key == state.Incumbent {
			base = t.Club
		}
	}
	for _, t := range state.Trials {
		if t.Club != base && t.N > 0 {
			drawn = t.Club
		}
	}
	for _, d := range decided {
		chosen = 0
		for _, t := range state.Trials {
			if t.ID == d.trial && t.Club != base && d.Ordered {
				chosen = t.Club
			}
		}
	}
	if chosen != 0 {
		drawn = chosen
	}
	return chosen, drawn
}

func (s *Source) decisions(ctx context.Context, b *book, v *visit.Session, u Units) ([]Decision, error) {
	out := []Decision{}
	for _, g := range v.Verdicts {
		d := Decision{Verdict: g.Event, Kind: kindWord(g.Given.GetKind()), Says: playerSays[g.Given.GetKind()], Words: g.Given.GetWords(), At: s.at(g.At),
			Ordered: g.Given.GetKind() == event.VerdictKind_VERDICT_BUILD, Promises: []Promise{}, trial: g.Given.GetTrial()}
		if t := b.tl.Trial(d.trial); t != nil {
			d.Club = fmt.Sprintf("trial %d", t.Number)
			if t.Build.GetName() != "" {
				d.Club = t.Build.GetName()
			}
		}
		for _, p := range g.Given.GetPromises() {
			name := evidence.Name(p.Outcome)
			changed, interval := moved(name, p.Change, p.Low, p.High, u)
			d.Promises = append(d.Promises, Promise{Outcome: p.Outcome, Label: label(p.Outcome), Means: meaning(p.Outcome), Change: p.Change, Low: p.Low, High: p.High, Odds: p.ProbabilityBetter,
				Good: good(name, evidence.DefaultGoal(dispersion.Category(v.Category), name)),
				Text: changed + ", " + interval})
		}
		checked, err := s.checked(ctx, &d, u)
		if err != nil {
			return nil, err
		}
		switch {
		case checked:
			d.Next = "The delivered club was hit and held against these numbers."
		case d.Ordered:
			d.Next = "Next: when the club is built it is measured, and hit beside the own club. The numbers above are what it is held against. Ask for this check: ten shots with each show carry and launch, scatter takes more."
		case g.Given.GetKind() == event.VerdictKind_VERDICT_TEST_AGAIN:
			d.Next = "Next: more shots on another day, with the own club hit again beside the candidates."
		case g.Given.GetKind() == event.VerdictKind_VERDICT_REFER:
			d.Next = "Next: see the person you were referred to. Do not swing through pain."
		}
		out = append(out, d)
	}
	return out, nil
}

var playerSays = map[event.VerdictKind]string{
	event.VerdictKind_VERDICT_BUILD:      "This club is to be built",
	event.VerdictKind_VERDICT_KEEP_GAMER: "Keep your own club",
	event.VerdictKind_VERDICT_SETUP:      "The set-up or the swing, not the club",
	event.VerdictKind_VERDICT_ADD_CLUB:   "Add a club to the bag",
	event.VerdictKind_VERDICT_DROP_CLUB:  "Leave a club out of the bag",
	event.VerdictKind_VERDICT_TEST_AGAIN: "Test again before deciding",
	event.VerdictKind_VERDICT_REFER:      "See a qualified person first",
}

// hitCheck is the trial in which a verdict's delivered club was hit; empty:
// not yet.
func (s *Source) hitCheck(ctx context.Context, verdict string) (trial string, err error) {
	rows, err := s.Store.Conn().Query(ctx, "SELECT check_trial FROM verdicts FINAL WHERE studio = ? AND id = ? AND live AND checked", s.Studio, verdict)
	if err != nil {
		return "", fmt.Errorf("hit check of %s: %w", verdict, err)
	}
	defer rows.Close()
	for rows.Next() {
		if err := rows.Scan(&trial); err != nil {
			return "", fmt.Errorf("hit check of %s: %w", verdict, err)
		}
	}
	return trial, rows.Err()
}

// checked fills in what the hit check of a verdict's club measured. Its range is
// the normal one of the view's standard error: a little narrow for few shots.
func (s *Source) checked(ctx context.Context, d *Decision, u Units) (bool, error) {
	trial, err := s.hitCheck(ctx, d.Verdict)
	if err != nil || trial == "" {
		return false, err
	}
	kept, err := s.Store.Conn().Query(ctx, "SELECT outcome, measured, se FROM promises_checked WHERE studio = ? AND verdict = ? AND isNotNull(measured) AND isNotNull(se)", s.Studio, d.Verdict)
	if err != nil {
		return true, fmt.Errorf("hit check of %s: %w", d.Verdict, err)
	}
	defer kept.Close()
	for kept.Next() {
		var outcome string
		var measured, se *float64
		if err := kept.Scan(&outcome, &measured, &se); err != nil {
			return true, fmt.Errorf("hit check of %s: %w", d.Verdict, err)
		}
		for i := range d.Promises {
			if p := &d.Promises[i]; p.Outcome == outcome && measured != nil && se != nil && finite(*measured, *se) {
				p.Measured, p.SE = measured, se
				name := evidence.Name(outcome)
				changed, interval := moved(name, *measured, *measured-1.96**se, *measured+1.96**se, u)
				word := "outside what was promised"
				if *measured+1.96**se >= p.Low && *measured-1.96**se <= p.High {
					word = "in keeping with the promise"
				}
				p.Kept = fmt.Sprintf("Measured on the delivered club: %s, %s: %s.", changed, interval, word)
			}
		}
	}
	return true, kept.Err()
}

// sure says how sure one may be of a session, and why.
func sure(state *rolling.State, p *Session) []string {
	out := []string{fmt.Sprintf("%s counted, %s left out by the fitter.", plural(p.Shots, "shot", "shots"), map[bool]string{true: plural(p.LeftOut, "was", "were"), false: "none was"}[p.LeftOut > 0])}
	for _, shot := range state.Shots {
		if shot.Status == "excluded" && shot.Reason != "" {
			out = append(out, fmt.Sprintf("Shot %d was left out: “%s”.", shot.Number, shot.Reason))
		}
	}
	out = append(out, "“Better” and “worse” are said only where chance alone would bring it about in fewer than 5 of 100 sessions, however often one looks. That holds for each outcome by itself: of many clubs and outcomes one may look good by luck.")
	fleet := false
	for _, c := range state.Comparisons {
		for _, o := range c.Outcomes {
			fleet = fleet || o.Prior.Fleet()
		}
	}
	if fleet {
		out = append(out, "Before the first shot, other players' shots with such a change were taken into account. They move the odds and the best guess; they can't make “better” or “worse” by themselves.")
	} else {
		out = append(out, "Nothing but this session's shots speaks here, and the belief from the outset that most changes of a club do little.")
	}
	if p.Category != "putter" {
		out = append(out, "How far the ball rolls out is not judged. Another ball, ground, wind or day may change the numbers; differences between clubs last better than the numbers themselves.")
	}
	few := 0
	for _, t := range p.Tried {
		if t.Shots > 0 && t.Shots < 10 {
			few++
		}
	}
	if few > 0 {
		out = append(out, fmt.Sprintf("%s hit fewer than ten times: even ten shots show a spread that was halved only one time in four.", plural(few, "club was", "clubs were")))
	}
	return out
}

func finite(x ...float64) bool {
	for _, v := range x {
		if v != v || v > 1e300 || v < -1e300 {
			return false
		}
	}
	return true
}
