package answers

import (
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/sim"
)

// One small fleet of known effects, asked in every way: making it takes longer
// than asking.
func TestPlantedFleet(t *testing.T) {
	players := 1000
	if proof.Wanted() {
		players = 20_000
	}
	f, made, s := planted(t, sim.FleetOptions{Players: players, Seed: 3, Left: 0.15, Shots: 10, PerStudio: players / 3})
	driver := Question{Outcome: "direction", Filter: Filter{Category: "driver"}}
	first, err := f.Ask(t.Context(), driver, Asking{})
	if err != nil || first.Refused != "" {
		t.Fatal(err, first.Refused)
	}
	mark := first.Mark

	t.Run("planted effects lie within their intervals", func(t *testing.T) {
		for _, outcome := range []string{"direction", "carry_control", "carry"} {
			q := driver
			q.Outcome = outcome
			got, err := f.Ask(t.Context(), q, Asking{})
			if err != nil || got.Refused != "" {
				t.Fatal(outcome, err, got.Refused)
			}
			checkPlanted(t, made, got)
		}
	})

	t.Run("an answer can be said again", func(t *testing.T) {
		// Another process, which has nothing in memory.
		other := New(s, Options{})
		kept, err := other.Answer(t.Context(), first.ID)
		if err != nil {
			t.Fatal(err)
		}
		newest, err := other.Newest(t.Context(), driver)
		if err != nil || newest.ID != first.ID {
			t.Fatalf("newest is %v, %v", newest, err)
		}
		again, err := other.Ask(t.Context(), driver, Asking{Again: true})
		if err != nil || again.ID != first.ID {
			t.Fatalf("asked again: %v, id %s and %s", err, again.ID, first.ID)
		}
		for i, e := range first.Answer.Fit.Terms {
			if k := kept.Answer.Fit.Terms[i]; k.Name != e.Name || k.Value != e.Value || k.SE != e.SE || k.CILow != e.CILow || k.P != e.P {
				t.Errorf("kept %+v, was %+v", k, e)
			}
			if a := again.Answer.Fit.Terms[i]; a.Value != e.Value || a.SE != e.SE {
				t.Errorf("computed again %+v, was %+v", a, e)
			}
		}
		text := func(a *Stored) string {
			e, err := a.Answer.Effects(fleet.Person{})
			if err != nil {
				t.Fatal(err)
			}
			b, _ := json.Marshal(e)
			return string(b)
		}
		if text(first) != text(kept) {
			t.Error("a kept answer gives other effects than it gave when it was made")
		}
	})

	t.Run("diagnostics are shown, and fire where nothing is wrong seldom", func(t *testing.T) {
		codes, fired := map[string]bool{}, 0
		for _, d := range first.Diagnostics {
			codes[d.Code] = true
			if d.Fired {
				fired++
				t.Logf("fired: %s %s", d.Code, d.Text)
			}
		}
		for _, c := range []string{"few_players", "order", "selection", "bays", "exclusion", "coupling", "tails", "clustered", "slope_or_noise"} {
			if !codes[c] {
				t.Errorf("no diagnostic %s", c)
			}
		}
		if fired > 3 {
			t.Errorf("%d diagnostics fired on a plain fleet", fired)
		}
		near := false
		for _, n := range first.Answer.Notes {
			near = near || n.Code == "attribute_follows" && strings.Contains(n.Text, "swing_weight")
		}
		if !near {
			t.Error("that swing weight follows from the rest is not said")
		}
	})

	t.Run("filters keep what they say", func(t *testing.T) {
		low := 41.5
		for name, c := range map[string]struct {
			filter Filter
			where  string
		}{
			"studio": {Filter{Category: "driver", Studios: []string{"harbour-row-0002"}}, "studio = 'harbour-row-0002' AND category = 'driver'"},
			"period": {Filter{Category: "iron", From: "2026-01-10", To: "2026-01-14"},
				"toDate(first_shot) BETWEEN '2026-01-10' AND '2026-01-14' AND category = 'iron'"},
			"band": {Filter{Category: "driver", Bands: []Band{{Trait: "speed_mps", Low: &low}}},
				"category = 'driver' AND player IN (SELECT player FROM profiles WHERE category = 'driver' AND speed_mps >= 41.5)"},
		} {
			var want, shots uint64
			if err := s.Conn().QueryRow(t.Context(), "SELECT count(), sum(n) FROM trials FINAL WHERE n > 0 AND consent AND NOT minor AND "+
				c.where).Scan(&want, &shots); err != nil {
				t.Fatal(err)
			}
			got, err := f.Describe(t.Context(), mark, c.filter, 10)
			if err != nil || got.Trials != want || got.Shots != shots || want == 0 || len(got.Studios) == 0 {
				t.Errorf("%s: %+v, want %d trials, %d shots, %v", name, got, want, shots, err)
			}
		}
		studio := driver
		studio.Filter.Studios = []string{"harbour-row-0002"}
		a, err := f.Ask(t.Context(), studio, Asking{})
		if err != nil || a.Players == 0 || a.Players >= first.Players {
			t.Fatalf("one studio: %+v %v", a, err)
		}
	})

	t.Run("numbers behind an effect are those of SQL", func(t *testing.T) { checkBehind(t, f, s.Conn(), first) })

	t.Run("build against build", func(t *testing.T) {
		builds, err := f.Builds(t.Context(), mark.Snapshot, "driver", 400)
		if err != nil || len(builds) < 2 {
			t.Fatal(len(builds), err)
		}
		// The pair that most sessions hit together.
		var a, b string
		var sessions uint64
		if err := s.Conn().QueryRow(t.Context(), `SELECT x.build, y.build, uniqExact(x.session) AS n FROM trials AS x INNER JOIN trials AS y ON x.session = y.session AND x.category = y.category
			WHERE x.category = 'driver' AND x.build < y.build GROUP BY x.build, y.build ORDER BY n DESC, x.build, y.build LIMIT 1`).Scan(&a, &b, &sessions); err != nil {
			t.Fatal(err)
		}
		got, err := f.Compare(t.Context(), "direction", Filter{Category: "driver"}, a, b, Asking{})
		if err != nil {
			t.Fatal(err)
		}
		if got.Comparison == nil || got.Comparison.Levels != int(sessions) {
			t.Errorf("%+v, want %d levels", got, sessions)
		}
		var unknown *UnknownBuildError
		if _, err := f.Compare(t.Context(), "direction", Filter{Category: "driver"}, a, "no such build", Asking{}); !errors.As(err, &unknown) ||
			unknown.Build != "no such build" {
			t.Errorf("an unknown build: %v", err)
		}
	})

	t.Run("one sheet of every reasonable choice", func(t *testing.T) {
		// A small model: the sheet fits it some thirty times.
		q := driver
		q.Attributes, q.NoTraits = []string{"shaft_weight", "length"}, true
		plain, err := f.Ask(t.Context(), q, Asking{})
		if err != nil {
			t.Fatal(err)
		}
		sheet, err := f.Robustness(t.Context(), q, "shaft_weight", Asking{})
		if err != nil {
			t.Fatal(err)
		}
		groups := map[string]int{}
		for _, r := range sheet.Rows {
			groups[r.Group]++
		}
		if groups["as asked"] != 1 || groups["exclusions"] == 0 || groups["bay"] == 0 || groups["studio"] == 0 || groups["model"] == 0 {
			t.Errorf("groups %v", groups)
		}
		for _, e := range plain.Answer.Fit.Terms {
			if e.Name == "shaft_weight" && math.Abs(e.Value-sheet.Rows[0].Change) > 1e-6 {
				t.Errorf("as asked %v, the answer says %v", sheet.Rows[0].Change, e.Value)
			}
		}
	})

	t.Run("advice for a player", func(t *testing.T) { checkAdvice(t, f, made) })

	t.Run("nothing to say is an answer", func(t *testing.T) {
		var player, session string
		if err := s.Conn().QueryRow(t.Context(),
			"SELECT player, session FROM trials WHERE category = 'driver' ORDER BY player LIMIT 1").Scan(&player, &session); err != nil {
			t.Fatal(err)
		}
		none, err := f.Ask(t.Context(), Question{Outcome: "direction", Filter: Filter{Category: "wedge"}}, Asking{})
		if err != nil || none.Answer != nil || !strings.Contains(none.Refused, "no trial matches") {
			t.Errorf("no trial: %+v, %v", none, err)
		}
		var refused *FilterError
		for _, q := range []Question{
			{Outcome: "luck"}, {Outcome: "direction", Filter: Filter{Category: "spoon"}}, {Outcome: "direction", Filter: Filter{From: "yesterday"}},
			{Outcome: "direction", Attributes: []string{"colour"}}, {Outcome: "direction", Filter: Filter{Bands: []Band{{Trait: "speed_mps"}}}},
		} {
			if _, err := f.Ask(t.Context(), q, Asking{}); !errors.As(err, &refused) {
				t.Errorf("%+v: %v", q, err)
			}
		}
	})

	t.Run("what another flight model made is left out, and said", func(t *testing.T) {
		again := func(model string) (Mark, *Stored) {
			if err := s.Conn().Exec(t.Context(), "INSERT INTO trials SELECT * REPLACE (version + 1 AS version, '"+model+
				"' AS flight_model, now64(3) AS inserted) FROM trials FINAL WHERE cityHash64(session) % 3 = 0"); err != nil {
				t.Fatal(err)
			}
			m, err := f.Refresh(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			a, err := f.Ask(t.Context(), first.Question, Asking{})
			if err != nil {
				t.Fatal(err)
			}
			return m, a
		}
		told := func(s *Stored) bool {
			return slices.ContainsFunc(s.Answer.Notes, func(w fleet.Warning) bool { return w.Code == "flight_model" })
		}
		m, a := again("ferguson-0badcafe")
		if m.Outdated == 0 || m.Trials != mark.Trials || !told(a) || a.Answer.Fit.K >= first.Answer.Fit.K*9/10 {
			t.Errorf("%d of another flight model, %d trials of %d in the answer, said: %v", m.Outdated, a.Answer.Fit.K, first.Answer.Fit.K,
				told(a))
		}
		m, a = again("")
		if m.Outdated != 0 || told(a) || a.Answer.Fit.K != first.Answer.Fit.K {
			t.Errorf("computed anew: %d of another flight model, %d trials of %d, said: %v", m.Outdated, a.Answer.Fit.K, first.Answer.Fit.K,
				told(a))
		}
		mark = m
	})

	t.Run("new trials make a new snapshot, a forgotten player leaves it", func(t *testing.T) {
		if same, err := f.Refresh(t.Context()); err != nil || same.Snapshot != mark.Snapshot {
			t.Fatalf("refreshed without need: %v %v", same, err)
		}
		var player string
		if err := s.Conn().QueryRow(t.Context(), "SELECT min(player) FROM trials").Scan(&player); err != nil {
			t.Fatal(err)
		}
		if err := f.Forget(t.Context(), player); err != nil {
			t.Fatal(err)
		}
		// Consent taken back: the row is written again with a higher version.
		if err := s.Conn().Exec(t.Context(), "INSERT INTO trials SELECT * REPLACE (version + 1 AS version, false AS consent, now64(3) AS "+
			"inserted) FROM trials FINAL WHERE player = '"+player+"'"); err != nil {
			t.Fatal(err)
		}
		after, err := f.Refresh(t.Context())
		if err != nil || after.Snapshot == mark.Snapshot || after.Players != mark.Players-1 {
			t.Fatalf("%+v after %+v, %v", after, mark, err)
		}
		if _, err := f.Player(t.Context(), player, "driver"); err == nil {
			t.Error("a player without consent is advised")
		}
		if old, err := f.Answer(t.Context(), first.ID); err != nil || old.Mark.Snapshot != first.Mark.Snapshot {
			t.Errorf("an answer of the older data is gone: %v", err)
		}
	})
}
