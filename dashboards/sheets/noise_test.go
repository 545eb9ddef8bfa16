package sheets

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/profile"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
	"fairlead/processors/visit/trial"
)

// cameBack stores the own clubs of players who came twice, two runs a visit: their attack
// moves by sd from day to day, their speed by nothing.
func (s *studio) cameBack(players int, sd float64) {
	s.t.Helper()
	rng := rand.New(rand.NewPCG(3, 5))
	var rows []store.TrialRow
	for p := range players {
		for day := range 2 {
			at := time.Date(2025, 3, 1+60*day, 9, 0, p, 0, time.UTC)
			attack := -2 + sd*rng.NormFloat64()
			for r := range 2 {
				n, shots := 10, at.Add(time.Duration(r)*time.Minute).UnixNano()
				of := func(f event.Field, mean, spread float64) trial.Moment {
					return trial.Moment{Field: f, N: n, Mean: mean + spread*rng.NormFloat64()/3.2, SS: spread * spread * float64(n-1)}
				}
				id := fmt.Sprintf("back-%d-%d", p, day)
				rows = append(rows, store.TrialRow{Studio: testStudio, Bay: "south", Visit: id, Session: id, Trial: fmt.Sprint(id, "-", r),
					Version: 1, Player: fmt.Sprint("p-back-", p), Hand: event.Hand_HAND_RIGHT, Category: "driver", Consent: true,
					Class: event.ShotClass_CLASS_FULL, Build: &event.Build{Gamer: true}, Setting: visit.Setting{Place: "indoor"},
					Row: trial.Row{N: n, Device: "bay", First: shots, Last: shots, Fields: []trial.Moment{
						of(event.Field_FIELD_CLUBHEAD_SPEED, 42, 0.5), of(event.Field_FIELD_ATTACK_ANGLE, attack, 0.8)}}})
			}
		}
	}
	must(s.t, s.store.InsertTrials(s.t.Context(), rows))
}

// What the studio's own players did who came back says how days differ, of what came
// before the visit and of nobody who did not consent.
func learnsHowDaysDiffer(t *testing.T, s *studio) {
	s.cameBack(30, 2)
	after := time.Date(2025, 6, 1, 0, 0, 0, 0, time.UTC).UnixNano()
	noise, err := s.source().noise(t.Context(), glossary.Driver, after)
	must(t, err)
	if a := noise[profile.Attack]; a.Players != 30 || a.SD < 1.2 || a.SD > 2.8 {
		t.Errorf("attack from day to day: %+v, of 2° planted", a)
	}
	if v := noise[profile.Speed]; v.Players != 30 || v.SD > 0.4 {
		t.Errorf("speed from day to day: %+v, of nothing planted", v)
	}
	if _, known := noise[profile.Path]; known {
		t.Error("the path was learnt, though nobody's was measured")
	}
	for what, of := range map[string]struct {
		category glossary.Category
		before   int64
	}{"before they came back": {glossary.Driver, time.Date(2025, 4, 1, 0, 0, 0, 0, time.UTC).UnixNano()}, "of irons": {glossary.Iron, after}} {
		none, err := s.source().noise(t.Context(), of.category, of.before)
		must(t, err)
		if a := none[profile.Attack]; a.Players != 0 && what == "of irons" || a.SD > 1 {
			t.Errorf("%s: %+v", what, none)
		}
	}
}
