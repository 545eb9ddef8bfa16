package answers

import (
	"fmt"
	"math"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
	"fairlead/processors/sim"
)

// The own club against itself, hit twice in a session, changes nothing; verdicts
// that promised a fifth less spread are short of it by that.
func TestPromisesAgainstReality(t *testing.T) {
	f, _, s := planted(t, sim.FleetOptions{Players: 500, Seed: 8, Shots: 10, PerStudio: 500})
	if few, err := f.Promises(t.Context(), "driver"); err != nil || len(few) == 0 || few[0].Refused == "" || few[0].Report != nil {
		t.Fatalf("no verdict yet: %+v %v", few, err)
	}
	rows, err := s.Conn().Query(t.Context(), `SELECT studio, bay, session, any(player), argMin(trial, order_session), argMax(trial, order_session)
		FROM trials FINAL WHERE category = 'driver' AND gamer GROUP BY studio, bay, session HAVING count() = 2`)
	if err != nil {
		t.Fatal(err)
	}
	const less = -0.2
	var verdicts []store.VerdictRow
	for rows.Next() {
		var v store.VerdictRow
		var first, last string
		if err := rows.Scan(&v.Place.Studio, &v.Place.Bay, &v.Session, &v.Player, &first, &last); err != nil {
			t.Fatal(err)
		}
		v.ID, v.Version, v.Visit, v.Category, v.At, v.Live = fmt.Sprint("v", len(verdicts)), 1, v.Session, "driver",
			time.Date(2026, 2, 1, 0, 0, 0, 0, time.UTC).UnixNano(), true
		v.CheckTrial = last
		v.Given = &event.VerdictGiven{Trial: first, Baseline: first,
			Promises: []*event.Promise{{Outcome: "direction", Change: less, Low: less - 0.3, High: less + 0.3, ProbabilityBetter: 0.9}}}
		for _, other := range viewed[1:] {
			v.Given.Promises = append(v.Given.Promises, &event.Promise{Outcome: other, Change: 0.1, High: 0.2, ProbabilityBetter: 0.6})
		}
		verdicts = append(verdicts, v)
	}
	rows.Close()
	if err := s.InsertVerdicts(t.Context(), verdicts); err != nil {
		t.Fatal(err)
	}
	begun := time.Now()
	kept, err := f.Promises(t.Context(), "driver")
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d verdicts: all outcomes in %v", len(verdicts), time.Since(begun))
	asTheView(t, s, len(verdicts))
	k := kept[0]
	if k.Outcome != "direction" || k.Report == nil || k.Checks != len(verdicts) || k.Beside != len(verdicts) || len(k.Points) != k.Checks {
		t.Fatalf("%d verdicts: %+v", len(verdicts), k)
	}
	e := k.Report.Shortfall
	if math.Abs(e.Value+less) > 3*e.SE || e.SE > 0.05 {
		t.Errorf("shortfall %.3f ± %.3f of a promise of %.2f that nothing came of", e.Value, e.SE, less)
	}
	if k.Report.Inside < 0.5 || k.Report.Inside > 1 {
		t.Errorf("inside %v", k.Report.Inside)
	}
	// A club that was delivered is hit in a session without the incumbent.
	one := verdicts[0]
	one.ID, one.CheckTrial = "later", verdicts[1].CheckTrial
	if err := s.InsertVerdicts(t.Context(), []store.VerdictRow{one}); err != nil {
		t.Fatal(err)
	}
	if m := asTheView(t, s, len(verdicts)+1); m["earlier session"] != len(viewed) {
		t.Errorf("compared %v", m)
	}
}

// viewed are the outcomes that the view trial_outcomes knows.
var viewed = []string{"direction", "launch", "spin", "ball_speed", "carry", "landing", "distance_control", "area"}

// asTheView holds Checked against the view that says the same in one piece, and counts
// what was compared with.
func asTheView(t *testing.T, s *store.Store, verdicts int) (compared map[string]int) {
	t.Helper()
	compared = map[string]int{}
	view, err := s.Conn().Query(t.Context(), "SELECT outcome, verdict, measured, se, compared FROM promises_checked"+
		" WHERE category = 'driver' AND isNotNull(measured) AND isNotNull(se) AND se > 0")
	if err != nil {
		t.Fatal(err)
	}
	defer view.Close()
	said := map[[2]string]Promise{}
	for view.Next() {
		var outcome string
		var p Promise
		var measured, se *float64
		if err := view.Scan(&outcome, &p.Verdict, &measured, &se, &p.Compared); err != nil {
			t.Fatal(err)
		}
		p.Measured, p.SE = *measured, *se
		said[[2]string{outcome, p.Verdict}] = p
	}
	found, err := Checked(t.Context(), s.Conn(), Asked{Category: "driver"})
	if err != nil {
		t.Fatal(err)
	}
	points := 0
	for outcome, list := range found {
		for _, p := range list {
			points++
			compared[p.Compared]++
			if v := said[[2]string{outcome, p.Verdict}]; v.Compared != p.Compared || math.Abs(v.Measured-p.Measured) > 1e-9 ||
				math.Abs(v.SE-p.SE) > 1e-9 {
				t.Errorf("%s of %s: %+v, by the view %+v", outcome, p.Verdict, p, v)
			}
		}
	}
	if points != len(said) || points != verdicts*len(viewed) {
		t.Errorf("%d promises checked of %d verdicts, by the view %d", points, verdicts, len(said))
	}
	one, err := Checked(t.Context(), s.Conn(), Asked{Verdict: "v3"})
	if err != nil || len(one["direction"]) != 1 || one["direction"][0].Verdict != "v3" {
		t.Errorf("of one verdict: %+v %v", one, err)
	}
	return compared
}
