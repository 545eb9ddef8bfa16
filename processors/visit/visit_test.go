package visit

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
)

// script writes events in order, one a minute from nine o'clock, ids e1, e2, …
type script struct {
	log Log
	n   int
}

var nine = time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC).UnixNano()

func minute(n int) int64 { return nine + int64(n)*int64(time.Minute) }

func (s *script) add(body any, change ...func(*event.VisitEvent)) *event.VisitEvent {
	s.n++
	ev := &event.VisitEvent{
		Contract: 1, Id: fmt.Sprintf("e%d", s.n), Studio: "harbour-row", Bay: "north", Journal: "console", Seq: uint64(s.n),
		Visit: "v", EffectiveUnixNs: minute(s.n), RecordedUnixNs: minute(s.n),
	}
	switch b := body.(type) {
	case *event.SessionOpened:
		ev.Body = &event.VisitEvent_SessionOpened{SessionOpened: b}
	case *event.TurnTaken:
		ev.Body = &event.VisitEvent_TurnTaken{TurnTaken: b}
	case *event.SessionClosed:
		ev.Body = &event.VisitEvent_SessionClosed{SessionClosed: b}
	case *event.SettingChanged:
		ev.Body = &event.VisitEvent_SettingChanged{SettingChanged: b}
	case *event.TrialStarted:
		ev.Body = &event.VisitEvent_TrialStarted{TrialStarted: b}
	case *event.TrialPaused:
		ev.Body = &event.VisitEvent_TrialPaused{TrialPaused: b}
	case *event.TrialResumed:
		ev.Body = &event.VisitEvent_TrialResumed{TrialResumed: b}
	case *event.TrialEnded:
		ev.Body = &event.VisitEvent_TrialEnded{TrialEnded: b}
	case *event.BuildAmended:
		ev.Body = &event.VisitEvent_BuildAmended{BuildAmended: b}
	case *event.HitterChanged:
		ev.Body = &event.VisitEvent_HitterChanged{HitterChanged: b}
	case *event.InstructionNoted:
		ev.Body = &event.VisitEvent_InstructionNoted{InstructionNoted: b}
	case *event.IntentChanged:
		ev.Body = &event.VisitEvent_IntentChanged{IntentChanged: b}
	case *event.ClassChanged:
		ev.Body = &event.VisitEvent_ClassChanged{ClassChanged: b}
	case *event.FeelNoted:
		ev.Body = &event.VisitEvent_FeelNoted{FeelNoted: b}
	case *event.ShotsExcluded:
		ev.Body = &event.VisitEvent_ShotsExcluded{ShotsExcluded: b}
	case *event.ShotsRestored:
		ev.Body = &event.VisitEvent_ShotsRestored{ShotsRestored: b}
	case *event.ShotsMoved:
		ev.Body = &event.VisitEvent_ShotsMoved{ShotsMoved: b}
	case *event.ShotsUnpaired:
		ev.Body = &event.VisitEvent_ShotsUnpaired{ShotsUnpaired: b}
	case *event.SessionCorrected:
		ev.Body = &event.VisitEvent_SessionCorrected{SessionCorrected: b}
	case *event.VerdictGiven:
		ev.Body = &event.VisitEvent_VerdictGiven{VerdictGiven: b}
	case *event.HitChecked:
		ev.Body = &event.VisitEvent_HitChecked{HitChecked: b}
	case *event.PriorTaken:
		ev.Body = &event.VisitEvent_PriorTaken{PriorTaken: b}
	case string:
		ev.Body = &event.VisitEvent_Voided{Voided: &event.Voided{Event: b}}
	}
	for _, c := range change {
		c(ev)
	}
	s.log.Add(ev)
	return ev
}

func session(id string) func(*event.VisitEvent) {
	return func(ev *event.VisitEvent) { ev.Session = id }
}

func trial(id string) *event.TrialStarted {
	return &event.TrialStarted{Trial: id, Build: &event.Build{Name: id}}
}

// at shows what holds: session/trial#part, or what is missing.
func (s *script) at(ns int64) string {
	span := s.log.Timeline().At(ns)
	switch {
	case span.Session == nil:
		return "-"
	case span.Paused:
		return span.Session.ID + " paused"
	case span.Trial == nil:
		return span.Session.ID + " no trial"
	}
	return fmt.Sprintf("%s/%s#%d", span.Session.ID, span.Trial.ID, span.Part)
}

func (s *script) walk() string {
	var held []string
	for i := 0; i <= s.n; i++ {
		held = append(held, s.at(minute(i)))
	}
	return strings.Join(held, ", ")
}

func (s *script) oddities() string {
	var found []string
	for _, o := range s.log.Timeline().Oddities {
		found = append(found, o.Event+": "+o.Text)
	}
	return strings.Join(found, "\n")
}

func TestOrdersSensibleAndNot(t *testing.T) {
	player := func(s *script, id string) { s.add(&event.SessionOpened{Player: "p", Category: "iron"}, session(id)) }
	for name, c := range map[string]struct {
		play     func(*script)
		want     string
		oddities string // a part of each line, in order; empty: none
	}{
		"a plain session": {func(s *script) {
			player(s, "s")
			s.add(trial("a"))
			s.add(&event.InstructionNoted{Words: "ball back"})
			s.add(&event.TrialPaused{})
			s.add(&event.TrialResumed{})
			s.add(trial("b"))
			s.add(&event.TrialEnded{})
			s.add(&event.SessionClosed{})
		}, "-, s no trial, s/a#1, s/a#2, s paused, s/a#2, s/b#1, s no trial, -", ""},
		"a trial without a session": {func(s *script) { s.add(trial("a")) }, "-, -", "trial started while no session was open"},
		"everything without a session": {func(s *script) {
			s.add(&event.TrialPaused{})
			s.add(&event.HitterChanged{})
			s.add(&event.SessionClosed{})
		}, "-, -, -, -", "paused while\nhitter changed while\nclosed while"},
		"opened while open": {func(s *script) {
			player(s, "s")
			s.add(trial("a"))
			s.add(&event.TrialPaused{})
			player(s, "r")
			s.add(trial("b"))
		}, "-, s no trial, s/a#1, s paused, r no trial, r/b#1", ""},
		"opened twice under one id": {func(s *script) {
			player(s, "s")
			s.add(trial("a"))
			player(s, "s")
		}, "-, s no trial, s/a#1, s/a#1", "a second time; ignored"},
		"ended twice": {func(s *script) {
			player(s, "s")
			s.add(trial("a"))
			s.add(&event.TrialEnded{})
			s.add(&event.TrialEnded{})
			s.add(&event.TrialResumed{})
		}, "-, s no trial, s/a#1, s no trial, s no trial, s no trial", "ended a trial while none ran\nresumed what was not paused"},
		"paused between trials": {func(s *script) {
			player(s, "s")
			s.add(&event.TrialPaused{})
			s.add(trial("a"))
		}, "-, s no trial, s paused, s/a#1", ""},
		"back to an earlier trial": {func(s *script) {
			player(s, "s")
			s.add(trial("a"))
			s.add(trial("b"))
			s.add(trial("a"))
		}, "-, s no trial, s/a#1, s/b#1, s/a#2", ""},
		"started again": {func(s *script) {
			player(s, "s")
			s.add(trial("a"))
			s.add(&event.TrialPaused{})
			s.add(trial("a"))
		}, "-, s no trial, s/a#1, s paused, s/a#1", "ran already"},
		"a trial of another session": {func(s *script) {
			player(s, "s")
			s.add(trial("a"))
			player(s, "r")
			s.add(trial("b"))
			s.add(trial("a"))
		}, "-, s no trial, s/a#1, r no trial, r/b#1, r no trial", "of another session"},
		"for another session": {func(s *script) {
			player(s, "s")
			s.add(trial("a"), session("r"))
		}, "-, s no trial, s no trial", `in session "r" while "s" was open`},
		"no ids": {func(s *script) {
			player(s, "")
			s.add(trial(""))
		}, "-, e1 no trial, e1/e2#1", "without an id\nwithout an id"},
		"nothing said": {func(s *script) { s.add(nil) }, "-, -", "says nothing"},
		"a later contract": {func(s *script) {
			player(s, "s")
			s.add(trial("a"), func(ev *event.VisitEvent) { ev.Contract = 9 })
		}, "-, s no trial, s/a#1", "later version"},
		"voided": {func(s *script) {
			player(s, "s")
			s.add(trial("a"))
			s.add(trial("b"))
			s.add("e3")
		}, "-, s no trial, s/a#1, s/a#1, s/a#1", ""},
		"a void voided": {func(s *script) {
			player(s, "s")
			s.add(trial("a"))
			s.add("e2")
			s.add("e3")
			s.add("e4") // and that too
			s.add("e5")
		}, "-, s no trial, s/a#1, s/a#1, s/a#1, s/a#1, s/a#1", ""},
		"two voids, one taken back": {func(s *script) {
			player(s, "s")
			s.add(trial("a"))
			s.add("e2")
			s.add("e2")
			s.add("e3")
		}, "-, s no trial, s no trial, s no trial, s no trial, s no trial", ""},
		"voids in a circle": {func(s *script) {
			player(s, "s")
			s.add("e3")
			s.add("e2")
			s.add("e4")
		}, "-, s no trial, s no trial, s no trial, s no trial", "one another\none another\none another"},
		"a circle broken from outside": {func(s *script) {
			player(s, "s")
			s.add("e3")
			s.add("e2")
			s.add("e2")
		}, "-, s no trial, s no trial, s no trial, s no trial", ""},
		"a void of nothing": {func(s *script) { s.add("e9") }, "-, -", "not in the log"},
		"moved to an unknown trial": {func(s *script) {
			s.add(&event.ShotsMoved{ShotIds: [][]byte{make([]byte, 16)}, Trial: "x"})
		}, "-, -", "which nobody started; they stay"},
		"a broken shot id": {func(s *script) {
			s.add(&event.ShotsExcluded{ShotIds: [][]byte{{1}}})
		}, "-, -", "1 bytes instead of 16"},
		"of an unknown trial and session": {func(s *script) {
			s.add(&event.BuildAmended{Trial: "x"})
			s.add(&event.FeelNoted{})
			s.add(&event.VerdictGiven{}, session("x"))
			s.add(&event.HitChecked{})
			s.add(&event.SessionCorrected{}, session("x"))
		}, "-, -, -, -, -, -", "which nobody started\nnames no trial\nwhich nobody opened\nnames no session\nwhich nobody opened"},
		"one id twice": {func(s *script) {
			player(s, "s")
			s.add(trial("a"))
			s.add(trial("b"), func(ev *event.VisitEvent) { ev.Id = "e2" })
		}, "-, s no trial, s/a#1, s/a#1", "2 different events"},
	} {
		s := &script{}
		c.play(s)
		if got := s.walk(); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", name, got, c.want)
		}
		got, want := s.oddities(), c.oddities
		lines, parts := strings.Split(got, "\n"), strings.Split(want, "\n")
		bad := len(lines) != len(parts) || (got == "") != (want == "")
		for i := 0; !bad && i < len(lines); i++ {
			bad = !strings.Contains(lines[i], parts[i])
		}
		if bad {
			t.Errorf("%s: oddities\n%s\ninstead of\n%s", name, got, want)
		}
	}
}

func TestWhatIsSaidLaterHoldsForTheWhole(t *testing.T) {
	s := &script{}
	s.add(&event.SessionOpened{Player: "p", Hand: event.Hand_HAND_RIGHT, Category: "iron", PoolingConsent: true}, session("s"))
	s.add(&event.TrialStarted{Trial: "a", Build: &event.Build{Name: "gamer"}})
	s.add(&event.FeelNoted{Words: "heavy", Liking: -1}) // of the one that runs
	s.add(trial("b"))
	s.add(&event.SessionClosed{})
	amended := &event.Build{Specs: []*event.Spec{{Field: event.BuildField_BUILD_LENGTH, Number: 0.95}}}
	s.add(&event.BuildAmended{Trial: "a", Build: amended})
	s.add(&event.SessionCorrected{Player: "q", Hand: event.Hand_HAND_LEFT}, session("s"))
	s.add(&event.VerdictGiven{Kind: event.VerdictKind_VERDICT_KEEP_GAMER}, session("s"))
	s.add(&event.HitChecked{Verdict: "e8", Trial: "a"}, session("s"))
	s.add(&event.SessionCorrected{Bay: "south"}, session("s"))
	tl := s.log.Timeline()
	a, b := tl.Trial("a"), tl.Trial("b")
	if a.BuildKey != event.BuildKey(amended) || a.Stated.Name != "gamer" || len(a.Feels) != 1 || a.Feels[0].Words != "heavy" {
		t.Errorf("trial a is %+v", a)
	}
	if before, after := a.Neighbours(); before != nil || after != b || a.Number != 1 || b.Number != 2 || a.To != b.From {
		t.Errorf("neighbours of a: %v and %v", before, after)
	}
	session := tl.Session("s")
	if session.Player != "q" || session.Hand != event.Hand_HAND_LEFT || !session.Consent || session.Open() ||
		session.MovedTo != "south" || len(session.Verdicts) != 1 || len(session.Checks) != 1 ||
		session.Checks[0].Made.Verdict != session.Verdicts[0].Event {
		t.Errorf("the session is %+v", session)
	}
	s.add(&event.SessionCorrected{Bay: "north"}, func(ev *event.VisitEvent) { ev.Session = "s" })
	if m := s.log.Timeline().Session("s").MovedTo; m != "" {
		t.Errorf("moved back, it is still in %q", m)
	}
	if session.MovedTo != "south" {
		t.Error("a timeline changed after it was made")
	}
}

func TestSettingStaysAndTheRestEndsWithTheSession(t *testing.T) {
	s := &script{}
	height := 0.04
	s.add(&event.SettingChanged{Place: "indoor", TeeHeightM: &height})
	s.add(&event.SessionOpened{Hand: event.Hand_HAND_LEFT}, session("s"))
	s.add(&event.HitterChanged{Kind: event.HitterKind_HITTER_FITTER, Hitter: "f", Hand: event.Hand_HAND_RIGHT})
	s.add(&event.IntentChanged{Intent: event.Intent_INTENT_SHAPING})
	s.add(&event.ClassChanged{Class: event.ShotClass_CLASS_PARTIAL, LengthM: 50})
	s.add(&event.SettingChanged{Surface: "mat"})
	now := s.log.Timeline().Now()
	if now.Setting() != (Setting{Place: "indoor", Surface: "mat", TeeHeight: Number{0.04, true}}) {
		t.Errorf("the setting is %+v", now.Setting())
	}
	if now.Hand() != event.Hand_HAND_RIGHT || now.HitterID != "f" || now.Intent != event.Intent_INTENT_SHAPING || now.ClassLength != 50 {
		t.Errorf("it holds %+v", now)
	}
	setting := now.Setting()
	s.add(&event.SessionOpened{Hand: event.Hand_HAND_LEFT}, session("r"))
	now = s.log.Timeline().Now()
	if now.Setting() != setting || now.Setting().ID() != setting.ID() || len(setting.ID()) != 16 {
		t.Errorf("the next session has the setting %+v", now.Setting())
	}
	if now.Hand() != event.Hand_HAND_LEFT || now.Hitter != 0 || now.Intent != 0 || now.Class != 0 {
		t.Errorf("the next session holds %+v", now)
	}
	if id := (Setting{}).ID(); id != "" {
		t.Errorf("the unknown setting is called %q", id)
	}
}

func TestTheLastWordOnAShotCounts(t *testing.T) {
	s := &script{}
	id := event.ShotIDFor("d", "1")
	ids := [][]byte{id[:]}
	s.add(&event.SessionOpened{}, session("s"))
	s.add(trial("a"))
	s.add(&event.ShotsExcluded{ShotIds: ids, Reason: "thinned"})
	s.add(&event.ShotsMoved{ShotIds: ids, Trial: "a"})
	s.add(&event.ClassChanged{Class: event.ShotClass_CLASS_PRACTICE, ShotIds: ids})
	s.add(&event.ShotsUnpaired{ShotIds: ids})
	o := s.log.Timeline().Overlay(id)
	if !o.Excluded.Out || o.Excluded.Reason != "thinned" || o.Moved.Trial != "a" || o.Classed.Class != event.ShotClass_CLASS_PRACTICE ||
		!o.Unpaired {
		t.Errorf("said: %+v", o)
	}
	if in := s.log.Timeline().MovedInto(s.log.Timeline().Session("s")); !slices.Equal(in, []event.ShotID{id}) {
		t.Errorf("moved into the session: %v", in)
	}
	s.add(&event.ShotsRestored{ShotIds: ids})
	s.add(&event.ShotsMoved{ShotIds: ids})
	o = s.log.Timeline().Overlay(id)
	if o.Excluded.Out || o.Moved.Trial != "" {
		t.Errorf("said: %+v", o)
	}
	s.add("e8") // takes the second move back
	if o = s.log.Timeline().Overlay(id); o.Moved.Trial != "a" {
		t.Errorf("said: %+v", o)
	}
}

func TestPlaceOfUnsureEntries(t *testing.T) {
	s := &script{}
	saw := func(journal string, seq uint64) func(*event.VisitEvent) {
		return func(ev *event.VisitEvent) { ev.LastSeen = &event.Seen{Journal: journal, Seq: seq} }
	}
	s.add(&event.SessionOpened{}, session("s"))
	s.add(trial("a"), saw("j", 10))    // at minute 2
	s.add(trial("b"), saw("j", 20))    // at minute 3
	s.add(trial("c"), saw("else", 15)) // tells nothing of j
	tl := s.log.Timeline()
	hour := int64(time.Hour)
	for _, c := range []struct {
		seq             uint64
		effective, want int64
	}{
		{15, minute(2) + 5, minute(2) + 5},           // plausible: stands
		{15, minute(3), minute(3) - 1},               // seen when b was recorded, so hit before
		{15, minute(2) + hour, minute(3) - 1},        // a clock an hour ahead
		{15, minute(2) - hour, minute(2)},            // an hour behind: not yet seen at a
		{15, minute(1), minute(1)},                   // out of contact for a minute: believed
		{5, minute(2) + hour, minute(2) - 1},         // the tightest bound
		{25, minute(3) - hour, minute(3)},            // only bounded from below
		{25, minute(9) + hour, minute(9) + hour},     // nothing says otherwise
		{20, minute(3) + 1, minute(3) - 1},           // the entry seen last itself
		{21, minute(3) - 2*hour, minute(3)},          // the one behind it
		{10, minute(2) - 2*hour, minute(2) - 2*hour}, // no event before it
	} {
		if got := tl.Place("j", c.seq, c.effective); got != c.want {
			t.Errorf("entry %d at %v is placed at %v instead of %v", c.seq, time.Unix(0, c.effective).UTC(), time.Unix(0, got).UTC(),
				time.Unix(0, c.want).UTC())
		}
	}
	if got := tl.Place("other", 1, 7); got != 7 {
		t.Errorf("an entry of another journal is placed at %d", got)
	}
}
