package store

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/mathext"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
	"fairlead/processors/visit/trial"
)

var viewDay = time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)

// hit makes the entry of a shot that counts in trial, with every field of the
// contract at a value of its own.
func hit(seq uint64, in, hand string) EntryRow {
	id := event.ShotIDFor("alder", fmt.Sprint(seq))
	at := viewDay.Add(time.Duration(seq) * time.Minute).UnixNano()
	e := &event.Entry{Contract: 1, Studio: place.Studio, Bay: place.Bay, Journal: "00000000000000aa", Seq: seq, ShotId: id[:],
		Device: "alder", ReceivedUnixNs: at, EffectiveUnixNs: at}
	for i, f := range event.Fields() {
		e.Measures = append(e.Measures, &event.Measure{Field: f.Field, Value: fieldValue(f, seq), Provenance: event.Provenance(1 + i%2),
			AirAdjusted: event.AirAdjusted_AIR_AS_FLOWN})
	}
	r := EntryRow{Entry: e, Tag: &tag.Tag{Situation: &tag.Situation{Session: "s1", Trial: in, Part: 1, Player: "p1",
		Hand: event.Hand_HAND_RIGHT},
		Version: 1, Status: tag.Counts, At: at}}
	if hand == "left" {
		r.Tag.Hand = event.Hand_HAND_LEFT
	} else if hand == "" {
		r.Tag.Hand = event.Hand_HAND_UNKNOWN
	}
	values := shot.Of(e, shot.Frame{})
	r.Values = &values
	return r
}

// fieldValue lies inside the field's range, and differs between fields and shots.
func fieldValue(f event.FieldInfo, seq uint64) float64 {
	return f.Min + (f.Max-f.Min)*(0.5+float64(f.Field)/300+0.01*float64(seq%7))
}

func trialOf(name, session string, shots []trial.Shot) TrialRow {
	return TrialRow{Studio: place.Studio, Bay: place.Bay, Visit: "v1", Session: session, Trial: name, Part: 1, Version: 1, Player: "p1",
		Hand: event.Hand_HAND_LEFT, Category: "iron", Consent: true, Build: &event.Build{Name: name}, Level: 1, Row: trial.Compute(shots)}
}

// landing makes shots with these carries and offlines, in m.
func landing(points ...[2]float64) []trial.Shot {
	var out []trial.Shot
	for i, p := range points {
		e := &event.Entry{Measures: []*event.Measure{{Field: event.Field_FIELD_CARRY, Value: p[0]},
			{Field: event.Field_FIELD_OFFLINE, Value: p[1]},
			{Field: event.Field_FIELD_SPIN_RATE, Value: 6000 + 100*float64(i)}}}
		values := shot.Of(e, shot.Frame{})
		out = append(out, trial.Shot{Values: &values, Counts: true, Effective: viewDay.UnixNano() + int64(i), Order: i + 1, Device: "alder"})
	}
	return out
}

func one(t *testing.T, s *Store, question string, into ...any) {
	t.Helper()
	if err := s.conn.QueryRow(t.Context(), question).Scan(into...); err != nil {
		t.Fatalf("%v\n%s", err, question)
	}
}

func TestShotsViewCountsEachShotOnceInWords(t *testing.T) {
	s := open(t)
	ctx := t.Context()
	left, unknown, out := hit(1, "t1", "left"), hit(2, "t1", ""), hit(3, "t1", "right")
	out.Tag.Status = tag.Excluded
	if err := s.InsertEntries(ctx, []EntryRow{left, unknown, out}); err != nil {
		t.Fatal(err)
	}
	left.Tag.Version, left.Tag.Trial = 2, "t2" // moved since
	if err := s.InsertEntries(ctx, []EntryRow{left}); err != nil {
		t.Fatal(err)
	}
	var shots, all, moved uint64
	one(t, s, "SELECT (SELECT count() FROM shots), (SELECT count() FROM shots_all), (SELECT count() FROM shots WHERE trial = 't2')", &shots,
		&all, &moved)
	if shots != 2 || all != 3 || moved != 1 {
		t.Errorf("%d shots of %d entries, %d in t2", shots, all, moved)
	}

	// Every field of the contract stands in the view, and its origin in words.
	for i, f := range event.Fields() {
		var got *float64
		one(t, s, "SELECT "+f.Column+" FROM shots WHERE seq = 1", &got)
		if got == nil || math.Abs(*got-fieldValue(f, 1)) > 1e-12*math.Abs(*got) {
			t.Errorf("%s: %v, not %v", f.Column, got, fieldValue(f, 1))
		}
		var words []string
		rows, err := s.conn.Query(ctx, "SELECT name FROM system.columns WHERE database = currentDatabase() AND table = 'shots' AND name IN (?, "+
			"?)",
			f.Name+"_from", strings.TrimSuffix(f.Name, "_x")+"_from")
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			var name, word string
			if err := rows.Scan(&name); err != nil {
				t.Fatal(err)
			}
			one(t, s, "SELECT "+name+" FROM shots WHERE seq = 1", &word)
			words = append(words, word)
		}
		rows.Close()
		if want := []string{"measured", "device"}[i%2]; len(words) > 0 && words[0] != want {
			t.Errorf("origin of %s: %s, not %s", f.Name, words[0], want)
		}
	}
	var air string
	one(t, s, "SELECT carry_air FROM shots WHERE seq = 1", &air)
	if air != "as flown" {
		t.Errorf("carry_air %q", air)
	}

	// Mirrored for the left-hander, unknown where the hand is.
	for _, f := range event.Fields() {
		column := "handed_" + f.Column
		var there uint64
		one(t, s, "SELECT count() FROM system.columns WHERE database = currentDatabase() AND table = 'shots' AND name = '"+column+"'", &there)
		if there == 0 {
			if f.Mirrors && f.Name != "offline" { // offline has its handed landing_offline_m
				t.Errorf("%s mirrors, but the view has no %s", f.Name, column)
			}
			continue
		}
		var mirrored, none *float64
		one(t, s, "SELECT (SELECT "+column+" FROM shots WHERE seq = 1), (SELECT "+column+" FROM shots WHERE seq = 2)", &mirrored, &none)
		if mirrored == nil || *mirrored != -fieldValue(f, 1) || none != nil {
			t.Errorf("%s: %v and %v", column, mirrored, none)
		}
	}
}

func TestTrialRowsViewSpreads(t *testing.T) {
	s := open(t)
	ctx := t.Context()
	var rows []TrialRow
	for n := 1; n <= 40; n++ {
		var points [][2]float64
		for i := range n {
			x := float64(i)
			points = append(points, [2]float64{150 + 6*math.Sin(1.7*x+float64(n)), 5*math.Cos(2.3*x) + 0.1*x})
		}
		rows = append(rows, trialOf(fmt.Sprintf("t%02d", n), "s1", landing(points...)))
	}
	line := trialOf("line", "s1", landing([2]float64{150, 1}, [2]float64{150.1, 1.1}, [2]float64{150.3, 1.3})) // rank one
	still := trialOf("still", "s1", landing([2]float64{150, 1}, [2]float64{150, 1}, [2]float64{150, 1}))
	emptied := trialOf("gone", "s1", nil)
	if err := s.InsertTrials(ctx, append(rows, line, still, emptied)); err != nil {
		t.Fatal(err)
	}
	near := func(what string, got *float64, want float64) {
		t.Helper()
		if got == nil || math.Abs(*got-want) > 1e-10*math.Max(1, math.Abs(want)) {
			t.Errorf("%s: %v, not %v", what, value(got), want)
		}
	}
	for i, r := range rows {
		n := float64(i + 1)
		var area, areaVar, direction, directionVar, carry, carryVar, sd, percent, handed *float64
		one(t, s, fmt.Sprintf(`SELECT area_ln, area_ln_var, direction_ln, direction_ln_var, carry_ln, carry_ln_var, carry_sd_m, carry_sd_percent,
			handed_offline_mean_m FROM trial_rows WHERE trial = '%s'`, r.Trial), &area, &areaVar, &direction, &directionVar, &carry, &carryVar, &sd, &percent, &handed)
		near("handed", handed, -r.Row.OfflineMean)
		if n < 2 {
			for _, x := range []*float64{area, areaVar, direction, directionVar, carry, carryVar, sd, percent} {
				if x != nil {
					t.Errorf("one shot has a spread: %v", *x)
				}
			}
			continue
		}
		near("carry sd", sd, math.Sqrt(r.Row.CarryCarry/(n-1)))
		near("percent", percent, 100*math.Sqrt(r.Row.CarryCarry/(n-1))/r.Row.CarryMean)
		h := (n - 1) / 2
		near("direction", direction, 0.5*math.Log(r.Row.DirectionSS/2)-0.5*mathext.Digamma(h))
		near("its variance", directionVar, 0.25*mathext.Zeta(2, h))
		near("carry", carry, 0.5*math.Log(r.Row.CarryCarry*1e4/(r.Row.CarryMean*r.Row.CarryMean)/2)-0.5*mathext.Digamma(h))
		near("its variance", carryVar, 0.25*mathext.Zeta(2, h))
		if n < 3 {
			if area != nil || areaVar != nil {
				t.Errorf("two shots have an area: %v", value(area))
			}
			continue
		}
		det := r.Row.CarryCarry*r.Row.OfflineOffline - r.Row.CarryOffline*r.Row.CarryOffline
		near("area", area, 0.5*math.Log(det)-mathext.Digamma(n-2))
		near("its variance", areaVar, mathext.Zeta(2, n-2))
	}
	var lineArea, stillArea, stillCarry, stillSD *float64
	one(t, s, `SELECT (SELECT area_ln FROM trial_rows WHERE trial = 'line'), (SELECT area_ln FROM trial_rows WHERE trial = 'still'),
		(SELECT carry_ln FROM trial_rows WHERE trial = 'still'), (SELECT carry_sd_m FROM trial_rows WHERE trial = 'still')`, &lineArea, &stillArea, &stillCarry, &stillSD)
	if lineArea != nil || stillArea != nil || stillCarry != nil || stillSD == nil || *stillSD != 0 {
		t.Errorf("shots on a line or a point: %v %v %v, sd %v", value(lineArea), value(stillArea), value(stillCarry), value(stillSD))
	}
	var count uint64
	one(t, s, "SELECT count() FROM trial_rows", &count)
	if count != 42 {
		t.Errorf("%d trials, not 42: the emptied one is left out", count)
	}
}

// Golden value: A₁ = [360 60; 60 90] and A₂ = [180 20; 20 80] of ten shots each
// differ in spread by −.3607 with variance .26627.
func TestTrialRowsViewGoldenValue(t *testing.T) {
	s := open(t)
	a, b := trialOf("a", "s1", landing([2]float64{150, 1})), trialOf("b", "s1", landing([2]float64{150, 1}))
	for r, m := range map[*TrialRow][3]float64{&a: {360, 60, 90}, &b: {180, 20, 80}} {
		r.Row.N, r.Row.Landing = 10, 10
		r.Row.CarryCarry, r.Row.CarryOffline, r.Row.OfflineOffline = m[0], m[1], m[2]
	}
	if err := s.InsertTrials(t.Context(), []TrialRow{a, b}); err != nil {
		t.Fatal(err)
	}
	var difference, variance float64
	one(t, s, "SELECT assumeNotNull(anyIf(area_ln, trial = 'b') - anyIf(area_ln, trial = 'a')), assumeNotNull(sum(area_ln_var)) FROM "+
		"trial_rows", &difference, &variance)
	if math.Abs(difference+0.3607) > 1e-4 || math.Abs(variance-0.26627) > 1e-5 {
		t.Errorf("difference %v, variance %v", difference, variance)
	}
}

// Every mean of trial_rows is the mean of the field that its name says.
func TestTrialRowsViewTakesTheRightFields(t *testing.T) {
	s := open(t)
	var shots []trial.Shot
	for seq := uint64(1); seq <= 5; seq++ {
		shots = append(shots, trial.Shot{Values: hit(seq, "t1", "left").Values, Counts: true, Order: int(seq)})
	}
	row := trialOf("t1", "s1", shots)
	if err := s.InsertTrials(t.Context(), []TrialRow{row}); err != nil {
		t.Fatal(err)
	}
	checked := 0
	for _, f := range event.Fields() {
		mean := strings.Replace(f.Column, f.Name, f.Name+"_mean", 1)
		m, _ := row.Row.Field(f.Field)
		for column, want := range map[string]float64{
			mean: m.Mean, strings.Replace(mean, "_mean", "_sd", 1): math.Sqrt(m.SS / float64(m.N-1)), "handed_" + mean: -m.Mean,
		} {
			var there uint64
			one(t, s, "SELECT count() FROM system.columns WHERE database = currentDatabase() AND table = 'trial_rows' AND name = '"+column+"'",
				&there)
			if there == 0 {
				continue
			}
			checked++
			var got *float64
			one(t, s, "SELECT toNullable(toFloat64("+column+")) FROM trial_rows", &got)
			if got == nil || math.Abs(*got-want) > 1e-9*math.Max(1, math.Abs(want)) {
				t.Errorf("%s: %v, not %v", column, value(got), want)
			}
		}
	}
	if checked < 35 {
		t.Errorf("only %d columns of fields found", checked)
	}
}

func TestPromisesCheckedView(t *testing.T) {
	s := open(t)
	ctx := t.Context()
	at := func(carry float64) []trial.Shot {
		return landing([2]float64{carry - 2, -3}, [2]float64{carry, 2}, [2]float64{carry + 2, 1}, [2]float64{carry + 1, -2},
			[2]float64{carry - 1, 2})
	}
	gamer := func(name, session string, carry float64) TrialRow {
		r := trialOf(name, session, at(carry))
		r.Build, r.Level = &event.Build{Name: "own", ClubId: "own"}, 1
		return r
	}
	built := trialOf("check", "s2", at(156))
	earlier := trialOf("check2", "s3", at(149))
	if err := s.InsertTrials(ctx, []TrialRow{gamer("base", "s1", 150), trialOf("won", "s1", at(157)), gamer("again", "s2", 152), built,
		earlier}); err != nil {
		t.Fatal(err)
	}
	promises := []*event.Promise{{Outcome: "carry", Change: 7, Low: 3, High: 11, ProbabilityBetter: .98},
		{Outcome: "direction", Change: -.1, Low: -.4, High: .2},
		{Outcome: "strike", Change: -.001, Low: -.002, High: 0}}
	verdict := func(id, check string, live bool) VerdictRow {
		return VerdictRow{Place: place, ID: id, Version: 1, Visit: "v1", Session: "s1", Player: "p1", Category: "iron", At: viewDay.UnixNano(),
			CheckTrial: check, Live: live,
			Given: &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD, Trial: "won", Baseline: "base", Promises: promises}}
	}
	if err := s.InsertVerdicts(ctx, []VerdictRow{verdict("a", "check", true), verdict("b", "check2", true), verdict("c", "", true),
		verdict("d", "check", false)}); err != nil {
		t.Fatal(err)
	}
	var live uint64
	one(t, s, "SELECT count() FROM verdicts_live", &live)
	if live != 3 {
		t.Errorf("%d live verdicts", live)
	}
	rows, err := s.conn.Query(ctx, "SELECT verdict, outcome, compared, measured, se, inside FROM promises_checked ORDER BY verdict, outcome")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var got []string
	for rows.Next() {
		var id, outcome, compared string
		var measured, se *float64
		var inside *uint8
		if err := rows.Scan(&id, &outcome, &compared, &measured, &se, &inside); err != nil {
			t.Fatal(err)
		}
		line := fmt.Sprintf("%s %s %q", id, outcome, compared)
		if outcome == "carry" {
			line += fmt.Sprintf(" %.3f %.3f %d", *measured, *se, *inside)
		} else if outcome == "strike" && (measured != nil || se != nil || inside != nil) {
			t.Errorf("strike is measured: %v", *measured)
		}
		got = append(got, line)
	}
	// Carries −2 0 2 1 −1 about the mean: variance 2.5, of the mean .5, of the difference 1.
	want := []string{`a carry "same session" 4.000 1.000 1`, `a direction "same session"`, `a strike ""`,
		`b carry "earlier session" -1.000 1.000 0`, `b direction "earlier session"`, `b strike ""`}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestBayDaysView(t *testing.T) {
	s := open(t)
	rows := []EntryRow{hit(1, "t1", "right"), hit(2, "t1", "right"), hit(3, "t2", "right"), hit(4, "t2", "right"), hit(5, "t2", "right")}
	rows[3].Tag.Status, rows[4].Tag.Status = tag.Rejected, tag.Repeat
	rows[2].Tag.At += int64(24 * time.Hour)
	if err := s.InsertEntries(t.Context(), rows); err != nil {
		t.Fatal(err)
	}
	var days, entries, shots, rejected, repeats, trials uint64
	one(t, s, "SELECT (SELECT count() FROM bay_days), entries, shots, rejected, repeats, trials FROM bay_days WHERE day = '2026-05-04'", &days,
		&entries, &shots, &rejected, &repeats, &trials)
	if days != 2 || entries != 4 || shots != 2 || rejected != 1 || repeats != 1 || trials != 1 {
		t.Error(days, entries, shots, rejected, repeats, trials)
	}
}

// A question about one bay reads that bay's key range, through both views.
func TestViewsUseTheKey(t *testing.T) {
	s := open(t)
	if err := s.InsertEntries(t.Context(), []EntryRow{hit(1, "t1", "right")}); err != nil {
		t.Fatal(err)
	}
	rows, err := s.conn.Query(t.Context(), "EXPLAIN indexes = 1 SELECT count() FROM shots WHERE studio = 'harbour-row' AND bay = 'quay'")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var plan []string
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			t.Fatal(err)
		}
		plan = append(plan, line)
	}
	if text := strings.Join(plan, "\n"); !strings.Contains(text, "PrimaryKey") || !strings.Contains(text, "(bay in ['quay', 'quay'])") {
		t.Errorf("the key is not used:\n%s", text)
	}
}

func value(p *float64) any {
	if p == nil {
		return nil
	}
	return *p
}
