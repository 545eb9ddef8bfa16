package answers

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/fleet/world"
)

// elsewhere is what came of sessions in a studio that takes its head office's answers.
type elsewhere struct {
	Apart    float64            `json:"apart_a_step"` // from the group, in ln spread
	Sessions int                `json:"sessions"`
	Covers   map[string]float64 `json:"interval_95_covers"`
	Wrong    map[string]float64 `json:"wrong_verdicts"` // better or worse, and it was not, of all sessions
	Said     map[string]float64 `json:"verdicts"`
	Width    float64            `json:"width_of_weak"` // of the intervals, as a share of those without
	Odds     map[string]float64 `json:"wrong_where_nine_in_ten_was_said"`
	nine     map[string]float64
	// Doubted is how often it was said that shots and prior disagree.
	Doubted float64 `json:"disagrees"`
}

// Twelve studios in which a step does nearly the same make a head office's answer. A
// studio that is none of them, where a step does the same or up to twice as much more as
// the longest of their effects, judges its visits with it and without: wrong verdicts stay
// below what was promised, and the intervals lose no more than those of the weak default.
func TestPriorsHoldInAStudioUnlikeTheGroup(t *testing.T) {
	fleets, sessions := proof.Cases(1, 6), proof.Cases(25, 100)
	const between = 0.02
	group := world.World{Name: "group", Players: 144, Studios: 12, StudioSlope: between}
	q := Question{Outcome: "direction", Filter: Filter{Category: "driver"}}
	apart := []float64{0, 0.12}
	if proof.Wanted() {
		apart = []float64{0, 0.03, 0.06, 0.12}
	}
	out := make([]elsewhere, len(apart))
	for i, k := range apart {
		out[i] = elsewhere{Apart: k, Covers: map[string]float64{}, Wrong: map[string]float64{}, Said: map[string]float64{},
			Odds: map[string]float64{}, nine: map[string]float64{}}
	}
	for f := range fleets {
		trials := group.Make(uint64(9100 + f))
		a, err := fleet.Ask(t.Context(), trials, fleet.Question{Outcome: "direction", Category: "driver", Attributes: world.Attributes,
			Traits: world.Traits, Workers: 1})
		if err != nil {
			t.Fatal(err)
		}
		s := &Stored{ID: "a", Question: q, Players: uint64(group.Players), Studios: 12, Answer: a, Diagnostics: a.Diagnose(trials)}
		r := rand.New(rand.NewPCG(uint64(f), 0x1405))
		for i := range out {
			out[i].sessions(t, r, s, sessions)
		}
	}
	for i := range out {
		e := &out[i]
		n := float64(e.Sessions)
		se := math.Sqrt(0.05 * 0.95 / n)
		for _, who := range []string{"with", "without"} {
			e.Covers[who], e.Wrong[who], e.Said[who] = e.Covers[who]/n, e.Wrong[who]/n, e.Said[who]/n
			e.Odds[who] /= max(e.nine[who], 1)
		}
		e.Width, e.Doubted = e.Width/n, e.Doubted/n
		t.Logf("%+v", *e)
		if e.Wrong["with"] > 0.05+3*se {
			t.Errorf("a step does %g more than in the group: %.3f of sessions end with a wrong verdict", e.Apart, e.Wrong["with"])
		}
		if e.Covers["with"] < min(0.95, e.Covers["without"])-0.03-3*se {
			t.Errorf("a step does %g more than in the group: 95 %% intervals hold the truth in %.3f, in %.3f without the head office's word",
				e.Apart, e.Covers["with"], e.Covers["without"])
		}
	}
	proof.Record(t, "priors_elsewhere", out)
}

// sessions has players of a studio so far from the group hit two clubs each.
func (e *elsewhere) sessions(t *testing.T, r *rand.Rand, s *Stored, n int) {
	t.Helper()
	far := map[fleet.Attribute]float64{}
	for _, a := range world.Attributes {
		far[a] = e.Apart * float64(1-2*r.IntN(2))
	}
	for range n {
		v := world.Visit(r, far, 24)
		p, err := expect(s, string(glossary.Direction), v.Traits, change{from: v.From, to: v.To})
		if err != nil {
			t.Fatal(err)
		}
		width := [2]float64{}
		for k, who := range []string{"with", "without"} {
			o := evidence.Options{WarmUp: -1, Settle: -1}
			if who == "with" {
				o.Priors = map[glossary.Name]evidence.Prior{glossary.Direction: {Mean: p.Mean, SD: p.Sd, Doubt: p.Doubt, Source: "office"}}
			}
			d := compared(t, v, o)
			if d.Low <= v.Change && v.Change <= d.High {
				e.Covers[who]++
			}
			width[k] = d.High - d.Low
			if d.Against.Disagrees {
				e.Doubted++
			}
			tighter := v.Change < 0
			if d.Verdict == evidence.Better || d.Verdict == evidence.Worse {
				e.Said[who]++
				if (d.Verdict == evidence.Better) != tighter {
					e.Wrong[who]++
				}
			}
			if sure := max(d.ProbBetter, 1-d.ProbBetter); sure >= 0.9 {
				e.nine[who]++
				if (d.ProbBetter >= 0.9) != tighter {
					e.Odds[who]++
				}
			}
		}
		e.Width += width[0] / width[1]
		e.Sessions++
	}
}

func compared(t *testing.T, v world.Visitor, o evidence.Options) evidence.Statement {
	t.Helper()
	var sides [2][]evidence.Trial
	position := 0
	for k, hits := range v.Hits {
		trial := evidence.Trial{Name: []string{"own", "new"}[k]}
		for _, h := range hits {
			position++
			trial.Shots = append(trial.Shots, evidence.Shot{Position: position, Values: map[evidence.Measure]float64{
				evidence.CarryM: h[1], evidence.OfflineM: h[1] * math.Tan(h[0]*math.Pi/180)}})
		}
		sides[k] = []evidence.Trial{trial}
	}
	report, err := evidence.Compare(glossary.Driver, sides[0], sides[1], o)
	if err != nil {
		t.Fatal(err)
	}
	d, ok := report.Outcome(glossary.Direction)
	if !ok || d.NotYet {
		t.Fatalf("nothing is said of the direction: %+v", d)
	}
	return d
}
