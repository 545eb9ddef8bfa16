package sheets

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/visit"
)

// Sheet is what the workshop gets. Numbers beside texts are in stored units:
// m, kg, kg·m about the 14-inch fulcrum, degrees, cycles a minute.
type Sheet struct {
	Order    string    `json:"order"`            // id of the verdict
	Number   string    `json:"number,omitempty"` // of the order that was placed, as people say it; empty: none was
	IsOrder  bool      `json:"is_order"`
	Kind     string    `json:"kind"` // of the verdict: build, keep_gamer, …
	Says     string    `json:"says"` // the verdict in plain words
	Words    string    `json:"words,omitempty"`
	Decided  time.Time `json:"decided"`
	Studio   string    `json:"studio"`
	Bay      string    `json:"bay"`
	Visit    string    `json:"visit"`
	Player   string    `json:"player"` // name, or the pseudonym where no name is known
	PlayerID string    `json:"player_id"`
	Fitter   string    `json:"fitter"`
	Hand     string    `json:"hand"` // right, left, unknown
	Category string    `json:"category"`
	Units    string    `json:"units"`
	Alerts   []Alert   `json:"alerts"`

	Build    string      `json:"build,omitempty"`     // what the fitter called it
	TestClub string      `json:"test_club,omitempty"` // id of the club that was hit
	Trial    string      `json:"trial,omitempty"`
	Gamer    string      `json:"compared_with,omitempty"` // name of the club that differences are told against
	OwnClub  bool        `json:"compared_with_own_club"`
	OwnID    string      `json:"own_club_id,omitempty"`
	Groups   []Group     `json:"groups,omitempty"`
	Heft     *Heft       `json:"heft,omitempty"`
	Work     []Operation `json:"work,omitempty"`
	Check    string      `json:"check_trial,omitempty"` // the hit check that was made

	bench *event.Build // what the bench measured last; nil: nothing yet
}

// Alert is something that whoever holds the paper has to know first.
type Alert struct {
	Stop bool   `json:"stop"` // do not build before it is settled
	Text string `json:"text"`
}

// Group is what one station of the bench looks at.
type Group struct {
	Name  string `json:"name"`
	Parts []Part `json:"parts"`
}

// Part is one specification of the build.
type Part struct {
	Field     string   `json:"field"`
	Label     string   `json:"label"`
	Value     string   `json:"value"` // in the bench's units; 'unknown'
	SI        string   `json:"si,omitempty"`
	Number    *float64 `json:"number,omitempty"` // in the stored unit
	Unit      string   `json:"unit,omitempty"`
	Knowledge string   `json:"knowledge"`           // measured, stated, unknown
	Against   string   `json:"compared_with"`       // the other club's value; 'unknown'
	Differs   string   `json:"differs"`             // changed, same, new (not known of the other), open (not known of this)
	Note      string   `json:"note"`                // the difference in words
	Tolerance string   `json:"tolerance,omitempty"` // ± in the bench's units
	From      string   `json:"from,omitempty"`      // the least that passes
	To        string   `json:"to,omitempty"`        // the most
	Plus      *float64 `json:"tolerance_number,omitempty"`
	PlusUnit  string   `json:"tolerance_unit,omitempty"`
	Measure   bool     `json:"measure"`   // to be measured on the finished club
	Settle    bool     `json:"to_settle"` // unknown, and needed to build what was hit
	// What was measured of the delivered club, by its hit check.
	Built       string   `json:"as_built,omitempty"`
	BuiltNumber *float64 `json:"as_built_number,omitempty"` // in the stored unit
	BuiltOff    bool     `json:"as_built_off,omitempty"`    // beyond the tolerance
}

var kinds = map[event.VerdictKind]string{
	event.VerdictKind_VERDICT_BUILD:      "Make this build.",
	event.VerdictKind_VERDICT_KEEP_GAMER: "Keep the own club: there is nothing to build.",
	event.VerdictKind_VERDICT_SETUP:      "The set-up or the swing, not the club: there is nothing to build.",
	event.VerdictKind_VERDICT_ADD_CLUB: "Add a club to the bag. That is advice on the set and names no build to make: give a verdict that " +
		"names the build before anything is ordered.",
	event.VerdictKind_VERDICT_DROP_CLUB:  "Leave a club out of the bag: there is nothing to build.",
	event.VerdictKind_VERDICT_TEST_AGAIN: "Test again before deciding: there is nothing to build yet.",
	event.VerdictKind_VERDICT_BALL:       "Play another ball: there is nothing to build.",
	event.VerdictKind_VERDICT_REFER:      "The player was referred to a qualified person: there is nothing to build.",
}

func kindWord(k event.VerdictKind) string {
	return strings.TrimPrefix(strings.ToLower(k.String()), "verdict_")
}

// Sheet makes the build sheet of a verdict; ErrNoVerdict where none of this id
// is stored.
func (s *Source) Sheet(ctx context.Context, id string, u Units) (*Sheet, error) {
	ev, b, err := s.verdict(ctx, id)
	if err != nil {
		return nil, err
	}
	out := s.sheet(ev, b, u)
	if out.IsOrder {
		if out.Check, err = s.hitCheck(ctx, id); err != nil {
			return nil, err
		}
		made, err := s.asBuilt(ctx, id, out.bench)
		if err != nil {
			return nil, err
		}
		out.built(made, u)
		if out.Check != "" {
			out.note("This club was delivered and hit already: the order is done.")
		}
	}
	return out, nil
}

func (s *Source) sheet(ev *event.VisitEvent, b *book, u Units) *Sheet {
	given := ev.GetVerdictGiven()
	out := &Sheet{Order: ev.Id, Kind: kindWord(given.GetKind()), Says: kinds[given.GetKind()], Words: given.GetWords(),
		Decided: s.at(ev.EffectiveUnixNs), Studio: s.Studio, Bay: b.bay, Visit: ev.Visit, Hand: "unknown", Units: u.Word(), Alerts: []Alert{}}
	session := b.tl.Session(ev.Session)
	if session != nil {
		out.PlayerID, out.Player, out.Category = session.Player, s.name(session.Player), session.Category
		out.Hand = strings.ToLower(strings.TrimPrefix(session.Hand.String(), "HAND_"))
		out.Fitter = s.name(session.Fitter)
	}
	if ev.Who != "" {
		out.Fitter = s.name(ev.Who)
	}
	if ev.Erased || session != nil && session.Erased {
		out.stop("The player asked to be forgotten: what was decided here is erased, and nothing can be ordered from it.")
		out.Says, out.Words = "Erased at the player's request.", ""
		return out
	}
	void := b.voidOf(ev.Id)
	switch {
	case void != nil:
		text := "VOID. This verdict was taken back on " + s.at(void.RecordedUnixNs).Format("2 January 2006, 15:04")
		if why := void.GetVoided().GetReason(); why != "" {
			text += ": " + strings.TrimSuffix(why, ".")
		}
		out.stop(text + ". Do not build from this sheet.")
	case session == nil:
		out.stop("The session of this verdict was taken back. Do not build from this sheet.")
	case session.MovedTo != "":
		out.stop(fmt.Sprintf("The session was moved to bay %s. Print its sheet from there.", session.MovedTo))
	}
	if given.GetKind() != event.VerdictKind_VERDICT_BUILD {
		return out
	}
	out.IsOrder = len(out.Alerts) == 0
	var trial *visit.Trial
	if given.Trial != "" {
		trial = b.tl.Trial(given.Trial)
	}
	build := given.Build
	if len(build.GetSpecs()) == 0 && trial != nil {
		build = trial.Build
		out.note("The verdict names the trial only: what is printed is the trial's build as it is known today.")
	}
	s.order(out, b, session, ev, build, trial, u)
	return out
}

// order fills in what to make.
func (s *Source) order(out *Sheet, b *book, session *visit.Session, ev *event.VisitEvent, build *event.Build, trial *visit.Trial, u Units) {
	given := ev.GetVerdictGiven()
	hit := build // what the verdict names; what was ordered may say more
	build = out.placed(b, ev.Id, build)
	out.Build, out.TestClub, out.Trial = build.GetName(), build.GetClubId(), given.Trial
	if out.TestClub == "" && trial != nil {
		out.TestClub = trial.Build.GetClubId()
	}
	if len(build.GetSpecs()) == 0 {
		out.IsOrder = false
		out.stop("Nothing is known of the build that was chosen: not one specification was entered. Ask the fitter before anything is made.")
	}
	base := comparedWith(b, session, given)
	if base != nil {
		out.Gamer, out.OwnClub, out.OwnID = base.GetName(), base.GetGamer(), base.GetClubId()
		if out.Gamer == "" {
			out.Gamer = map[bool]string{true: "the own club", false: "the club it was compared with"}[base.GetGamer()]
		}
	}
	s.since(out, b, session, ev, hit, trial, u)
	category := glossary.Category(out.Category)
	out.Groups = groups(category, build, base, u)
	_, weighed := build.Number(event.BuildField_BUILD_SWING_WEIGHT)
	_, total := build.Number(event.BuildField_BUILD_TOTAL_WEIGHT)
	if category != glossary.Putter || weighed || total { // of a putter nobody asks it
		out.Heft = heft(build, u)
	}
	if out.Heft != nil && out.Heft.Verdict == doesNotAddUp {
		out.stop("The specifications do not add up: " + strings.Join(out.Heft.Warnings, " ") +
			" Settle it with the fitter before anything is cut.")
	}
	out.Work = work(category, build, base)
	var open []string
	for _, g := range out.Groups {
		for _, p := range g.Parts {
			if p.Settle {
				open = append(open, strings.ToLower(p.Label))
			}
		}
	}
	if len(open) > 0 {
		out.note("Unknown, to be settled with the fitter before it is built: " + strings.Join(open, ", ") + ".")
	}
}

// since says what happened to the build after the verdict.
func (s *Source) since(out *Sheet, b *book, session *visit.Session, ev *event.VisitEvent, build *event.Build, trial *visit.Trial, u Units) {
	if trial != nil {
		var amended *event.VisitEvent
		for _, e := range b.log.Events() {
			if a := e.GetBuildAmended(); a != nil && a.Trial == trial.ID && e.RecordedUnixNs > ev.RecordedUnixNs {
				amended = e
			}
		}
		changes := differences(build, trial.Build, u)
		switch {
		case amended != nil && len(changes) > 0:
			out.stop(fmt.Sprintf("CORRECTED SINCE. After this verdict, on %s, the build of trial %d was corrected: %s. The figures below are "+
				"those of the verdict. Have the fitter give the verdict again.",
				s.at(amended.RecordedUnixNs).Format("2 January 2006, 15:04"), trial.Number, strings.Join(changes, "; ")))
		case len(changes) > 0:
			out.note(fmt.Sprintf("Not hit like this: the club of trial %d differs from what is ordered: %s. What the shots showed was shown with "+
				"that club.", trial.Number, strings.Join(changes, "; ")))
		}
	}
	if session == nil {
		return
	}
	for _, v := range session.Verdicts {
		if v.Event != ev.Id && (v.At > ev.EffectiveUnixNs || v.At == ev.EffectiveUnixNs && v.Event > ev.Id) {
			out.stop(fmt.Sprintf("A LATER VERDICT was given in the same session, on %s: “%s”. Make sure which one holds.",
				s.at(v.At).Format("2 January 2006, 15:04"), strings.Join(append([]string{visit.VerdictWord(v.Given.GetKind())},
					ofBuild(v.Given)...), ", ")))
		}
	}
}

func (s *Sheet) stop(text string) { s.Alerts = append(s.Alerts, Alert{true, text}) }
func (s *Sheet) note(text string) { s.Alerts = append(s.Alerts, Alert{false, text}) }

// voidOf is the event that takes another back and is in force, nil where it stands.
func (b *book) voidOf(id string) *event.VisitEvent {
	standing := slices.ContainsFunc(b.log.Events(), func(e *event.VisitEvent) bool { return e.Id == id })
	if standing {
		return nil
	}
	var by *event.VisitEvent
	for _, e := range b.log.All() {
		if e.GetVoided().GetEvent() == id {
			by = e
		}
	}
	return by
}

// comparedWith is the build that differences are told against: the own club of
// the session, else the verdict's baseline. Nil where there is none.
func comparedWith(b *book, session *visit.Session, given *event.VerdictGiven) *event.Build {
	base := b.tl.Trial(given.GetBaseline())
	if base != nil && base.Build.GetGamer() {
		return base.Build
	}
	if session != nil {
		for _, t := range session.Trials {
			if t.Build.GetGamer() {
				return t.Build
			}
		}
	}
	if base != nil {
		return base.Build
	}
	return nil
}

// differences lists in words how a build differs from another one.
func differences(from, to *event.Build, u Units) (out []string) {
	for _, info := range event.BuildFields() {
		x, y := from.Spec(info.Field), to.Spec(info.Field)
		if same(x, y) {
			continue
		}
		out = append(out, fmt.Sprintf("%s %s, there %s", strings.ToLower(info.Label), specText(u, x, info), specText(u, y, info)))
	}
	return out
}

// same says whether two parts are known to be the same, or both unknown. How
// they are known is no difference.
func same(x, y *event.Spec) bool {
	return x == nil && y == nil || x != nil && y != nil && x.Number == y.Number && x.Text == y.Text
}
