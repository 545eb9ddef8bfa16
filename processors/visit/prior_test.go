package visit

import (
	"testing"

	"fairlead/ingest/contract/event"
)

// The latest prior of a pair counts; one that was taken back does not; and none
// of them begins a span, so no shot's tag depends on it.
func TestPriorsOfASession(t *testing.T) {
	var s script
	s.add(&event.SessionOpened{Player: "p", Category: "iron"}, session("s1"))
	spans := len(s.log.Timeline().Spans)
	s.add(&event.PriorTaken{Pair: "a", Priors: []*event.Prior{{Outcome: "carry", Answer: "one"}}}, session("s1"))
	s.add(&event.PriorTaken{Pair: "b", Priors: []*event.Prior{{Outcome: "carry", Answer: "other"}}}, session("s1"))
	late := s.add(&event.PriorTaken{Pair: "a", Priors: []*event.Prior{{Outcome: "carry", Answer: "two"}}}, session("s1"))
	answer := func(pair string) string {
		if p := s.log.Timeline().Session("s1").Priors[pair]; p != nil {
			return p.Priors[0].Answer
		}
		return ""
	}
	if answer("a") != "two" || answer("b") != "other" || answer("c") != "" || len(s.log.Timeline().Spans) != spans {
		t.Errorf("%v, %d spans", s.log.Timeline().Session("s1").Priors, len(s.log.Timeline().Spans))
	}
	s.add(late.Id)
	if answer("a") != "one" {
		t.Errorf("after the latest was taken back: %q", answer("a"))
	}
	s.add(&event.PriorTaken{Pair: "a", Priors: []*event.Prior{{Outcome: "carry"}}}, session("unknown"))
	if len(s.log.Timeline().Oddities) != 1 {
		t.Errorf("a prior of no session: %v", s.log.Timeline().Oddities)
	}
}
