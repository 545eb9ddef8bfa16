package sim

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"testing"

	"fairlead/deploy/engine/enginetest"
	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/trial"
)

func stored(t testing.TB, o FleetOptions) (*enginetest.Database, *Fleet, FleetSummary) {
	t.Helper()
	db := enginetest.New(t)
	s := store.New(db.Open(t))
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	f, err := NewFleet(o)
	if err != nil {
		t.Fatal(err)
	}
	to, err := store.OpenBlocks(db.DSN())
	if err != nil {
		t.Fatal(err)
	}
	defer to.Close()
	summary, err := f.Write(t.Context(), to, nil)
	if err != nil {
		t.Fatal(err)
	}
	return db, f, summary
}

// Everything at once: whatever is planted, trial rows and entries agree.
var unruly = FleetOptions{Players: 400, Seed: 5, PerStudio: 150, Left: 0.2, Tails: 5, Mishits: 0.06, Excluded: 0.6, Order: true,
	Selection:  0.7,
	DeviceBias: 0.02, Instructed: 0.4, Unknown: 0.3}

func TestTrialRowsFollowFromTheEntries(t *testing.T) {
	db, _, summary := stored(t, unruly)
	conn := db.Open(t)
	var shots, trials, sessions uint64
	if err := conn.QueryRow(t.Context(), "SELECT (SELECT count() FROM entries FINAL), (SELECT count() FROM trials FINAL), (SELECT "+
		"uniqExact(session) FROM trials)").Scan(&shots, &trials, &sessions); err != nil {
		t.Fatal(err)
	}
	if int(shots) != summary.Shots || int(trials) != summary.Trials || int(sessions) != summary.Sessions || summary.Players != 400 {
		t.Fatalf("stored %d shots, %d trials, %d sessions; %+v", shots, trials, sessions, summary)
	}
	// The rows computed again from the entries, joined to the rows as written.
	const again = `
WITH e AS (
	SELECT studio, bay, session, trial, part,
		countIf(status = 'counts') AS n, countIf(status = 'excluded') AS x,
		minIf(effective, status = 'counts') AS first, maxIf(effective, status = 'counts') AS last, minIf(order_session, status = 'counts') AS o,
		groupArrayIf(carry_m, status = 'counts') AS c, groupArrayIf(offline_m, status = 'counts') AS f,
		groupArrayIf(direction_deg, status = 'counts') AS d, groupArrayIf(assumeNotNull(spin_rate_rpm), status = 'counts') AS s,
		groupArrayIf(degrees(atan2(assumeNotNull(offline_m), assumeNotNull(carry_m))), status = 'counts') AS da,
		any(build) AS b, any(player) AS p, any(hand) AS h, any(instructions) AS i, uniqExact(build) AS bs
	FROM entries FINAL GROUP BY studio, bay, session, trial, part)
SELECT count(), countIf(t.n != e.n OR t.n_excluded != e.x OR t.n_landing != e.n OR t.n_directed != e.n), countIf(t.build != e.b OR bs != 1 OR t.player != e.p OR t.hand != e.h),
	countIf(t.n > 0 AND (t.first_shot != e.first OR t.last_shot != e.last OR t.first_shot_order != e.o)),
	max(if(e.n = 0, 0, abs(t.carry_mean_m / arrayAvg(c) - 1))),
	max(if(e.n < 2, 0, abs(t.scatter_cc_m2 / arraySum(v -> pow(v - arrayAvg(c), 2), c) - 1))),
	max(if(e.n < 2, 0, abs(t.scatter_oo_m2 / arraySum(v -> pow(v - arrayAvg(f), 2), f) - 1))),
	max(if(e.n < 2, 0, abs(t.scatter_co_m2 - arraySum((v, w) -> (v - arrayAvg(c)) * (w - arrayAvg(f)), c, f)) / sqrt(t.scatter_cc_m2 * t.scatter_oo_m2 + 1e-9))),
	max(if(e.n < 2, 0, abs(t.direction_ss_deg2 / arraySum(v -> pow(v - arrayAvg(d), 2), d) - 1))),
	max(if(e.n < 2, 0, abs(t.direction_s4_deg4 / arraySum(v -> pow(v - arrayAvg(d), 4), d) - 1))),
	max(if(e.n < 2, 0, abs(t.carry_s4_m4 / arraySum(v -> pow(v - arrayAvg(c), 4), c) - 1))),
	max(if(e.n = 0, 0, abs(t.direction_mean_deg - arrayAvg(da)))),
	max(if(e.n = 0, 0, abs(arrayFirst((m, k) -> k = 12, t.fields.mean, t.fields.field) / arrayAvg(s) - 1)))
FROM trials AS t FINAL LEFT JOIN e USING (studio, bay, session, trial, part)`
	var rows, counts, labels, times uint64
	var off [9]float64
	if err := conn.QueryRow(t.Context(), again).Scan(&rows, &counts, &labels, &times, &off[0], &off[1], &off[2], &off[3], &off[4], &off[5],
		&off[6], &off[7], &off[8]); err != nil {
		t.Fatal(err)
	}
	if rows != trials || counts != 0 || labels != 0 || times != 0 {
		t.Errorf("of %d rows %d have other counts, %d other labels, %d other times", rows, counts, labels, times)
	}
	for i, d := range off {
		if !(d < 1e-9) {
			t.Errorf("value %d is off by %g", i, d)
		}
	}
	var odd uint64
	if err := conn.QueryRow(t.Context(), "SELECT countIf(face_to_path_deg IS NULL OR abs(face_angle_deg - club_path_deg - face_to_path_deg) "+
		"> 1e-6) FROM entries").Scan(&odd); err != nil || odd != 0 {
		t.Errorf("%d shots whose face to path is not face less path, %v", odd, err)
	}
	// The unmeasured clubs are unknown, the others known.
	var unknown, gamers, candidates uint64
	if err := conn.QueryRow(t.Context(), "SELECT countIf(gamer AND build_length_m IS NULL), countIf(gamer), countIf(NOT gamer AND "+
		"(build_length_m IS NULL OR build_flex = '')) FROM trials").Scan(&unknown, &gamers, &candidates); err != nil {
		t.Fatal(err)
	}
	if share := float64(unknown) / float64(gamers); share < 0.15 || share > 0.45 || candidates != 0 {
		t.Errorf("%d of %d gamers unknown, %d candidates", unknown, gamers, candidates)
	}
}

// summarize is processors/visit/trial's computation on the fleet's own shots.
func TestRowsAreThoseOfTheTrialPackage(t *testing.T) {
	r := source(9, "rows")
	bias := bayBias{}
	s := swingOf{traits: TraitValues{41, 0, -1, 1, 14, -4.8}, strike: 0.008, carry: 200, lnDirection: 1, lnCC: 1.4, side: -1, bias: &bias,
		mishits: 0.2, excluded: 0.5, tails: 5}
	for range 50 {
		var shots []fleetShot
		var same []trial.Shot
		for k := range between(r, 1, 12) {
			x := s.draw(r, k)
			shots = append(shots, x)
			e := &event.Entry{}
			for i, f := range fleetFields {
				e.Measures = append(e.Measures, &event.Measure{Field: f, Value: x.v[i]})
			}
			v := shot.Of(e, shot.Frame{})
			if v.Ours.Direction != x.direction {
				t.Fatalf("direction %v, the pipeline's %v", x.direction, v.Ours.Direction)
			}
			same = append(same, trial.Shot{Values: &v, Counts: !x.excluded, Excluded: x.excluded, Effective: int64(k + 1), Order: k + 1})
		}
		got, want := summarize(shots), trial.Compute(same)
		if got.n != want.N || got.excluded != want.Excluded || got.mean[atCarry] != want.CarryMean || got.ss[atOffline] != want.OfflineOffline ||
			got.carryOffline != want.CarryOffline || got.carry4 != want.CarryFourth || got.dir4 != want.DirectionFourth ||
			got.directionSS != want.DirectionSS {
			t.Fatalf("%+v\n%+v", got, want)
		}
		for i, m := range want.Fields {
			if fleetFields[i] != m.Field || got.mean[i] != m.Mean || got.ss[i] != m.SS {
				t.Fatalf("%s: %v %v, want %+v", fleetFields[i], got.mean[i], got.ss[i], m)
			}
		}
	}
}

func TestFleetIsTheSameEveryTime(t *testing.T) {
	f, g := newFleet(t, unruly), newFleet(t, unruly)
	g.Rows(2) // what was drawn before does not matter
	for n := range f.Studios() {
		if !reflect.DeepEqual(f.Rows(n), g.Rows(n)) {
			t.Errorf("studio %d differs", n)
		}
	}
	other := unruly
	other.Seed++
	if reflect.DeepEqual(f.Rows(0), newFleet(t, other).Rows(0)) {
		t.Error("two seeds give the same rows")
	}
	if _, err := json.Marshal(f.Truth(FleetSummary{})); err != nil {
		t.Error(err)
	}
}

func newFleet(t testing.TB, o FleetOptions) *Fleet {
	t.Helper()
	f, err := NewFleet(o)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Seen in a mirror, directions change sign and nothing else but the hand.
func TestMirroredFleet(t *testing.T) {
	mirrored := unruly
	mirrored.MirrorAll = true
	a, b := newFleet(t, unruly).Rows(0), newFleet(t, mirrored).Rows(0)
	sign := map[string]float64{"direction_deg": -1, "club_path_deg": -1, "face_angle_deg": -1, "face_to_path_deg": -1, "offline_m": -1,
		"offline_mean_m": -1, "scatter_co_m2": -1, "direction_mean_deg": -1}
	for set, pair := range map[string][2][]store.Block{"entries": {a.Entries, b.Entries}, "trials": {a.Trials, b.Trials}} {
		for i := range pair[0] {
			for j, c := range pair[0][i].Columns {
				values, ok := c.Data.([]float64)
				if !ok {
					continue
				}
				want := sign[c.Name]
				if want == 0 {
					want = 1
				}
				for k, v := range pair[1][i].Columns[j].Data.([]float64) {
					if v != want*values[k] {
						t.Fatalf("%s %s: %v and %v", set, c.Name, values[k], v)
					}
				}
			}
		}
	}
}

// What is planted is what comes out: over many shots the spread of direction
// changes with the club as TrueChange says.
func TestPlantedEffectsComeOut(t *testing.T) {
	f := newFleet(t, FleetOptions{Players: 40, Seed: 2})
	bias := bayBias{}
	for n := range 40 {
		p := f.Player(n)
		from, to := f.Gamer(&p, "driver"), f.Gamer(&p, "driver")
		to[ShaftWeight] += 2
		to[Length]--
		want, _, _ := f.TrueChange(&p, from, to)
		spread := func(x Attributes) float64 {
			s := swingOf{traits: p.Traits("driver"), carry: 200, lnDirection: p.lnDirection + f.Planted.Direction.mean(&x, &p.Direction, &p.Scores),
				lnCC: 1.5, side: 1, bias: &bias}
			r := source(3, "spread", fmt.Sprint(n))
			var ss float64
			for range 20000 {
				d := s.draw(r, 0).direction
				ss += d * d
			}
			return 0.5 * math.Log(ss/20000)
		}
		if got := spread(to) - spread(from); math.Abs(got-want) > 0.005 {
			t.Errorf("player %d: ln sd changes by %g, planted %g", n, got, want)
		}
	}
}

func TestFleetRefusesNonsense(t *testing.T) {
	for _, o := range []FleetOptions{{}, {Players: -1}, {Players: 1, Tails: 2}, {Players: 1, Left: 2}, {Players: 1, Mishits: math.NaN()},
		{Players: 1, DeviceBias: -1}, {Players: 1, Shots: 1}, {Players: 1, PerStudio: -4}, {Players: 9000, PerStudio: 9000}} {
		if _, err := NewFleet(o); err == nil {
			t.Errorf("%+v is taken", o)
		}
	}
}
