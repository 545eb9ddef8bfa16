package club

import (
	"strings"

	"fairlead/ingest/contract/glossary"
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
	g.handOver()
}

// handOver says where irons hand over to hybrids and woods: above the longest iron
// that holds a green, as far as longer ones were hit and run on.
func (g *Gapping) handOver() {
	var run, holding []string
	for _, h := range g.Greens {
		switch {
		case h.Category == glossary.Iron && h.Verdict == RunsOn:
			run = append(run, h.Club)
		case (h.Category == glossary.Hybrid || h.Category == glossary.Wood) && h.Verdict == Holds:
			holding = append(holding, h.Club)
		}
		if h.Club == g.LongestHolding {
			break // shorter irons hold as well
		}
	}
	if len(run) == 0 {
		return
	}
	note := "no iron that was hit holds a green as asked"
	if g.LongestHolding != "" {
		note = "irons hand over above " + g.LongestHolding
	}
	note += ": " + listing(run) + " run" + map[bool]string{true: "s"}[len(run) == 1] + " on"
	if len(holding) > 0 {
		note += "; " + listing(holding) + " hold" + map[bool]string{true: "s"}[len(holding) == 1] + " and may take over"
	} else {
		note += "; hit a hybrid, or a wood of more loft, to the same distance, and keep what holds and leaves no hole"
	}
	g.Notes = append(g.Notes, note)
}

// listing joins names as people do.
func listing(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}
