package sink

import (
	"testing"

	"fairlead/ingest/contract/event"
)

// A hit that two devices saw is shown once, with the values of both, under the
// name of the one that saw the ball; a hand that is corrected reads both again.
func TestAHitThatTwoDevicesSawIsShownOnce(t *testing.T) {
	w := benchWorker(t, benchStore(t), 0)
	session := w.bay.Log().All()[0]
	ball, club := benchEntry(1), benchEntry(1)
	ball.Journal, ball.Seq, ball.Role = "00000000000000aa", 1, event.Role_ROLE_BALL
	ball.Measures = []*event.Measure{{Field: event.Field_FIELD_CARRY, Value: 150}, {Field: event.Field_FIELD_OFFLINE, Value: 4}}
	id := event.ShotIDFor("birch", "1")
	club.Journal, club.Seq, club.Role, club.Device, club.ShotId = "00000000000000aa", 2, event.Role_ROLE_CLUB, "birch", id[:]
	club.Measures = []*event.Measure{{Field: event.Field_FIELD_CLUB_PATH, Value: 3, Handed: true}, {Field: event.Field_FIELD_CARRY, Value: 99}}
	read := event.NewReader()
	var batch []taken
	for _, e := range []*event.Entry{club, ball} {
		batch = append(batch, take(given{data: marshal(t, e)}, benchPlace, read))
	}
	if err := w.takeShots(t.Context(), batch); err != nil {
		t.Fatal(err)
	}
	shown := func(path float64) {
		t.Helper()
		shots := w.snapshot().Shots
		if len(shots) != 1 || shots[0].Device != "alder" || shots[0].Second != "birch" {
			t.Fatalf("shown are %+v", shots)
		}
		carry, _ := shots[0].Values.Get(event.Field_FIELD_CARRY)
		if p, ok := shots[0].Values.Get(event.Field_FIELD_CLUB_PATH); !ok || p != path || carry != 150 {
			t.Errorf("path %v (there: %v), carry %v; want %v and 150", p, ok, carry, path)
		}
	}
	shown(3)
	say := func(name string, ev *event.VisitEvent) {
		ev.Contract, ev.Studio, ev.Bay, ev.Id, ev.Session, ev.Visit = 1, benchPlace.Studio, benchPlace.Bay, name, session.Session, session.Visit
		ev.EffectiveUnixNs = ball.EffectiveUnixNs + 1e9
		ev.RecordedUnixNs = ev.EffectiveUnixNs
		if err := w.takeEvents(t.Context(), []*event.VisitEvent{ev}); err != nil {
			t.Fatal(err)
		}
	}
	say("hand",
		&event.VisitEvent{Body: &event.VisitEvent_SessionCorrected{SessionCorrected: &event.SessionCorrected{Hand: event.Hand_HAND_LEFT}}})
	shown(-3)
	say("apart", &event.VisitEvent{Body: &event.VisitEvent_ShotsUnpaired{ShotsUnpaired: &event.ShotsUnpaired{ShotIds: [][]byte{ball.ShotId}}}})
	shots := w.snapshot().Shots
	if len(shots) != 2 || shots[0].Second != "" || shots[1].Second != "" {
		t.Fatalf("taken apart are %+v", shots)
	}
	for _, s := range shots {
		_, path := s.Values.Get(event.Field_FIELD_CLUB_PATH)
		if path != (s.Device == "birch") {
			t.Errorf("%s has a path: %v", s.Device, path)
		}
	}
}
