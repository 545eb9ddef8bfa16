package store

import (
	"math"
	"testing"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/flight"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/trial"
)

// launched is an entry whose device measured no flight.
func launched(seq uint64, in string) EntryRow {
	r := hit(seq, in, "right")
	r.Entry.Measures = []*event.Measure{{Field: event.Field_FIELD_BALL_SPEED, Value: 60 + float64(seq)},
		{Field: event.Field_FIELD_LAUNCH_ANGLE, Value: 14}, {Field: event.Field_FIELD_SPIN_RATE, Value: 5000}}
	values := shot.Of(r.Entry, shot.Frame{})
	r.Values = &values
	return r
}

// What a store holds from before rows named their flight model is told by the rows
// themselves, and nothing of it is put beside what this program computes.
func TestRowsOfAnotherFlightModelAreSetApart(t *testing.T) {
	s := open(t)
	ctx := t.Context()
	// Of the first the device gave the flight, and the model what it would be in standard air.
	rows := []EntryRow{hit(1, "old", "right"), launched(2, "old"), launched(3, "old"), launched(4, "new")}
	of := func(rows ...EntryRow) (out []trial.Shot) {
		for i := range rows {
			out = append(out, trial.Shot{Values: rows[i].Values, Counts: true, Order: i + 1, Device: "alder"})
		}
		return out
	}
	older, measured := trialOf("old", "s1", of(rows[1:3]...)), trialOf("measured", "s1", landing([2]float64{150, 1}, [2]float64{153, 4}))
	newer := trialOf("new", "s2", of(rows[3]))
	if err := s.InsertEntries(ctx, rows[:3]); err != nil {
		t.Fatal(err)
	}
	if err := s.InsertTrials(ctx, []TrialRow{older, measured}); err != nil {
		t.Fatal(err)
	}
	// The step is undone as if it had never been: no row says what made it.
	for _, q := range []string{"DROP VIEW shots", "DROP VIEW shots_all", "DROP VIEW trial_outcomes", "DROP VIEW trial_rows",
		"DROP VIEW flight_now",
		"ALTER TABLE entries DROP COLUMN flight_model", "ALTER TABLE trials DROP COLUMN flight_model",
		"TRUNCATE TABLE schema_steps"} {
		if err := s.conn.Exec(ctx, q); err != nil {
			t.Fatalf("%s: %v", q, err)
		}
	}
	if err := s.Migrate(ctx); err != nil {
		t.Fatal(err)
	}
	clear(s.known) // the columns are others now
	if err := s.InsertEntries(ctx, rows[3:]); err != nil {
		t.Fatal(err)
	}
	if err := s.InsertTrials(ctx, []TrialRow{newer}); err != nil {
		t.Fatal(err)
	}
	if o, err := s.Outdated(ctx); err != nil || o != (Outdated{Shots: 3, Trials: 1}) {
		t.Errorf("of another flight model: %+v, %v", o, err)
	}
	for _, c := range []struct {
		of, where string
		want      uint64
	}{
		{"shots", "flight_model = 'before' AND isNull(our_carry_m) AND isNull(landing_carry_m) AND isNull(direction_deg)", 2},
		{"shots", "flight_model = '" + flight.Stamp() + "' AND landing_carry_m > 50 AND isNotNull(direction_deg)", 1},
		{"shots", "seq = 1 AND isNotNull(carry_m) AND isNotNull(direction_deg) AND isNull(standard_air_carry_m)", 1},
		{"trial_rows", "flight_model = 'before' AND n = 2 AND n_landing = 0 AND isNull(carry_mean_m) AND isNull(direction_mean_deg)", 1},
		{"trial_rows", "flight_model = 'before' AND launch_angle_n = 2", 1},
		{"trial_rows", "flight_model = '' AND n_landing = 2 AND carry_mean_m = 151.5", 1},
		{"trial_rows", "flight_model = '" + flight.Stamp() + "' AND n_landing = 1 AND carry_mean_m > 50", 1},
		{"trial_outcomes", "outcome = 'carry' AND trial = 'old'", 0},
		{"trial_outcomes", "outcome = 'launch' AND trial = 'old'", 1},
	} {
		var n uint64
		one(t, s, "SELECT count() FROM "+c.of+" WHERE "+c.where, &n)
		if n != c.want {
			t.Errorf("%d rows of %s where %s, want %d", n, c.of, c.where, c.want)
		}
	}
	// Computed anew they are there again.
	if err := s.InsertEntries(ctx, rows[:3]); err != nil {
		t.Fatal(err)
	}
	older.Version++
	if err := s.InsertTrials(ctx, []TrialRow{older}); err != nil {
		t.Fatal(err)
	}
	if o, err := s.Outdated(ctx); err != nil || o != (Outdated{}) {
		t.Errorf("computed anew: %+v, %v", o, err)
	}
	var carry, want float64
	one(t, s, "SELECT carry_mean_m, (SELECT avg(landing_carry_m) FROM shots WHERE seq IN (2, 3)) FROM trial_rows WHERE trial = 'old'",
		&carry, &want)
	if math.Abs(carry-want) > 1e-9 {
		t.Errorf("carry %v of the trial, %v of its shots", carry, want)
	}
}
