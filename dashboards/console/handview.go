package console

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"fairlead/dashboards/console/people"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	bench "fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
)

// handView is what the forms offer, from the console's own events.
type handView struct {
	Open     bool
	Paused   bool
	Running  string // trial id
	RunningN int
	Player   string // pseudonym
	Called   string // and how the page calls them: their name where they have one
	Category string
	Resting  []codeName  // sessions whose players wait for their turn
	Trials   []handTrial // latest first
	Base     string      // trial that a new build starts from
	Parts    []partView  // of a build, with what is known of the one in hand
	Latest   []partView  // and of the trial that the forms name first
	// Delivered are those that are measured on a club that was delivered.
	Delivered []partView
	Cut       int    // how many of them lead
	Undo      string // event that would be taken back
	UndoText  string
	Redo      string // taking-back that would be taken back
	RedoText  string
	Felt      []string // the studio's own words for a feel, those said most first
	Told      []string // and for an instruction
	Players   []people.Person
	Fitters   []people.Person
	Bays      []string
	Cats      []string
	Hitter    string
	Class     string
	Intent    string
	History   []historyItem // latest first
	Seen      string
	Guard     Guard
	Settings  []string   // where and with what is hit now, in words
	Orders    []order    // verdicts whose club may be delivered, the player's and the latest first
	TestClubs []codeName // of the kind that is hit, here or elsewhere
	Lots      []lot      // the clubs that one may be drawn from, the session's and test clubs; nil: fewer than two
}

// order is a build that was decided on, of any bay.
type order struct {
	ID, Text string
	Chosen   bool
}

type handTrial struct {
	ID, Label string
	Number    int
	Now       string // what is known of its build, for the choosers: JSON by part
	Made      bool   // the latest that is not the player's own club: one that was delivered, where one is hit
}

type partView struct {
	Name, Label, Now, Unit string
	Checked                bool     // measured on a delivered club
	Measured               bool     // as it is known now
	On                     string   // the physical club that it was measured on
	Number                 string   // what is known, as a bare number in Unit; empty: nothing, or words
	Step, Own              float64  // the trade's step in its own unit, and in Unit
	In                     string   // the unit of Step
	Lead                   bool     // what changes most often
	Words                  []string // that a text may be, to choose from
}

type historyItem struct{ ID, When, Text, Who string }

func (s *server) handView(bay string, state *rolling.State) handView {
	tl := s.writer.Timeline(bay)
	span := tl.Now()
	now := span.Setting()
	h := handView{Open: span.Session != nil, Paused: span.Paused, Players: s.people.List(people.Player), Fitters: s.people.List(people.Fitter),
		Bays: s.bays, Cats: glossary.CategoryNames(), Hitter: state.Now.Hitter, Class: state.Now.Class, Intent: state.Now.Intent,
		Guard: guardOf(span), Settings: s.units.setting(now, categoryOf(span))}
	if state.LastSeen != nil {
		h.Seen = fmt.Sprintf("%s/%d", state.LastSeen.Journal, state.LastSeen.Seq)
	}
	var base, latest, made *event.Build
	session := span.Session
	if session == nil {
		session = tl.Latest(visit.Never, nil)
	}
	for _, rests := range tl.Resting(visit.Never - 1) {
		h.Resting = append(h.Resting, codeName{rests.ID, s.people.Name(rests.Player) + ", " + rests.Category})
	}
	if session != nil {
		h.Player, h.Called, h.Category = session.Player, s.people.Name(session.Player), session.Category
		for i := len(session.Trials) - 1; i >= 0; i-- {
			t := session.Trials[i]
			if latest == nil {
				latest = t.Build
			}
			first := made == nil && !t.Build.GetGamer()
			if first {
				made = t.Build
			}
			h.Trials = append(h.Trials, handTrial{t.ID, fmt.Sprintf("%d · %s", t.Number, nonEmpty(t.Build.GetName(), "unnamed")), t.Number,
				s.knownParts(session.Category, t.Build), first})
		}
		if last := session.InHand(); last != nil && h.Open {
			h.Base, base = last.ID, last.Build
		}
	}
	if span.Trial != nil {
		h.Running, h.RunningN = span.Trial.ID, span.Trial.Number
	}
	h.Parts, h.Latest = s.grid(h.Category, base), s.grid(h.Category, latest)
	for _, p := range h.Parts {
		if p.Lead {
			h.Cut++
		}
	}
	h.Delivered = h.Latest
	if made != nil && made != latest {
		h.Delivered = s.grid(h.Category, made)
	}
	h.Delivered = deliveredParts(h.Delivered)
	for _, t := range s.shelf(context.Background()).TestClubs() {
		if h.Category == "" || t.GetCategory() == h.Category {
			one := s.testClub(s.shelf(context.Background()), t)
			h.TestClubs = append(h.TestClubs, codeName{t.GetClubId(), strings.Trim(one.Club+", "+one.Where+", "+one.Known, ", ")})
		}
	}
	h.Lots = lots(session, h.TestClubs)
	h.Felt, h.Told = s.writer.saidMost()
	h.Orders = s.deliverable(session)
	live := visit.Hand(s.writer.Live(bay))
	slices.SortStableFunc(live, func(a, b *event.VisitEvent) int { return int(min(max(a.RecordedUnixNs-b.RecordedUnixNs, -1), 1)) })
	if redo := visit.Redoable(s.writer.Events(bay)); redo != nil {
		h.Redo = redo.Id
		h.RedoText = s.describe(tl, s.writer.event(bay, redo.GetVoided().GetEvent()))
	}
	for i := len(live) - 1; i >= 0 && len(h.History) < 12; i-- {
		ev := live[i]
		item := historyItem{ev.Id, s.clock(ev.RecordedUnixNs), s.describe(tl, ev), ""}
		if ev.Who != "" {
			item.Who = s.people.Name(ev.Who)
		}
		if len(h.History) == 0 {
			h.Undo, h.UndoText = item.ID, item.Text
		}
		h.History = append(h.History, item)
	}
	return h
}

// categoryOf is what is hit now; empty: nothing.
func categoryOf(span *visit.Span) string {
	if span.Session == nil {
		return ""
	}
	return span.Session.Category
}

// mostDeliverable is how many orders a hit check is offered.
const mostDeliverable = 30

// deliverable lists the builds that were decided on in any bay, those of the session's
// player first, and chooses the one whose finished club is in hand: a session that
// was opened for a hit check says what it checks.
func (s *server) deliverable(session *visit.Session) (out []order) {
	decided := s.book.decided(context.Background())
	for _, theirs := range []bool{true, false} {
		for _, d := range decided {
			here := session != nil && d.of.Player == session.Player && d.of.Category == session.Category
			if here != theirs || len(out) == mostDeliverable {
				continue
			}
			one := order{ID: d.verdict.Event, Text: fmt.Sprintf("%s, %s, %s", s.people.Name(d.of.Player),
				nonEmpty(d.verdict.Given.GetBuild().GetName(), d.of.Category), time.Unix(0, d.verdict.At).Format("2 Jan 2006"))}
			for _, o := range d.orders {
				one.Text += ", " + bench.Label(o.Number())
				one.Chosen = one.Chosen || here && isFinished(o, session)
			}
			if d.hit > 0 {
				one.Text += ", hit " + time.Unix(0, d.hit).Format("2 Jan")
			}
			out = append(out, one)
		}
	}
	return out
}

// isFinished says whether a session began with a club of an order as it left the bench.
func isFinished(o *visit.Order, session *visit.Session) bool {
	if len(session.Trials) == 0 {
		return false
	}
	first := session.Trials[0].Stated
	return slices.ContainsFunc(o.Placed.Given.GetClubs(), func(c *event.OrderedClub) bool {
		made := o.Made(c)
		return first.GetName() == c.GetName() && !slices.ContainsFunc(event.BuildFields(), func(info event.BuildFieldInfo) bool {
			a, b := first.Spec(info.Field), made.Spec(info.Field)
			return a.GetNumber() != b.GetNumber() || a.GetText() != b.GetText()
		})
	})
}

// lot is a club that may be drawn: by the trial in which it was hit, or a test club.
type lot struct{ ID, Label string }

// lots are the session's clubs, each by its latest trial, and the test clubs that were
// not hit in it.
func lots(session *visit.Session, clubs []codeName) (out []lot) {
	if session == nil {
		return nil
	}
	seen, hit := map[string]bool{}, map[string]bool{}
	for _, t := range slices.Backward(session.Trials) {
		hit[t.Build.GetClubId()] = true
		if !seen[t.BuildKey] {
			seen[t.BuildKey] = true
			out = append(out, lot{t.ID, fmt.Sprintf("%d · %s", t.Number, nonEmpty(t.Build.GetName(), "unnamed"))})
		}
	}
	for _, c := range clubs {
		if !hit[c.Code] {
			out = append(out, lot{c.Code, c.Code + ", " + c.Name})
		}
	}
	if len(out) < 2 {
		return nil
	}
	return out
}
