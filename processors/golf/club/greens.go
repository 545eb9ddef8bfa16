package club

import (
	"fairlead/ingest/contract/glossary"
	"fmt"
)

// Hold says whether a club holds a green: whether its mean ball lands steeply
// enough, with enough spin, and stops soon enough. Only what was measured is
// judged; each probability is of the mean being good enough, 0 where absent.
type Hold struct {
	Club                            string
	Category                        glossary.Category
	Landing, Spin, Stop             Sample
	ProbLanding, ProbSpin, ProbStop float64
	Judged                          []string // which of landing, spin, stop were judged
	Verdict                         Verdict
	More                            int // shots to be ready, for NotYet
}

// newHold judges one club. A club holds when every measured criterion is met
// with probability Decide, and runs on when one of them is failed with it: a
// shallow ball with spin runs on, and so does a steep one without.
func newHold(p Position, o GapOptions) Hold {
	h := Hold{Club: p.Name(), Category: p.Category, Landing: p.Landing, Spin: p.Spin, Stop: p.Stop, Verdict: Unmeasured}
	holds, fails, counted := true, false, 0
	judge := func(name string, s Sample, resolution, limit float64, atLeast bool) float64 {
		if s.N == 0 {
			return 0
		}
		counted++
		if !s.Ready() {
			h.More = max(h.More, s.More())
			holds = false
			return 0
		}
		h.Judged = append(h.Judged, name)
		prob := of(s, resolution).below(limit)
		if atLeast {
			prob = 1 - prob
		}
		holds = holds && prob >= o.Decide
		fails = fails || prob <= 1-o.Decide
		return clip(prob)
	}
	h.ProbLanding = judge("landing", p.Landing, 0.1, o.HoldLanding, true)
	h.ProbSpin = judge("spin", p.Spin, 10, o.HoldSpin, true)
	h.ProbStop = judge("stop", p.Stop, 0.1, o.HoldStop, false)
	switch {
	case counted == 0:
	case fails:
		h.Verdict, h.More = RunsOn, 0
	case len(h.Judged) < counted:
		h.Verdict = NotYet
	case holds:
		h.Verdict = Holds
	default:
		h.Verdict = CannotTell
	}
	return h
}

// judgeGreens finds the longest club that holds, walking down from the longest.
func (g *Gapping) judgeGreens() {
	for _, p := range g.Full {
		if p.Category == glossary.Driver {
			continue
		}
		h := newHold(p, g.Options)
		g.Greens = append(g.Greens, h)
		if h.Verdict != Holds {
			continue
		}
		if g.LongestHoldingAny == "" {
			g.LongestHoldingAny = h.Club
		}
		if h.Category == glossary.Iron && g.LongestHolding == "" {
			g.LongestHolding = h.Club
		}
	}
	for _, h := range g.Greens {
		if h.Club == g.LongestHolding || g.LongestHolding == "" {
			break // shorter irons hold as well, or none is known to
		}
		if h.Category == glossary.Iron && h.Verdict == RunsOn {
			g.Notes = append(g.Notes, fmt.Sprintf("%s does not hold a green as asked: try a hybrid or a higher-lofted wood to the same distance",
				h.Club))
		}
	}
}
