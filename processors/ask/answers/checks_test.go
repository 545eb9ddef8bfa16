package answers

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/ClickHouse/clickhouse-go/v2/lib/driver"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/sim"
)

// reliable are the traits that one trial measures well; how wide a player
// strikes is not among them, so what depends on it is understated.
var reliable = map[string]bool{"speed_mps": true, "attack_deg": true, "path_deg": true, "face_to_path_deg": true, "dynamic_loft_deg": true}

// checkPlanted counts the intervals that hold what was planted: 95 in a hundred
// should, and no estimate may lie absurdly far off.
func checkPlanted(t *testing.T, made *sim.Fleet, got *Stored) {
	t.Helper()
	truth := made.Truth(sim.FleetSummary{})
	q := map[string]*sim.Response6{"direction": &truth.Planted.Direction, "carry_control": &truth.Planted.CarryControl,
		"carry": &truth.Planted.Carry}[got.Question.Outcome]
	standard := truth.Standard[got.Question.Filter.Category]
	d := got.Answer.Design
	in, all := 0, 0
	for _, e := range got.Answer.Fit.Terms {
		name, trait, _ := strings.Cut(e.Name, ":")
		a, ok := fleet.ParseAttribute(name)
		if !ok {
			continue
		}
		// The curve bends about the standard club, the model about its reference.
		want := q.Main[a] + 2*q.Curve[a]*(d.Reference[a]-standard[a])/a.Step()
		if trait != "" {
			if !reliable[trait] {
				continue
			}
			for k, n := range truth.Traits {
				if n == trait {
					want = q.Moderated[a][k]
				}
			}
		}
		all++
		if e.CILow <= want && want <= e.CIHigh {
			in++
		}
		if off := math.Abs(e.Value-want) / e.SE; off > 4.2 {
			t.Errorf("%s of %s: %.4f ± %.4f, planted %.4f", got.Question.Outcome, e.Name, e.Value, e.SE, want)
		}
	}
	if all < 30 || float64(in) < 0.82*float64(all) {
		t.Errorf("%s: %d of %d intervals hold the truth", got.Question.Outcome, in, all)
	}
	t.Logf("%s: %d of %d intervals hold the truth, %d players", got.Question.Outcome, in, all, got.Players)
}

// checkBehind compares the drill-down with SQL over the rows it came from.
func checkBehind(t *testing.T, f *Fleet, conn driver.Conn, s *Stored) {
	t.Helper()
	var list []Behind
	total := uint64(0)
	for after := ""; ; {
		page, next, err := f.Behind(t.Context(), s.Mark, s.Question.Filter, "shaft_weight", after, 200)
		if err != nil {
			t.Fatal(err)
		}
		list, after = append(list, page...), next
		total += uint64(len(page))
		if next == "" {
			break
		}
	}
	if len(list) < 30 {
		t.Fatal(len(list))
	}
	// Levels with two shaft weights, the describing trials left out, straight from trials.
	const sql = `WITH describing AS (SELECT studio, session, trial, part FROM trials FINAL WHERE category = 'driver' AND gamer AND n >= 5 ORDER BY first_shot, part, trial LIMIT 1 BY player),
		judged AS (SELECT * FROM trials FINAL WHERE category = 'driver' AND n > 0 AND (studio, session, trial, part) NOT IN (SELECT * FROM describing))
		SELECT sum(c), count() FROM (SELECT count() AS c FROM judged GROUP BY player, session, level HAVING max(build_shaft_weight_kg) - min(build_shaft_weight_kg) > 1e-9)`
	var want, levels uint64
	if err := conn.QueryRow(t.Context(), sql).Scan(&want, &levels); err != nil {
		t.Fatal(err)
	}
	if total != want {
		t.Errorf("%d trials behind shaft weight, SQL says %d", total, want)
	}
	if got := s.Answer.Varied["shaft_weight"]; got != int(levels) {
		t.Errorf("the answer counts %d levels, SQL %d", got, levels)
	}
	for _, b := range list[:5] {
		shots, err := f.TrialShots(t.Context(), b.Studio, b.Session, b.Trial)
		if err != nil {
			t.Fatal(err)
		}
		n, sum := 0, 0.0
		for _, x := range shots {
			if x.Status == "counts" {
				n++
				sum += *x.Carry
			}
		}
		if n != b.Shots || b.Carry == nil || math.Abs(sum/float64(n)-*b.Carry) > 1e-9 {
			t.Errorf("trial %s: %d shots with a mean carry of %v, the row says %d and %v", b.Trial, n, sum/float64(n), b.Shots, b.Carry)
		}
	}
}

// checkAdvice follows the advice for some players and compares the true gains.
func checkAdvice(t *testing.T, f *Fleet, made *sim.Fleet) {
	t.Helper()
	var followed, average float64
	asked := 0
	for n := 0; n < 60 && asked < 24; n++ {
		p := made.Player(n)
		c, err := f.Advise(t.Context(), p.ID, "driver", Advising{Kept: true})
		var unknown *UnknownPlayerError
		if errors.As(err, &unknown) {
			continue // no driver session
		}
		if err != nil || c.Refused != "" {
			t.Fatal(p.ID, err, c)
		}
		if len(c.Advice) < 10 || len(c.TryNext()) == 0 || c.TryNext()[0].Try != 1 || c.Answer == "" || c.Carry == "" ||
			c.Advice[0].Carry == nil || len(c.Advice[0].Evidence) == 0 || c.Advice[0].Why == "" {
			t.Fatalf("%s: %+v", p.ID, c)
		}
		gamer := made.Gamer(&p, "driver")
		standard := made.Truth(sim.FleetSummary{}).Standard["driver"]
		gain := func(build string) float64 {
			b := attributesOf(t, f, build)
			var to sim.Attributes
			for i := range to {
				to[i] = (b[i] - standard[i]) / sim.Attribute(i).Info().Step
			}
			d, _, _ := made.TrueChange(&p, gamer, to)
			return -d
		}
		followed += gain(c.Advice[0].Build)
		for _, a := range c.Advice {
			average += gain(a.Build) / float64(len(c.Advice))
		}
		asked++
	}
	if asked < 20 || followed <= average || followed <= 0 {
		t.Errorf("followed by %d players, advice gains %.3f in ln spread each, the average build %.3f", asked, followed/float64(asked),
			average/float64(asked))
	}
	t.Logf("%d players: advice gains %.3f in ln spread each, the average build %.3f", asked, followed/float64(asked), average/float64(asked))

	var unknown *UnknownPlayerError
	if _, err := f.Advise(t.Context(), "nobody", "driver", Advising{}); !errors.As(err, &unknown) || unknown.Player != "nobody" {
		t.Errorf("an unknown player: %v", err)
	}
}

func anyPlayer(t *testing.T, f *Fleet) (id string) {
	t.Helper()
	if err := f.store.Conn().QueryRow(t.Context(), "SELECT min(player) FROM profiles WHERE category = 'driver'").Scan(&id); err != nil {
		t.Fatal(err)
	}
	return id
}

var known = map[string][fleet.AttributeCount]float64{}

func attributesOf(t *testing.T, f *Fleet, build string) [fleet.AttributeCount]float64 {
	t.Helper()
	if len(known) == 0 {
		m, err := f.Latest(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		builds, err := f.Builds(context.Background(), m.Snapshot, "driver", 10_000)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range builds {
			known[b.Key] = b.Attributes
		}
	}
	a, ok := known[build]
	if !ok {
		t.Fatal(fmt.Errorf("build %s is not among the fleet's", build))
	}
	return a
}
