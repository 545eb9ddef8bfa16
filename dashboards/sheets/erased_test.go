package sheets

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// bookOf folds events of one session in the order given.
func bookOf(bodies ...*event.VisitEvent) (*book, []*event.VisitEvent) {
	b := &book{bay: "north", log: &visit.Log{}}
	at := thisYear.UnixNano()
	for i, ev := range bodies {
		ev.Contract, ev.Studio, ev.Bay, ev.Visit, ev.Session = 1, testStudio, "north", "v-1", "s-1"
		ev.EffectiveUnixNs, ev.RecordedUnixNs, ev.Seq = at+int64(i)*int64(time.Second), at+int64(i)*int64(time.Second), uint64(i+1)
		if ev.Id == "" {
			ev.Id = string(rune('a' + i))
		}
		b.log.Add(ev)
	}
	b.tl = b.log.Timeline()
	return b, bodies
}

func opened() *event.VisitEvent {
	return &event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p-ada",
		Hand: event.Hand_HAND_LEFT, Category: "putter"}}}
}

func started(b *event.Build) *event.VisitEvent {
	return &event.VisitEvent{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "t-1", Build: b}}}
}

func verdict(g *event.VerdictGiven) *event.VisitEvent {
	return &event.VisitEvent{Id: "order", Body: &event.VisitEvent_VerdictGiven{VerdictGiven: g}}
}

func textOf(t *testing.T, s *Sheet) string {
	t.Helper()
	var b bytes.Buffer
	must(t, s.WriteText(&b))
	return b.String()
}

func TestAnErasedVerdictSaysNothingElse(t *testing.T) {
	build := &event.Build{Name: "Skerry", Specs: []*event.Spec{txt(event.BuildField_BUILD_HEAD_MODEL, "Skerry")}}
	b, all := bookOf(opened(), started(build),
		verdict(&event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD, Trial: "t-1", Build: build, Words: "softer"}),
		&event.VisitEvent{Body: &event.VisitEvent_SessionErased{SessionErased: &event.SessionErased{Player: "p-ada"}}})
	s := (&Source{Studio: testStudio}).sheet(all[2], b, Units{})
	if text := textOf(t, s); s.IsOrder || len(s.Groups) > 0 || strings.Contains(text, "Skerry") || strings.Contains(text, "softer") ||
		strings.Contains(text, "p-ada") || !strings.Contains(text, "asked to be forgotten") {
		t.Error(text)
	}
}

func TestAPutterOfATrialThatTheVerdictOnlyNames(t *testing.T) {
	build := &event.Build{Name: "Skerry\x1b[2J", ClubId: "P-9",
		Specs: []*event.Spec{txt(event.BuildField_BUILD_HEAD_MODEL, "Skerry"), num(event.BuildField_BUILD_TOE_HANG, stated, 30)}}
	b, all := bookOf(opened(), started(build), verdict(&event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD, Trial: "t-1"}))
	s := (&Source{Studio: testStudio}).sheet(all[2], b, Units{Imperial: true})
	text := textOf(t, s)
	has(t, "sheet", text, "LEFT hand", "names the trial only", "Toe hang", "test club P-9", "nothing: no other club is known",
		"not ordered yet")
	hasNot(t, "sheet", text, "\x1b", "own club: unknown", "STOP", "Swing weight", "Frequency", "Face angle", "add up")
	if !s.IsOrder {
		t.Error("no order")
	}
	// What the order says beyond the verdict stands on the sheet, by the order's number; the
	// row that says otherwise than the verdict is another club.
	row := func(name string, loft, lie float64) *event.OrderedClub {
		return &event.OrderedClub{Name: name, Category: "putter", Build: &event.Build{Specs: []*event.Spec{
			num(event.BuildField_BUILD_LIE, stated, lie), num(event.BuildField_BUILD_TOE_HANG, stated, loft)}}}
	}
	b, all = bookOf(append(all, &event.VisitEvent{Body: &event.VisitEvent_OrderPlaced{OrderPlaced: &event.OrderPlaced{Order: "2THAX5V",
		Verdict: "order", Clubs: []*event.OrderedClub{row("other", 20, 68), row("putter", 30, 71.25)}}}},
		&event.VisitEvent{Body: &event.VisitEvent_ClubBuilt{ClubBuilt: &event.ClubBuilt{Order: "2THAX5V", Club: "putter",
			Judgement: event.BuiltJudgement_BUILT_PASSED,
			Build:     &event.Build{Specs: []*event.Spec{num(event.BuildField_BUILD_LIE, measured, 71.5)}}}}})...)
	s = (&Source{Studio: testStudio}).sheet(all[2], b, Units{Imperial: true})
	s.built(s.bench, Units{Imperial: true})
	has(t, "ordered", textOf(t, s), "order 2TH-AX5V", "71.25°", "as built: 71.5°")
	hasNot(t, "ordered", textOf(t, s), "68°", "Not hit like this")
}

func TestAVerdictWithoutABuildOrdersNothing(t *testing.T) {
	b, all := bookOf(opened(), verdict(&event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD}))
	if s := (&Source{}).sheet(all[1], b, Units{}); s.IsOrder || !s.Alerts[0].Stop {
		t.Errorf("%+v", s)
	}
	for kind := range event.VerdictKind_name {
		k := event.VerdictKind(kind)
		if k != event.VerdictKind_VERDICT_NONE && (kinds[k] == "" || playerSays[k] == "") {
			t.Errorf("%s has no words", k)
		}
		b, all := bookOf(opened(), verdict(&event.VerdictGiven{Kind: k, Words: "see a physiotherapist"}))
		if s := (&Source{}).sheet(all[1], b, Units{}); s.IsOrder {
			t.Errorf("%s orders something", k)
		}
	}
}

// A void that was itself taken back leaves the order standing.
func TestAVoidTakenBackLeavesTheOrder(t *testing.T) {
	build := &event.Build{Specs: []*event.Spec{txt(event.BuildField_BUILD_HEAD_MODEL, "Skerry")}}
	b, all := bookOf(opened(), started(build), verdict(&event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD, Trial: "t-1", Build: build}),
		&event.VisitEvent{Id: "void", Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: "order"}}})
	if s := (&Source{}).sheet(all[2], b, Units{}); s.IsOrder {
		t.Error("a void verdict orders")
	}
	b, all = bookOf(append(all, &event.VisitEvent{Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: "void"}}})...)
	if s := (&Source{}).sheet(all[2], b, Units{}); !s.IsOrder || len(s.Alerts) > 1 {
		t.Errorf("%+v", s.Alerts)
	}
}
