package profile

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"
)

// days is a studio whose players are not as the model takes them: how far a player's day
// moves differs from player to player and has heavy tails, what moves in the face moves in
// the path, and some had lessons between two visits.
type days struct {
	rng     *rand.Rand
	share   float64 // of the stated noise of a visit
	lessons float64 // share of players who changed something for good between two visits
}

// swing is one day of a player whose own noise is steady times the studio's.
func (w days) swing(steady float64, taught map[Term]float64, shots int) map[Term]Moment {
	move := func(t Term) float64 {
		heavy := w.rng.NormFloat64() / math.Sqrt((square(w.rng)+square(w.rng)+square(w.rng)+square(w.rng)+square(w.rng)+square(w.rng))/6)
		return taught[t] + w.share*steady*facts[t].visit*heavy/math.Sqrt(1.5) // t of six degrees, of variance 1
	}
	path := move(Path)
	at := map[Term]float64{Speed: 42 + move(Speed), Attack: -2 + move(Attack), Path: path, Face: 0.4*path/1.0 + 0.9*move(Face),
		FaceToPath: move(FaceToPath), DynamicLoft: 14 + move(DynamicLoft), StrikeX: move(StrikeX), StrikeY: move(StrikeY), Tempo: 3 + move(Tempo)}
	spread := map[Term]float64{Speed: 0.6, Attack: 0.9, Path: 1.5, Face: 1.6, FaceToPath: 1.4, DynamicLoft: 1.1,
		StrikeX: 0.006, StrikeY: 0.005, Tempo: 0.1}
	wide := math.Exp(move(StrikeScatter))
	out := map[Term]Moment{}
	for _, t := range Terms() {
		sd, hit := spread[t]
		if !hit {
			continue
		}
		if t == StrikeX || t == StrikeY {
			sd *= wide
		}
		m := Moment{}
		for range shots {
			m = m.With(Moment{N: 1, Mean: at[t] + sd*w.rng.NormFloat64()})
		}
		out[t] = m
	}
	return out
}

func square(rng *rand.Rand) float64 { x := rng.NormFloat64(); return x * x }

func (w days) visits(t testing.TB, player string, apart time.Duration) Return {
	steady := math.Exp(0.2*w.rng.NormFloat64()) / math.Exp(0.04)
	taught := map[Term]float64{}
	if w.rng.Float64() < w.lessons {
		for _, term := range []Term{Attack, DynamicLoft, Speed} {
			taught[term] = 4 * facts[term].visit
		}
	}
	read := func(m map[Term]Moment) Profile {
		p, err := FromMoments(m, Options{Category: glossary.Driver})
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	return Return{Player: player, Between: apart, Before: read(w.swing(steady, nil, 12)), After: read(w.swing(steady, taught, 12))}
}

func changedShare(t testing.TB, w days, learnt Noise, pairs int) (share float64) {
	for range pairs {
		r := w.visits(t, "", 0)
		changes, err := Compare(r.Before, r.After, Setting{}, learnt)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range changes {
			if c.Verdict == Changed {
				share += 1 / float64(pairs)
				break
			}
		}
	}
	return share
}

// Where days differ more, or less, than the working values say, those who came back tell:
// unchanged swings are seldom called changed, and no more than that where a fifth of those
// who came back had changed their swing.
func TestTheNoiseOfVisitsIsLearntFromThoseWhoCameBack(t *testing.T) {
	pairs := proof.Cases(300, 6000)
	for _, at := range []struct {
		share, lessons float64
		players        int
		apart          time.Duration
	}{
		{1, 0, 60, soon}, {1.5, 0, 60, soon}, {1.5, 0.2, 60, 360 * 24 * time.Hour}, {2, 0.1, 200, soon}, {0.6, 0.1, 60, soon}, {1.5, 0, 12, soon},
	} {
		w := days{rand.New(rand.NewPCG(18, 7)), at.share, at.lessons}
		var back []Return
		for i := range at.players {
			back = append(back, w.visits(t, fmt.Sprint("p", i), at.apart))
		}
		learnt := LearnNoise(back, nil)
		w.lessons = 0
		before, after := changedShare(t, w, nil, pairs), changedShare(t, w, learnt, pairs)
		t.Logf("noise %.1f times the working value, %.0f %% changed between: called changed %.1f %% before, %.1f %% after; speed %.2f of .6",
			at.share, 100*at.lessons, 100*before, 100*after, learnt[Speed].SD)
		if limit := 0.06 + 3*math.Sqrt(0.06*0.94/float64(pairs)); after > limit {
			t.Errorf("at %.1f times the working noise an unchanged swing is called changed in %.3f of pairs, at most %.3f",
				at.share, after, limit)
		}
		proof.RecordRow(t, "visits",
			fmt.Sprintf("%.1f times the working noise, %.0f %% of %d players changed", at.share, 100*at.lessons, at.players),
			map[string]float64{"called_changed_before": before, "called_changed": after})
	}
}
