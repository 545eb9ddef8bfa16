package sheets

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"fairlead/dashboards/figure"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
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
	Short    Short      `json:"in_short"`
	Open     bool       `json:"open,omitempty"`
	Tried    []Tried    `json:"tried"`
	Found    []Finding  `json:"found"`
	Decided  []Decision `json:"decided"`
	Back     []string   `json:"taken_back,omitempty"` // verdicts that no longer hold
	Earlier  *Earlier   `json:"earlier,omitempty"`
	Sure     []string   `json:"how_sure"`
	Quoted   []Quoted   `json:"quoted,omitempty"` // what the orders of it cost

	Drawings []Drawing `json:"-"`
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
	now, err := s.hit(ctx, b, v)
	if err != nil {
		return nil, err
	}
	state := s.state(b, v, now)
	p := &Session{Session: v.ID, Bay: b.bay, Category: v.Category, Fitter: s.name(v.Fitter), Begun: s.at(v.From), Aim: v.Aim, Open: v.Open(),
		Decided: []Decision{}}
	if state.Session == nil {
		p.Short = short(p)
		return p, nil
	}
	p.Quoted = quoted(b.tl, v.ID)
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
			p.Back = append(p.Back, fmt.Sprintf("A verdict of %s (“%s”) was taken back and does not hold.", s.at(ev.EffectiveUnixNs).Format("15:04"),
				strings.ReplaceAll(kindWord(g.Kind), "_", " ")))
		}
	}
	chosen, drawn := clubs(&state, p.Decided)
	for i := range p.Found {
		p.Found[i].Chosen = chosen != 0 && p.Found[i].clubNo == chosen
	}
	p.Found = slices.DeleteFunc(p.Found, func(f Finding) bool { return f.nothing(p.Tried) })
	p.Tried = slices.DeleteFunc(p.Tried, Tried.empty)
	if p.Earlier, err = s.earlier(ctx, b, v, now, u); err != nil {
		return nil, err
	}
	p.Sure = sure(&state, p)
	p.Drawings = drawings(&state, drawn, u)
	p.Short = short(p)
	return p, nil
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
		out = append(out, "green speed "+u.Pick(figure.In("m", 1, 2), figure.In("ft", 1/0.3048, 1)).Text(*s.GreenSpeedM))
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
	for i, d := range decided {
		chosen = 0
		for _, t := range state.Trials {
			if t.ID == d.trial && t.Club != base && d.Ordered {
				chosen = t.Club
			}
			if t.ID == d.trial {
				decided[i].club = t.Club
			}
		}
	}
	if chosen != 0 {
		drawn = chosen
	}
	return chosen, drawn
}
