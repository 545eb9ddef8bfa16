package console

import (
	"slices"
	"strings"
	"testing"
	"time"

	"fairlead/deploy/engine/enginetest"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
	"fairlead/processors/hub/store"
	"fairlead/processors/hub/watch"
)

// A club is fitted in one bay and collected in another, while both bays have
// their owner: the check reaches the verdict's row and its sheet, what was
// measured with it, and taking it back takes it back there.
func TestAHitCheckOfAnotherBayReachesTheVerdict(t *testing.T) {
	s := store.New(enginetest.New(t).Open(t))
	r := newRigOf(t, &rig{store: s, ops: &Ops{State: func() (watch.State, error) { return watch.State{}, nil }}})
	measured := func(f event.BuildField, n float64) *event.Spec {
		return &event.Spec{Field: f, Number: n, Knowledge: event.Knowledge_KNOWLEDGE_MEASURED}
	}
	r.must("north", open("p-017"))
	r.must("north", start("own seven", true, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.94}))
	chosen := r.must("north", start("longer", false, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.9525},
		&event.Spec{Field: event.BuildField_BUILD_LOFT, Number: 31}))
	code, text := r.form("north", "verdict", "verdict=build&trial="+chosen.Trial)
	if code != 200 {
		t.Fatalf("%d %s", code, text)
	}
	var verdict string
	for _, ev := range r.log("north") {
		if ev.GetVerdictGiven() != nil {
			verdict = ev.Id
		}
	}
	stored := func() (check string, live bool) {
		rows, err := s.Conn().Query(t.Context(), "SELECT check_trial, live FROM verdicts FINAL WHERE id = ?", verdict)
		if err != nil {
			return "", false // the hub has not made its tables yet
		}
		defer rows.Close()
		for rows.Next() {
			if err := rows.Scan(&check, &live); err != nil {
				t.Fatal(err)
			}
		}
		return check, live
	}
	clean := func(bay string) bool {
		wrong, err := audit.Rows(t.Context(), s, stream.Place{Studio: testStudio, Bay: bay}, false, time.Millisecond)
		if err != nil {
			t.Fatal(err)
		}
		return !slices.ContainsFunc(wrong, func(d store.Differing) bool { return d.Table == "verdicts" })
	}
	r.until("the verdict is stored", func() bool { _, live := stored(); return live })
	r.must("north", &event.VisitEvent{Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}})
	r.must("south", open("p-017"))
	made := r.must("south", start("delivered", false))
	check := r.must("south", &event.VisitEvent{Body: &event.VisitEvent_HitChecked{HitChecked: &event.HitChecked{Verdict: verdict,
		Trial: made.Trial,
		Build: &event.Build{ClubId: "d-1", Specs: []*event.Spec{measured(event.BuildField_BUILD_LENGTH, 0.9525),
			measured(event.BuildField_BUILD_LOFT, 33.5),
			measured(event.BuildField_BUILD_LIE, 62.25), measured(event.BuildField_BUILD_SWING_WEIGHT, 0.1542),
			measured(event.BuildField_BUILD_TOTAL_WEIGHT, 0.412)}}}}})
	r.hit("south", 140, 1)
	r.until("ops see the line that came", func() bool {
		_, page := r.raw("GET", "/ops", nil)
		_, day := r.raw("GET", "/ops/bays/south", nil)
		return strings.Contains(string(page), `"Lines">1<`) && strings.Contains(string(day), "1 line: 1 shot counts.")
	})
	r.until("the check is in the verdict's row", func() bool { c, _ := stored(); return c == made.Trial && clean("north") })
	r.until("and all that was measured on its sheet", func() bool {
		_, text := r.raw("GET", "/sheets/"+verdict+".txt?units=metric", nil)
		return strings.Count(string(text), "as built: ") == strings.Count(string(text), "as built: _")+5 &&
			strings.Contains(string(text), "(beyond)")
	})
	r.must("south", &event.VisitEvent{Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: check.ID}}})
	r.until("taken back there too", func() bool { c, live := stored(); return c == "" && live && clean("north") && clean("south") })
	r.must("south", &event.VisitEvent{Body: &event.VisitEvent_HitChecked{HitChecked: &event.HitChecked{Verdict: verdict, Trial: made.Trial}}})
	r.until("checked again", func() bool { c, _ := stored(); return c == made.Trial && clean("north") })
	// A row that says other than the facts is told.
	if err := s.Conn().Exec(t.Context(), "INSERT INTO verdicts SELECT * REPLACE ('' AS check_trial, version + 1000 AS version) FROM "+
		"verdicts FINAL WHERE id = ?", verdict); err != nil {
		t.Fatal(err)
	}
	if clean("north") {
		t.Error("a verdict whose check was lost is called clean")
	}
}
