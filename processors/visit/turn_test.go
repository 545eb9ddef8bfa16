package visit

import (
	"testing"

	"fairlead/ingest/contract/event"
)

// Two players share a bay: each goes on where the other left off, with who hits,
// what was told and the trial that ran; the setting is the bay's.
func TestTurns(t *testing.T) {
	s := &script{}
	s.add(&event.SessionOpened{Player: "p-1", Hand: event.Hand_HAND_LEFT, Category: "iron"}, session("a"))
	s.add(trial("a1"))
	s.add(&event.InstructionNoted{Words: "taller"})
	s.add(&event.SessionOpened{Player: "p-2", Hand: event.Hand_HAND_RIGHT, Category: "driver", Beside: true}, session("b"))
	if now := s.log.Timeline().Now(); now.Session.ID != "b" || now.Trial != nil || now.Instruction != "" {
		t.Fatalf("the one who opens beside begins with %+v", now.SpanWords)
	}
	s.add(trial("b1"))
	s.add(&event.HitterChanged{Kind: event.HitterKind_HITTER_FITTER})
	s.add(&event.SettingChanged{Place: "outdoor"})
	s.add(&event.TurnTaken{}, session("a"))
	tl := s.log.Timeline()
	if now := tl.Now(); now.Session.ID != "a" || now.Trial.ID != "a1" || now.Part != 2 || now.Instruction != "taller" ||
		now.Hitter != event.HitterKind_HITTER_PLAYER || now.Hand() != event.Hand_HAND_LEFT || now.Setting().Place != "outdoor" {
		t.Fatalf("the first one's turn again: %+v in %v", now.SpanWords, now.Setting())
	}
	if rest := tl.Resting(Never - 1); len(rest) != 1 || rest[0].ID != "b" || !rest[0].Open() {
		t.Fatalf("at rest: %v", rest)
	}
	s.add(&event.SessionClosed{})
	if tl = s.log.Timeline(); tl.Now().Session != nil || tl.Session("a").Open() || !tl.Session("b").Open() || len(tl.Stays) != 1 {
		t.Fatal("who closes takes the other's session along, or shots of nobody count")
	}
	s.add(&event.TurnTaken{}, session("b"))
	if now := s.log.Timeline().Now(); now.Trial.ID != "b1" || now.Hitter != event.HitterKind_HITTER_FITTER {
		t.Fatalf("the second one's turn again: %+v", now.SpanWords)
	}
	odd := len(s.log.Timeline().Oddities)
	s.add(&event.TurnTaken{}, session("a")) // it was closed
	if tl = s.log.Timeline(); tl.Now().Session.ID != "b" || len(tl.Oddities) != odd+1 {
		t.Fatalf("a closed session was taken up again: %v", tl.Oddities)
	}
	s.add(&event.SessionOpened{Player: "p-3"}, session("c"))
	if tl = s.log.Timeline(); tl.Session("b").Open() || len(tl.Stays) != 2 || tl.Trial("b1").To == Never {
		t.Fatal("who does not share the bay leaves the ones before open")
	}
}
