package answers

import (
	"testing"

	"fairlead/ingest/contract/event"
)

// Two studios' players are one where both keep the same join; a third that has the code
// too makes it nobody's, and chains of joins are one player.
func TestWhoIsToldOfAsOne(t *testing.T) {
	events := map[string][]*event.VisitEvent{}
	join := func(studio, player string, joins ...string) {
		session := "s-" + player
		add := func(ev *event.VisitEvent) {
			n := int64(len(events[studio]) + 1)
			ev.Id, ev.Studio, ev.Bay, ev.Session = studio+string(rune('a'+n)), studio, "north", session
			ev.EffectiveUnixNs, ev.RecordedUnixNs = n, n
			events[studio] = append(events[studio], ev)
		}
		add(&event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: player,
			Hand: event.Hand_HAND_RIGHT, Category: "iron"}}})
		for _, j := range joins {
			add(&event.VisitEvent{Body: &event.VisitEvent_PlayerJoined{PlayerJoined: &event.PlayerJoined{Join: j}}})
		}
	}
	join("a", "a1", "j-1")
	join("a", "a2", "j-alone")
	join("b", "b1", "j-1", "j-2")
	join("c", "c1", "j-2")
	join("a", "a3", "j-3")
	join("b", "b3", "j-3")
	join("c", "c3", "j-3") // who has the code from somewhere
	got := joined(events)
	if got["a1"] == "" || got["a1"] != got["b1"] || got["b1"] != got["c1"] || len(got) != 3 {
		t.Errorf("%v", got)
	}
	if signOf(got) == "" || signOf(nil) != "" {
		t.Error("one set of players is as good as another")
	}
}
