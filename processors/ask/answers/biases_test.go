package answers

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
	"fairlead/processors/sim"
)

// Devices of a studio's bays read off; its morning checks say by how much, the
// profiles come out as they were, and what the devices read can still be asked about.
func TestWhatABaysDeviceReadsOffIsTakenOffTheSwing(t *testing.T) {
	f, made, s := planted(t, sim.FleetOptions{Players: 240, Seed: 11, Left: 0.3, Shots: 12, PerStudio: 240})
	conn := s.Conn()
	ctx := t.Context()
	type swing struct{ speed, path float64 }
	read := func(sql string) map[string]swing {
		rows, err := conn.Query(ctx, "SELECT player, assumeNotNull(speed_mps), assumeNotNull(path_deg) FROM ("+sql+
			") WHERE category = 'driver' AND isNotNull(speed_mps) AND isNotNull(path_deg)")
		if err != nil {
			t.Fatal(err)
		}
		defer rows.Close()
		out := map[string]swing{}
		for rows.Next() {
			var player string
			var one swing
			if err := rows.Scan(&player, &one.speed, &one.path); err != nil {
				t.Fatal(err)
			}
			out[player] = one
		}
		if rows.Err() != nil || len(out) < 150 {
			t.Fatal(len(out), rows.Err())
		}
		return out
	}
	truth := read(question.Profiles(0, ""))

	off := map[string]float64{"north": 2.5, "pier": -2, "quay": 0.5, "south": -1} // sums to 0
	var cases []string
	for bay, x := range off {
		cases = append(cases, fmt.Sprintf("bay = '%s', %g", bay, x))
	}
	if err := conn.Exec(ctx, fmt.Sprintf(
		"ALTER TABLE trials UPDATE `fields.mean` = arrayMap((m, f) -> m + if(f IN (%d, %d), multiIf(%s, 0), 0), "+
			"`fields.mean`, `fields.field`) WHERE 1 SETTINGS mutations_sync = 2", event.Field_FIELD_CLUBHEAD_SPEED, event.Field_FIELD_CLUB_PATH,
		strings.Join(cases, ", "))); err != nil {
		t.Fatal(err)
	}
	var studio string
	devices := map[string]string{}
	rows, err := conn.Query(ctx, "SELECT DISTINCT CAST(studio AS String), CAST(bay AS String), CAST(device AS String) FROM trials")
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		var bay, device string
		if err := rows.Scan(&studio, &bay, &device); err != nil {
			t.Fatal(err)
		}
		devices[bay] = device
	}
	rows.Close()
	// The swing that checks bays drifts from day to day. One check was taken back.
	r := rand.New(rand.NewPCG(1, 2))
	start := made.Options.Start
	if start == 0 {
		start = time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC).UnixNano()
	}
	var events []*event.VisitEvent
	day := 0.0
	for morning := range 20 {
		day = 0.7*day + 0.3*r.NormFloat64()
		for bay, x := range off {
			at := start - int64(20-morning)*24*3600e9
			if x += day; morning == 19 && bay == "north" {
				x += 50
			}
			ev := &event.VisitEvent{Id: fmt.Sprintf("c-%d-%s", morning, bay), Studio: studio, Bay: bay, EffectiveUnixNs: at, RecordedUnixNs: at,
				Journal: "checks", Seq: uint64(len(events) + 1), Body: &event.VisitEvent_BayChecked{BayChecked: &event.BayChecked{
					Judgement: event.CheckJudgement_CHECK_GO, Device: devices[bay], ClubId: "REF-7", Ball: "Harbour", Fields: []*event.CheckedField{
						{Field: "clubhead_speed_mps", Shots: 10, Mean: 36 + x + 0.15*r.NormFloat64(), Sd: 0.7},
						{Field: "club_path_deg", Shots: 10, Mean: 1 + x + 0.2*r.NormFloat64(), Sd: 1}}}}}
			events = append(events, ev)
		}
	}
	events = append(events, &event.VisitEvent{Id: "v-1", Studio: studio, Bay: "north", EffectiveUnixNs: start, RecordedUnixNs: start,
		Journal: "checks", Seq: uint64(len(events) + 1), Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: "c-19-north"}}})
	if err := s.InsertEvents(ctx, events); err != nil {
		t.Fatal(err)
	}
	mark, err := f.Refresh(ctx)
	if err != nil {
		t.Fatal(err)
	}
	rms := func(got map[string]swing) (speed, path float64) {
		n := 0.0
		for p, want := range truth {
			speed += math.Pow(got[p].speed-want.speed, 2)
			path += math.Pow(got[p].path-want.path, 2)
			n++
		}
		return math.Sqrt(speed / n), math.Sqrt(path / n)
	}
	speed, path := rms(read(fmt.Sprintf("SELECT * FROM profiles WHERE snapshot = %d", mark.Snapshot)))
	if speed > 0.4 || path > 0.5 {
		t.Errorf("with what the devices read off taken off, speeds are %.2f m/s off, paths %.2f°", speed, path)
	}
	now, later := rms(read(question.Profiles(0, "")))
	if math.Abs(now-speed) > 1e-9 || math.Abs(later-path) > 1e-9 {
		t.Errorf("a player asked about now: %.3f and %.3f, in the snapshot %.3f and %.3f", now, later, speed, path)
	}
	speed, path = rms(read(fmt.Sprintf("SELECT player, category, speed_mps + taken_off[1] AS speed_mps, path_deg + taken_off[3] AS path_deg "+
		"FROM profiles WHERE snapshot = %d", mark.Snapshot)))
	if speed < 1 || path < 1 {
		t.Errorf("as measured, speeds are %.2f m/s off, paths %.2f°: nothing was planted", speed, path)
	}

	q := Question{Outcome: "direction", Filter: Filter{Category: "driver"}, Attributes: []string{"length", "lie"}}
	for _, measured := range []bool{false, true} {
		q.AsMeasured = measured
		a, err := f.Ask(ctx, q, Asking{})
		if err != nil || a.Answer == nil {
			t.Fatal(err, a)
		}
		said := false
		for _, n := range a.Answer.Notes {
			said = said || n.Code == "bay_bias"
		}
		if said == measured {
			t.Errorf("as measured %v: that something was taken off is said: %v", measured, said)
		}
		var want reading
		if err := want.know(ctx, f, mark.Snapshot, q); err != nil {
			t.Fatal(err)
		}
		worst := 0.0
		if err := f.each(ctx, mark.Snapshot, q.Filter, want, func(x *fleet.Trial) error {
			if at, ok := truth[x.Player]; ok {
				worst = max(worst, math.Abs(x.Traits[0]-at.speed))
			}
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		if measured != (worst > 2) {
			t.Errorf("as measured %v: a swing's speed is read up to %.2f m/s off", measured, worst)
		}
		if plain := want.errors[0]; !measured && !(plain > 0) {
			t.Error("errors of traits are not known")
		}
	}
	var all, own reading
	q.AsMeasured = false
	if err := all.know(ctx, f, mark.Snapshot, q); err != nil {
		t.Fatal(err)
	}
	q.AsMeasured = true
	if err := own.know(ctx, f, mark.Snapshot, q); err != nil {
		t.Fatal(err)
	}
	if !(all.errors[0] > own.errors[0]) || all.errors[1] != own.errors[1] {
		t.Errorf("errors of traits with biases %v, as measured %v", all.errors, own.errors)
	}
}
