package rolling

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/visit"
)

// Prior is what was believed of one outcome before the first shot, with which
// the odds and the expected change were made, and how the shots stand to it. In
// the outcome's unit, candidate less incumbent. The same shots and this prior
// give the same statement again.
type Prior struct {
	Text  string  `json:"text"` // in plain words
	Mean  float64 `json:"mean"`
	SD    float64 `json:"sd"`
	Doubt float64 `json:"doubt"` // share of belief kept back as the weak default; 0 for the weak default itself
	// Of the weak default of a spread: the share of changes that are large, and their sd.
	Large   float64 `json:"large,omitempty"`
	LargeSD float64 `json:"large_sd,omitempty"`
	// Of the fleet's kept answer; absent for the weak default.
	Answer   string `json:"answer,omitempty"`
	Players  uint64 `json:"players,omitempty"`
	Answered int64  `json:"answered_unix_ns,omitempty"`
	Mark     int64  `json:"mark_unix_ns,omitempty"` // the answer knows rows that were stored up to then
	Profile  int64  `json:"profile_unix_ns,omitempty"`
	// Of a head office's answer: whose it is, and how many studios it rests on.
	Office  string `json:"office,omitempty"`
	Studios uint64 `json:"studios,omitempty"`

	Held      float64  `json:"held"`                // share of belief that it keeps against the shots
	Surprise  *float64 `json:"surprise,omitempty"`  // probability of such shots if it were right
	Disagrees bool     `json:"disagrees,omitempty"` // shots and fleet disagree
	Without   *Without `json:"without,omitempty"`   // what would be said under the weak default
	// Of a mean, where the fleet has learnt it: how far its level moves by itself from run
	// to run, as a share of the spread from shot to shot, and among how many players.
	Wander        float64 `json:"wander,omitempty"`
	WanderPlayers uint64  `json:"wander_players,omitempty"`
}

// Without is what would be said of an outcome without the fleet's prior.
type Without struct {
	Change     float64 `json:"change"`
	Low        float64 `json:"low"`
	High       float64 `json:"high"`
	ProbBetter float64 `json:"prob_better"`
	Verdict    string  `json:"verdict,omitempty"`
}

// Fleet says that the prior is the fleet's and not the weak default.
func (p Prior) Fleet() bool { return p.Answer != "" }

// Swing says that it is for this player's swing as it was measured before, not
// for players as they come.
func (p Prior) Swing() bool { return p.Profile > 0 }

// Pair names what a prior is of: a player, a category and two builds, by their
// contents. A build that is corrected makes another pair.
func Pair(player, category string, from, to *event.Build) string {
	return pairOfKeys(player, category, event.BuildKey(from), event.BuildKey(to))
}

func pairOfKeys(parts ...string) string {
	h := sha256.New()
	for _, p := range parts {
		fmt.Fprintf(h, "%d %s ", len(p), p)
	}
	return hex.EncodeToString(h.Sum(nil)[:8])
}

func pairOf(s *visit.Session, base, c *club) string {
	return pairOfKeys(s.Player, s.Category, base.rows[0].trial.BuildKey, c.rows[0].trial.BuildKey)
}

// priorsOf is what was taken, as evidence takes it. What the category is not
// judged on, or can't be used, is left out: the weak default holds there.
func priorsOf(category glossary.Category, taken *event.PriorTaken) map[glossary.Name]evidence.Prior {
	out := map[glossary.Name]evidence.Prior{}
	for _, p := range taken.GetPriors() {
		name, err := glossary.ParseName(p.Outcome)
		if _, judged := evidence.Margin(category, name); err != nil || !judged {
			continue
		}
		if !(p.Sd > 0) || math.IsInf(p.Sd, 1) || math.IsNaN(p.Mean) || math.IsInf(p.Mean, 0) || !(p.Doubt >= 0 && p.Doubt < 1) {
			continue
		}
		if !(p.Large >= 0 && p.Large < 1) || p.Large > 0 && (!(p.LargeSd > 0) || math.IsInf(p.LargeSd, 1)) {
			continue
		}
		out[name] = evidence.Prior{Mean: p.Mean, SD: p.Sd, Doubt: p.Doubt, Large: p.Large, LargeSD: p.LargeSd,
			Source: "fleet, answer " + p.Answer}
	}
	return out
}

// wandersOf is what was taken of the players' wander, as evidence takes it; what can't
// be used is left to the declared default.
func wandersOf(category glossary.Category, taken *event.PriorTaken) map[glossary.Name]float64 {
	out := map[glossary.Name]float64{}
	for _, w := range taken.GetWanders() {
		name, err := glossary.ParseName(w.Outcome)
		if _, judged := evidence.Margin(category, name); err == nil && judged && w.Share >= 0 && w.Share <= evidence.MostWander {
			out[name] = w.Share
			if w.Share == 0 {
				out[name] = -1 // none, where 0 is no answer
			}
		}
	}
	return out
}

// hashPrior is what a report depends on of a prior. The whole of it enters, so
// that a newer answer is named even where it says the same.
func hashPrior(taken *event.PriorTaken) (out []uint64) {
	word := func(s string) uint64 {
		sum := sha256.Sum256([]byte(s))
		x := uint64(0)
		for _, b := range sum[:8] {
			x = x<<8 | uint64(b)
		}
		return x
	}
	for _, p := range taken.GetPriors() {
		out = append(out, word(p.Outcome+" "+p.Answer), math.Float64bits(p.Mean), math.Float64bits(p.Sd), math.Float64bits(p.Doubt), p.Players,
			uint64(p.AnsweredUnixNs))
	}
	for _, w := range taken.GetWanders() {
		out = append(out, word(w.Outcome), math.Float64bits(w.Share))
	}
	return out
}

// priorOf is the prior of one outcome of a report.
func priorOf(o *evidence.Statement, taken *event.PriorTaken) Prior {
	out := Prior{Mean: o.Prior.Mean, SD: o.Prior.SD, Doubt: o.Prior.Doubt, Large: o.Prior.Large, LargeSD: o.Prior.LargeSD, Held: 1}
	for _, p := range taken.GetPriors() {
		if p.Outcome == string(o.Name) && o.Prior.Doubt == p.Doubt && o.Prior.Mean == p.Mean && o.Prior.SD == p.Sd {
			out.Answer, out.Players, out.Answered, out.Mark, out.Profile = p.Answer, p.Players, p.AnsweredUnixNs, p.MarkUnixNs, taken.ProfileUnixNs
			out.Office, out.Studios, out.Held = p.Office, p.Studios, 1-p.Doubt
		}
	}
	for _, w := range taken.GetWanders() {
		if w.Outcome == string(o.Name) {
			out.Wander, out.WanderPlayers = w.Share, w.Players
		}
	}
	if a := o.Against; a.Asked {
		out.Held, out.Surprise, out.Disagrees = a.Held, &a.Surprise, a.Disagrees
		out.Without = &Without{a.Change, a.Low, a.High, a.ProbBetter, string(a.Verdict)}
	}
	out.Text = out.words(o)
	return out
}

// Whose says on how many players the fleet's word rests, and on whose.
func (p Prior) Whose() string {
	if p.Office == "" {
		return fmt.Sprintf("%d players of the fleet", p.Players)
	}
	return fmt.Sprintf("%d players of %d studios, by the head office %s", p.Players, p.Studios, p.Office)
}

// words says the prior in stored units; a spread in percent.
func (p Prior) words(o *evidence.Statement) string {
	mean, sd, unit := p.Mean, p.SD, o.Unit
	switch {
	case o.Name.Tightness():
		mean, sd, unit = 100*math.Expm1(mean), 100*math.Exp(min(mean, 20))*sd, "%"
	case o.Name == glossary.Strike:
		mean, sd, unit = 1000*mean, 1000*sd, "mm"
	}
	if !p.Fleet() && p.Large > 0 {
		return fmt.Sprintf("weak prior: no change on average, mostly ± %.3g %s, in %.0f %% of changes ± %.3g %s; no fleet answer is used",
			sd, unit, 100*p.Large, sd*p.LargeSD/p.SD, unit)
	}
	if !p.Fleet() {
		return fmt.Sprintf("weak prior: no change on average, ± %.3g %s between players; no fleet answer is used", sd, unit)
	}
	text := fmt.Sprintf("prior: %s, answer of %s, expects %+.2g %s ± %.2g for %s", p.Whose(),
		time.Unix(0, p.Answered).UTC().Format("2 January 2006"), mean, unit, sd,
		map[bool]string{true: "this swing", false: "any swing"}[p.Swing()])
	switch {
	case p.Disagrees:
		text += fmt.Sprintf("; the shots disagree (a chance of %.1g if it were right), its weight is down to %.0f %%", *p.Surprise, 100*p.Held)
	case p.Without != nil:
		text += fmt.Sprintf("; weight %.0f %%", 100*p.Held)
	}
	return text
}
