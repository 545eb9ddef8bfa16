package answers

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
	"fairlead/processors/sim"
)

// built is a build of which the attributes are known.
func built(a [fleet.AttributeCount]float64, more ...*event.Spec) *event.Build {
	b := &event.Build{Specs: more}
	for i, x := range a {
		switch part := attributeParts[i]; {
		case math.IsNaN(x):
		case part == event.BuildField_BUILD_FLEX:
			b.Specs = append(b.Specs, &event.Spec{Field: part, Text: "LARSX"[int(math.Round(x)) : int(math.Round(x))+1]})
		default:
			b.Specs = append(b.Specs, &event.Spec{Field: part, Number: x})
		}
	}
	return b
}

func priorNamed(p *event.PriorTaken, name glossary.Name) *event.Prior {
	for _, x := range p.GetPriors() {
		if x.Outcome == string(name) {
			return x
		}
	}
	return nil
}

func TestPriorOfAPlantedFleet(t *testing.T) {
	f, made, s := planted(t, sim.FleetOptions{Players: 500, Seed: 4, Left: 0.1, Shots: 10, PerStudio: 250})
	early := time.Now()
	for _, o := range promised() {
		if a, err := f.Ask(t.Context(), Question{Outcome: o.Fleet.Name, Filter: Filter{Category: "driver"}}, Asking{}); err != nil ||
			a.Refused != "" {
			t.Fatal(o.Fleet.Name, err, a.Refused)
		}
	}
	proof.Pause(t, 5*time.Millisecond)
	visit := time.Now()
	none := func(what string, err error, word string) {
		t.Helper()
		var n *NoPriorError
		if !errors.As(err, &n) || !strings.Contains(n.Reason, word) {
			t.Errorf("%s: %v", what, err)
		}
	}

	t.Run("the truth lies where it is expected", func(t *testing.T) {
		standard := made.Truth(sim.FleetSummary{}).Standard["driver"]
		in, stranger95, asked := map[glossary.Name]float64{}, map[glossary.Name]float64{}, 0.0
		wide, measured := map[glossary.Name]float64{}, map[glossary.Name]float64{}
		sharp, most := 0.0, 20
		if proof.Wanted() {
			most = 150
		}
		for n := 0; n < 5*most && asked < float64(most); n++ {
			player := made.Player(n)
			known, err := f.Player(t.Context(), player.ID, "driver")
			if err != nil || math.IsNaN(known.Incumbent[fleet.ShaftWeight]) || math.IsNaN(known.Incumbent[fleet.Flex]) {
				continue
			}
			// A flex with a plus is not written back by built.
			known.Incumbent[fleet.Flex] = math.Round(known.Incumbent[fleet.Flex])
			to := known.Incumbent
			to[fleet.ShaftWeight] += 0.015
			to[fleet.Length] -= 0.0127
			p, err := f.Prior(t.Context(), player.ID, "driver", built(known.Incumbent), built(to), visit)
			if err != nil {
				t.Fatal(player.ID, err)
			}
			steps := func(a [fleet.AttributeCount]float64) (x sim.Attributes) {
				for i := range x {
					if x[i] = (a[i] - standard[i]) / sim.Attribute(i).Info().Step; math.IsNaN(x[i]) {
						x[i] = 0
					}
				}
				return x
			}
			direction, control, carry := made.TrueChange(&player, steps(known.Incumbent), steps(to))
			for name, truth := range map[glossary.Name]float64{glossary.Direction: direction, glossary.DistanceControl: control,
				glossary.Carry: carry} {
				x := priorNamed(p, name)
				if x == nil || x.Answer == "" || x.Players < leastPriorPlayers || x.Doubt < evidence.FleetDoubt || x.MarkUnixNs > visit.UnixNano() ||
					p.ProfileUnixNs >= visit.UnixNano() {
					t.Fatalf("%s of %s: %+v", name, player.ID, x)
				}
				if math.Abs(x.Mean-truth) <= 1.96*x.Sd {
					in[name]++
				}
				if name == glossary.Carry {
					sharp += x.Sd / evidence.WeakPrior("driver", name).Spread()
				}
				// Of the same player before anybody measured them.
				stranger, err := f.Prior(t.Context(), "", "driver", built(known.Incumbent), built(to), visit)
				if err != nil || stranger.ProfileUnixNs != 0 {
					t.Fatalf("%s of a stranger: %+v, %v", name, stranger, err)
				}
				y := priorNamed(stranger, name)
				if math.Abs(y.Mean-truth) <= 1.96*y.Sd {
					stranger95[name]++
				}
				wide[name] += y.Sd / evidence.WeakPrior("driver", name).Spread()
				measured[name] += x.Sd / evidence.WeakPrior("driver", name).Spread()
			}
			asked++
		}
		for name, n := range in {
			t.Logf("%s: %.0f of %.0f true changes within 1.96 sd, of strangers %.0f at %.2f of the weak default's width", name, n, asked,
				stranger95[name], wide[name]/asked)
			// The prior also holds noise between trials, so more than 95 % may be in.
			if n/asked < 0.85 {
				t.Errorf("%s: %.0f of %.0f true changes lie within 1.96 sd of what is expected", name, n, asked)
			}
			// Of spreads the noise between trials alone is as wide as the weak default.
			if stranger95[name]/asked < 0.85 || name == glossary.Carry && wide[name]/asked > 0.9 || wide[name] < 0.9*measured[name] {
				t.Errorf("%s of strangers: %.0f of %.0f within 1.96 sd, %.2f of the weak default's width, measured %.2f", name, stranger95[name],
					asked, wide[name]/asked, measured[name]/asked)
			}
		}
		if asked < 15 || sharp/asked > 0.9 {
			t.Errorf("%.0f players; the prior of carry is as wide as %.2f of the weak one", asked, sharp/asked)
		}
	})

	id := anyPlayer(t, f)
	from := [fleet.AttributeCount]float64{1.143, 10.5, 58, 0.060, 2, 4, 0.200, math.NaN()}
	to := from
	to[fleet.ShaftWeight] = 0.075
	ask := func(player string, a, b *event.Build, before time.Time) (*event.PriorTaken, error) {
		return f.Prior(t.Context(), player, "driver", a, b, before)
	}
	first, err := ask(id, built(from), built(to), visit)
	if err != nil {
		t.Fatal(err)
	}

	t.Run("nothing of the visit is in it", func(t *testing.T) {
		_, err := ask(id, built(from), built(to), early)
		none("an answer that came after the visit began", err, "before this visit")
		// The player's only shots are those of today.
		today := "INSERT INTO trials SELECT * REPLACE ('today' AS player, now64(9) AS first_shot, now64(9) AS last_shot, concat('t', session) " +
			"AS session, now64(3) AS inserted) FROM (SELECT * FROM trials FINAL WHERE player = '" + id + "')"
		if err := s.Conn().Exec(t.Context(), today); err != nil {
			t.Fatal(err)
		}
		if _, err := f.Player(t.Context(), "today", "driver"); err != nil {
			t.Fatal("today's shots describe nobody: ", err)
		}
		now, err := ask("today", built(from), built(to), visit)
		stranger, err2 := ask("", built(from), built(to), visit)
		if err != nil || err2 != nil || now.ProfileUnixNs != 0 || !proto.Equal(now, stranger) {
			t.Errorf("a swing known from this visit only is used: %v, %v; %v, %v", now, err, stranger, err2)
		}
		// A night in the middle of the visit knows them; the visit goes on with the answer from before.
		if _, err := f.Ask(t.Context(), Question{Outcome: "carry", Filter: Filter{Category: "driver"}}, Asking{}); err != nil {
			t.Fatal(err)
		}
		same, err := ask(id, built(from), built(to), visit)
		if err != nil || priorNamed(same, glossary.Carry).Answer != priorNamed(first, glossary.Carry).Answer {
			t.Errorf("a later answer is taken: %v, %v", same, err)
		}
		later, err := ask(id, built(from), built(to), time.Now().Add(time.Second))
		if err != nil || priorNamed(later, glossary.Carry).Answer == priorNamed(first, glossary.Carry).Answer {
			t.Errorf("the next visit takes the older answer: %v, %v", later, err)
		}
	})

	t.Run("the wander of players who came back to a club", func(t *testing.T) {
		got, err := f.wander(t.Context(), "driver", visit)
		if err != nil || len(got) == 0 {
			t.Fatal(got, err)
		}
		for _, w := range got {
			t.Logf("%s moves by %.2f of its spread from run to run: %d players", w.Outcome, w.Share, w.Players)
			if w.Players < 30 || w.Share < leastWander || w.Share > 0.3 {
				t.Errorf("%v", w)
			}
		}
		if none, err := f.wander(t.Context(), "driver", time.Unix(1e9, 0)); err != nil || len(none) > 0 {
			t.Errorf("of rows from before there were any: %v, %v", none, err)
		}
	})

	t.Run("what a head office gives to a studio", func(t *testing.T) {
		asked, err := f.Ask(t.Context(), Question{Outcome: "carry", Filter: Filter{Category: "driver"}}, Asking{Stale: true})
		if err != nil {
			t.Fatal(err)
		}
		headOffice(t, f, asked, built(from), built(to))
	})

	t.Run("what the fleet does not describe makes it no surer", func(t *testing.T) {
		head := &event.Spec{Field: event.BuildField_BUILD_HEAD_MODEL, Text: "Fulmar 3"}
		other, err := ask(id, built(from), built(to, head), visit)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range []glossary.Name{glossary.Direction, glossary.DistanceControl, glossary.Area, glossary.Carry} {
			a, b, weak := priorNamed(first, o), priorNamed(other, o), evidence.WeakPrior("driver", o)
			if a == nil || b == nil || a.Mean != b.Mean || b.Sd < weak.Spread() || a.Sd >= b.Sd {
				t.Errorf("%s: %+v with another head %+v, weak %g", o, a, b, weak.Spread())
			}
		}
		_, err = ask(id, built(from), built(from, head), visit)
		none("only the head differs", err, "nothing to say")
		_, err = ask(id, &event.Build{}, built(to), visit)
		none("nothing is known of the own club", err, "nothing to say")
		if _, err := f.Prior(t.Context(), id, "spoon", built(from), built(to), visit); err == nil {
			t.Error("an unknown category")
		}
	})
}

// A build is read as the store's rows are.
func TestAttributesOfABuild(t *testing.T) {
	b := built([fleet.AttributeCount]float64{1.1, 31, 62, 0.09, 3, 2, 0.25, 0.15})
	for i, x := range AttributesOf(b) {
		if want := []float64{1.1, 31, 62, 0.09, 3, 2, 0.25, 0.15}[i]; x != want {
			t.Errorf("%s: %g, want %g", fleet.Attribute(i).Name(), x, want)
		}
		column := "build_" + map[bool]string{true: "flex"}[fleet.Attribute(i) == fleet.Flex]
		if info, _ := attributeParts[i].Info(); column == "build_" &&
			!strings.Contains(question.Trials(0, "", ""), fmt.Sprintf("build_%s, nan) AS %s", info.Column, fleet.Attribute(i).Name())) {
			t.Errorf("the fleet does not read %s from %s", fleet.Attribute(i).Name(), info.Column)
		}
	}
	if c := changeOf(b, &event.Build{}); !c.beside {
		t.Error("a flex known of one only is no difference")
	}
	for i, x := range AttributesOf(nil) {
		if !math.IsNaN(x) {
			t.Errorf("%s of nothing is %g", fleet.Attribute(i).Name(), x)
		}
	}
}
