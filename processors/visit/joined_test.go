package visit

import (
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
)

// A code is what the program made, however it is written; what differs in a sign, or was
// made up, is none; and what is kept of it does not hold it.
func TestACodeIsNotMadeUp(t *testing.T) {
	n := uint64(88172645463325252)
	random := func() uint64 { n ^= n << 13; n ^= n >> 7; n ^= n << 17; return n }
	code := JoinCode(random)
	join, err := JoinOf(code)
	if err != nil || strings.Contains(strings.ToUpper(join), strings.ReplaceAll(code, "-", "")[:8]) {
		t.Fatal(code, join, err)
	}
	if again, err := JoinOf(strings.ToLower(strings.ReplaceAll(code, "-", " "))); err != nil || again != join {
		t.Error(again, err)
	}
	if other, err := JoinOf(JoinCode(random)); err != nil || other == join {
		t.Error(other, err)
	}
	passed := 0
	for i, sign := range code {
		if sign == '-' {
			continue
		}
		for _, wrong := range "23456789ACDEFHJKNPRTVXY" {
			if _, err := JoinOf(code[:i] + string(wrong) + code[i+1:]); err == nil && wrong != sign {
				passed++
			}
		}
	}
	if passed > 6 { // of 528 one in 529 is to be expected
		t.Errorf("%d codes of one wrong sign are taken", passed)
	}
	for _, made := range []string{"", "1234", "p-017", strings.Repeat("2", 24), code + "2"} {
		if _, err := JoinOf(made); err == nil {
			t.Errorf("%q is taken", made)
		}
	}
}

// Whose a join is follows from the bay's events: corrected, taken back, erased, entered
// for two.
func TestWhoseAJoinIs(t *testing.T) {
	at := int64(0)
	ev := func(id, session string, body *event.VisitEvent) *event.VisitEvent {
		at += 1e9
		body.Id, body.Session, body.Bay, body.Studio, body.EffectiveUnixNs, body.RecordedUnixNs = id, session, "north", "harbour-row", at, at
		return body
	}
	open := func(session, player string) *event.VisitEvent {
		return ev("o-"+session, session, &event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{
			Player: player, Hand: event.Hand_HAND_RIGHT, Category: "iron"}}})
	}
	join := func(id, session string) *event.VisitEvent {
		return ev(id, session, &event.VisitEvent{Body: &event.VisitEvent_PlayerJoined{PlayerJoined: &event.PlayerJoined{Join: "j-x"}}})
	}
	all := []*event.VisitEvent{open("s1", "p-ada"), join("e1", "s1")}
	want := func(what, player string, ok bool) {
		t.Helper()
		if got, is := JoinsOf(all)["j-x"]; is != ok || got != player {
			t.Errorf("%s: %q, %v", what, got, is)
		}
	}
	want("entered", "p-ada", true)
	all = append(all, ev("e2", "s1", &event.VisitEvent{Body: &event.VisitEvent_SessionCorrected{SessionCorrected: &event.SessionCorrected{
		Player: "p-bea"}}}))
	want("the session was another player's", "p-bea", true)
	all = append(all, open("s2", "p-cyd"), join("e3", "s2"))
	want("entered for another player too", "", true)
	all = append(all, ev("e4", "s2", &event.VisitEvent{Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: "e3"}}}))
	want("and taken back there", "p-bea", true)
	erased := append(all[:len(all):len(all)], ev("e5", "s1", &event.VisitEvent{Body: &event.VisitEvent_SessionErased{
		SessionErased: &event.SessionErased{Player: "p-bea"}}}))
	all, erased = erased, all
	want("erased", "", false)
	all = append(erased, ev("e6", "s1", &event.VisitEvent{Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: "e1"}}}))
	want("taken back", "", false)
}
