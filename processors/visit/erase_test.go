package visit

import (
	"testing"

	"pgregory.net/rapid"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
)

// aDay is a session of ada's that was erased, and one of somebody else's.
func aDay() []*event.VisitEvent {
	ev := func(id string, at int64, session string, body func(*event.VisitEvent)) *event.VisitEvent {
		e := &event.VisitEvent{Contract: 1, Id: id, Studio: "harbour-row", Bay: "north", Visit: "v", Session: session, EffectiveUnixNs: at,
			RecordedUnixNs: at, Journal: "c", Seq: uint64(at)}
		body(e)
		return e
	}
	open := func(player string) func(*event.VisitEvent) {
		return func(e *event.VisitEvent) {
			e.Body = &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: player, Hand: event.Hand_HAND_LEFT,
				Category: "iron", Aim: "softer", PoolingConsent: true}}
		}
	}
	start := func(trial string) func(*event.VisitEvent) {
		return func(e *event.VisitEvent) {
			e.Body = &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: trial, Build: &event.Build{Name: "Skerry"}}}
		}
	}
	feel := func(e *event.VisitEvent) {
		e.Body = &event.VisitEvent_FeelNoted{FeelNoted: &event.FeelNoted{Words: "heavy", Liking: 1}}
	}
	told := func(e *event.VisitEvent) {
		e.Body = &event.VisitEvent_InstructionNoted{InstructionNoted: &event.InstructionNoted{Words: "stand closer"}}
	}
	verdict := func(e *event.VisitEvent) {
		e.Body = &event.VisitEvent_VerdictGiven{VerdictGiven: &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD, Trial: "t1",
			Words: "this one"}}
	}
	return []*event.VisitEvent{
		ev("e1", 1, "s1", open("p-ada")), ev("e2", 2, "s1", start("t1")), ev("e3", 3, "s1", told), ev("e4", 4, "s1", feel),
		ev("e5", 5, "s1", verdict),
		ev("e6", 6, "s2", open("p-bo")), ev("e7", 7, "s2", start("t2")), ev("e8", 8, "s2", feel), ev("e9", 9, "s2", verdict),
		ev("x1", 20, "s1", func(e *event.VisitEvent) {
			e.Body = &event.VisitEvent_SessionErased{SessionErased: &event.SessionErased{Player: "p-ada"}}
		}),
		ev("v1", 30, "s1", func(e *event.VisitEvent) { e.Body = &event.VisitEvent_Voided{Voided: &event.Voided{Event: "x1"}} }),
	}
}

func TestAnErasedSessionIsBlankAndStaysSo(t *testing.T) {
	l := &Log{}
	for _, ev := range aDay() {
		l.Add(ev)
	}
	tl := l.Timeline()
	if len(tl.Oddities) != 1 || tl.Oddities[0].Event != "v1" {
		t.Errorf("the void that does nothing: %+v", tl.Oddities)
	}
	s := tl.Session("s1")
	if !s.Erased || s.Player != "" || s.Aim != "" || s.Consent || s.Hand != 0 || len(s.Verdicts) != 0 || len(s.Trials) != 1 {
		t.Errorf("erased: %+v", s)
	}
	if trial := s.Trials[0]; trial.Build.GetName() != "" || len(trial.Feels) != 0 || trial.Parts[1].Instruction != "" {
		t.Errorf("its trial: %+v", trial)
	}
	o := tl.Session("s2")
	if o.Erased || o.Player != "p-bo" || o.Aim == "" || len(o.Verdicts) != 1 || o.Trials[0].Build.GetName() != "Skerry" ||
		len(o.Trials[0].Feels) != 1 {
		t.Errorf("the other session: %+v", o)
	}
	if at := tl.At(3); at.Session != s || at.Instruction != "" {
		t.Errorf("span: %+v", at)
	}
}

// Whole events, what is left of them, or both, in any order: one and the same
// log, of the same size.
func TestErasedEventsAreTheSameFacts(t *testing.T) {
	whole := &Log{}
	for _, ev := range aDay() {
		whole.Add(ev)
	}
	want := whole.Timeline()
	proof.Check(t, func(t *rapid.T) {
		var given []*event.VisitEvent
		for _, ev := range aDay() {
			if ev.Session == "s1" && ev.Id != "x1" {
				how := rapid.IntRange(0, 2).Draw(t, ev.Id)
				if how != 1 {
					given = append(given, ev)
				}
				if how != 0 {
					given = append(given, Erase(ev))
				}
				continue
			}
			given = append(given, ev)
		}
		l := &Log{}
		for _, ev := range rapid.Permutation(given).Draw(t, "order") {
			l.Add(ev)
		}
		got := l.Timeline()
		if l.Len() != whole.Len() || got.Events != want.Events || len(got.Spans) != len(want.Spans) {
			t.Fatalf("%d facts, %d spans; want %d, %d", l.Len(), len(got.Spans), whole.Len(), len(want.Spans))
		}
		for _, ev := range l.All() {
			if ev.Session == "s1" && ev.Id != "x1" && !ev.Erased {
				t.Fatalf("the log still holds %v", ev)
			}
		}
		for i := range got.Sessions {
			g, w := got.Sessions[i], want.Sessions[i]
			if g.ID != w.ID || g.Player != w.Player || g.Erased != w.Erased || g.From != w.From || g.To != w.To ||
				len(g.Verdicts) != len(w.Verdicts) ||
				len(g.Trials) != len(w.Trials) || g.Trials[0].BuildKey != w.Trials[0].BuildKey {
				t.Fatalf("session %+v, want %+v", g, w)
			}
		}
	})
}
