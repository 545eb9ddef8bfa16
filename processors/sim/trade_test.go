package sim

import (
	"math"
	"testing"

	"fairlead/processors/hub/store"
)

// A fleet that trades has what it was asked for, the same each time, and rows of
// trials that follow from its entries.
func TestAFleetTrades(t *testing.T) {
	o := FleetOptions{Players: 120, Seed: 8, PerStudio: 60, Trade: TradeOptions{Years: 2, Stock: 24, Balls: true, Verdicts: true,
		Checks:  0.6,
		Strikes: true, Pairs: true, Putters: 0.5}}
	db, f, summary := stored(t, o)
	s := store.New(db.Open(t))
	if err := f.WriteVerdicts(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	var sessions, players, balls, grips, putts, years, verdicts, chosen, checked, kept, apart uint64
	if err := s.Conn().QueryRow(t.Context(),
		`SELECT uniqExact(session), uniqExact(player), uniqExact(ball_model), uniqExactIf(build_grip_model, build_grip_model != ''),
		countIf(category = 'putter' AND n_directed > 0 AND n_landing = 0), toUInt64(dateDiff('day', min(first_shot), max(first_shot))) FROM trials FINAL`).
		Scan(&sessions, &players, &balls, &grips, &putts, &years); err != nil {
		t.Fatal(err)
	}
	if err := s.Conn().QueryRow(t.Context(),
		`SELECT count(), countIf(kind = 'build'), countIf(checked), countIf(kind = 'keep_gamer') FROM verdicts FINAL`).
		Scan(&verdicts, &chosen, &checked, &kept); err != nil {
		t.Fatal(err)
	}
	if int(sessions) != summary.Sessions || players != 120 || balls != 3 || grips != 5 || putts < 150 || years < 500 || verdicts != 120 ||
		chosen+kept != 120 || chosen < 30 || checked < 15 || checked > chosen {
		t.Errorf("%d sessions (%d), %d players, %d balls, %d grips, %d trials with putters, %d days, %d verdicts: %d chosen, %d checked, %d kept",
			sessions, summary.Sessions, players, balls, grips, putts, years, verdicts, chosen, checked, kept)
	}
	// What rows say of their shots.
	if err := s.Conn().QueryRow(t.Context(),
		`SELECT countIf(t.n != e.n OR t.setting != e.s OR t.ball_model != e.b OR t.build != e.k OR abs(t.direction_mean_deg - e.d) > 1e-9)
		FROM trials AS t FINAL INNER JOIN (SELECT trial, count() AS n, any(setting) AS s, any(ball_model) AS b, any(build) AS k, avg(direction_deg) AS d FROM entries FINAL GROUP BY trial) AS e USING (trial)`).
		Scan(&apart); err != nil || apart != 0 {
		t.Errorf("%d trials are not what their shots are, %v", apart, err)
	}
	var points uint64
	if err := s.Conn().QueryRow(t.Context(),
		`SELECT countIf(isNotNull(measured) AND compared = 'same session') FROM promises_checked`).Scan(&points); err != nil ||
		points != 2*checked {
		t.Errorf("%d promises checked of %d, %v", points, 2*checked, err)
	}
}

func TestPartsOfACatalogueAreCrossed(t *testing.T) {
	c := newCatalogue(&FleetOptions{Seed: 3, Trade: TradeOptions{Stock: 48}})
	heads, shafts := map[string]float64{}, map[string]bool{}
	for _, b := range c.drivers {
		heads[b.head]++
		shafts[b.head+b.shaft] = true
		if b.head == "Turnstone" && b.chosen != 0 {
			t.Error("a head that nobody takes is taken")
		}
	}
	if len(heads) != 8 || len(shafts) < 20 || math.Abs(heads["Gannet"]-6) > 0 {
		t.Errorf("%v, %d pairs of head and shaft", heads, len(shafts))
	}
	if _, err := NewFleet(FleetOptions{Players: 1, Trade: TradeOptions{Verdicts: true}}); err == nil {
		t.Error("verdicts without a catalogue are taken")
	}
}
