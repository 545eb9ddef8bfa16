package club

import (
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fmt"
	"sort"
	"strings"
)

// Position is one way to hit a distance: a club, and for partial swings which
// one. Only carries are needed; what is not measured stays a zero Sample.
type Position struct {
	Club     string
	Category glossary.Category
	Swing    string  // "" or "full" for a full swing; else the player's word: "half", "9 o'clock"
	Loft     float64 // deg; 0 unknown
	Carry    Sample  // m
	Landing  Sample  // deg, angle to the ground at landing
	Spin     Sample  // rpm at launch
	Stop     Sample  // m from landing to rest on a green (low confidence where computed)
}

// Full reports whether the position is a full swing.
func (p Position) Full() bool { return p.Swing == "" || strings.EqualFold(p.Swing, "full") }

// Name is the position as a person says it: "7i", "sw half".
func (p Position) Name() string {
	if p.Full() {
		return p.Club
	}
	return p.Club + " " + p.Swing
}

// GapOptions are the habits that a bag is judged by. They are conventions of
// the trade, not norms: a studio or a player sets their own.
type GapOptions struct {
	MinGap      float64 // m; two full swings closer than this overlap
	MaxGap      float64 // m; farther apart than this is a hole, between irons and wedges
	MaxGapWoods float64 // m; the same where the longer club is a driver, wood or hybrid
	MaxGapWedge float64 // m; the same between wedge positions, partial swings included
	Decide      float64 // probability at which a finding is stated, such as 0.9
	Level       float64 // of intervals, such as 0.95
	Resolution  float64 // m, the step the device reports carry in

	MaxClubs   int // 14 by the Rules of Golf (rule 4.1b)
	OtherClubs int // clubs in the bag that were not hit: the putter

	HoldLanding float64 // deg; at least this steep a landing holds a green
	HoldSpin    float64 // rpm; at least this much spin
	HoldStop    float64 // m; at most this far from landing to rest
}

// DefaultGapOptions are working defaults: gaps of 6 to 18 yd (25 yd between
// woods, 12 yd between wedge swings), a green held by a landing of 43° or
// more, 4,000 rpm or more and a stop within 10 m.
func DefaultGapOptions() GapOptions {
	return GapOptions{
		MinGap: 6 * unit.Yard, MaxGap: 18 * unit.Yard, MaxGapWoods: 25 * unit.Yard, MaxGapWedge: 12 * unit.Yard,
		Decide: 0.9, Level: 0.95, Resolution: 0.1,
		MaxClubs: 14, OtherClubs: 1,
		HoldLanding: 43, HoldSpin: 4000, HoldStop: 10,
	}
}

func (o GapOptions) check() error {
	return firstError(
		within("smallest gap", o.MinGap, 0.1, 60, "m", "6 yd is usual"),
		within("largest gap", o.MaxGap, o.MinGap, 120, "m", "it has to exceed the smallest gap; 18 yd is usual"),
		within("largest gap of woods", o.MaxGapWoods, o.MinGap, 120, "m", "it has to exceed the smallest gap; 25 yd is usual"),
		within("largest gap of wedges", o.MaxGapWedge, 1, 60, "m", "12 yd is usual"),
		within("probability to decide at", o.Decide, 0.5, 0.999, "", "0.9 is usual"),
		within("interval level", o.Level, 0.5, 0.999, "", "0.95 is usual"),
		within("resolution", o.Resolution, 1e-3, 5, "m", "0.1 m for a device that gives tenths"),
		within("clubs allowed", float64(o.MaxClubs), 1, 40, "", "14 by the Rules of Golf"),
		within("other clubs", float64(o.OtherClubs), 0, 14, "", "1 for the putter"),
		within("landing angle that holds", o.HoldLanding, 10, 80, "deg", "43 to 48 is usual"),
		within("spin that holds", o.HoldSpin, 0, 12000, "rpm", "4000 is usual"),
		within("stop that holds", o.HoldStop, 0.5, 60, "m", "10 m is usual"),
	)
}

// Verdict is what may be said from the shots at hand.
type Verdict string

// Verdicts on a gap and on a club's hold of a green.
const (
	Fine       Verdict = "fine"
	Hole       Verdict = "hole"
	Overlap    Verdict = "overlap"
	Holds      Verdict = "holds"
	RunsOn     Verdict = "runs on"
	CannotTell Verdict = "cannot tell yet"
	NotYet     Verdict = "not yet"      // too few shots
	Unmeasured Verdict = "not measured" // no landing, spin or stop to judge by
)

// Gapping is a bag judged by its measured carries, longest first.
type Gapping struct {
	Options GapOptions
	Full    []Position // full swings, by mean carry
	Gaps    []Gap      // between neighbours of Full: one fewer
	Wedges  []Position // every wedge swing, partial ones too, by mean carry
	Short   []Gap      // between neighbours of Wedges
	Greens  []Hold     // one for each of Full but the driver
	// LongestHolding is the longest iron that holds a green, or "" where that
	// cannot be said of any; LongestHoldingAny counts hybrids and woods too.
	LongestHolding, LongestHoldingAny string
	// LossPerDegree is how much carry a degree of loft costs in this bag's own
	// irons, m/deg, from a straight line through them; 0 with fewer than three.
	LossPerDegree float64
	Clubs         int      // distinct clubs measured, plus OtherClubs
	Unhit         []string // positions without a shot
	Notes         []string // what a person should know, in words
}

// NewGapping judges a bag. Positions may come in any order; two positions of
// one club and swing are an error, as is a club without a carry unit's sense.
func NewGapping(positions []Position, o GapOptions) (Gapping, error) {
	if err := o.check(); err != nil {
		return Gapping{}, err
	}
	g := Gapping{Options: o}
	seen, clubs := map[string]bool{}, map[string]bool{}
	for _, p := range positions {
		key := strings.ToLower(p.Name())
		if strings.TrimSpace(p.Club) == "" || seen[key] {
			return Gapping{}, &InputError{Field: "club", Value: fmt.Sprintf("%q", p.Name()), Reason: "is empty or there twice",
				Try: "put all shots of one club and swing together"}
		}
		seen[key] = true
		if err := p.check(); err != nil {
			return Gapping{}, fmt.Errorf("%s: %w", p.Name(), err)
		}
		if p.Category == glossary.Putter {
			continue
		}
		clubs[strings.ToLower(p.Club)] = true
		switch {
		case p.Carry.N == 0:
			g.Unhit = append(g.Unhit, p.Name())
			continue
		case p.Full():
			g.Full = append(g.Full, p)
		}
		if p.Category == glossary.Wedge {
			g.Wedges = append(g.Wedges, p)
		} else if !p.Full() {
			g.Notes = append(g.Notes, fmt.Sprintf("%s is a partial swing of no wedge and left out", p.Name()))
		}
	}
	g.Clubs = len(clubs) + o.OtherClubs
	byCarry(g.Full)
	byCarry(g.Wedges)
	g.LossPerDegree = lossPerDegree(g.Full)
	for i := 1; i < len(g.Full); i++ {
		limit := o.MaxGap
		if c := g.Full[i-1].Category; c == glossary.Driver || c == glossary.Wood || c == glossary.Hybrid {
			limit = o.MaxGapWoods
		}
		gap := newGap(g.Full[i-1], g.Full[i], o.MinGap, limit, o)
		gap.advise(g.Full[i-1], g.Full[i], g.LossPerDegree)
		g.Gaps = append(g.Gaps, gap)
	}
	for i := 1; i < len(g.Wedges); i++ {
		// Two wedge swings to one distance fly differently: no overlap there.
		g.Short = append(g.Short, newGap(g.Wedges[i-1], g.Wedges[i], 0, o.MaxGapWedge, o))
	}
	g.contradictions()
	g.judgeGreens()
	g.judgeBag()
	return g, nil
}

func (p Position) check() error {
	if p.Loft != 0 {
		if err := within("loft", p.Loft, 4, 75, "deg", "leave it out when it is not known"); err != nil {
			return err
		}
	}
	return firstError(
		p.Carry.check("carry", 0, 400, "m"), p.Landing.check("landing angle", 0, 90, "deg"),
		p.Spin.check("spin", 0, 20000, "rpm"), p.Stop.check("stop", -60, 200, "m"),
	)
}

func byCarry(ps []Position) {
	sort.SliceStable(ps, func(i, j int) bool { return ps[i].Carry.Mean > ps[j].Carry.Mean })
}

// lossPerDegree is the slope of carry on loft over full irons and wedges of
// known loft, sign turned: a straight line is a fair picture over an iron set.
func lossPerDegree(full []Position) float64 {
	var n, sx, sy, sxx, sxy float64
	for _, p := range full {
		if !isIronFamily(p.Category) || p.Loft == 0 || !p.Carry.Ready() {
			continue
		}
		n++
		sx, sy, sxx, sxy = sx+p.Loft, sy+p.Carry.Mean, sxx+p.Loft*p.Loft, sxy+p.Loft*p.Carry.Mean
	}
	spread := n*sxx - sx*sx
	if n < 3 || spread < 1 {
		return 0
	}
	return max(0, -(n*sxy-sx*sy)/spread)
}

// judgeBag counts clubs and says which of several would be missed least.
func (g *Gapping) judgeBag() {
	o := g.Options
	switch {
	case g.Clubs > o.MaxClubs:
		note := fmt.Sprintf("%s, %d allowed: %d too many", countOf(g.Clubs), o.MaxClubs, g.Clubs-o.MaxClubs)
		if i := g.mostRedundant(); i >= 0 {
			note += fmt.Sprintf("; %s and %s are the closest pair", g.Gaps[i].Longer, g.Gaps[i].Shorter)
		}
		g.Notes = append(g.Notes, note)
	case g.Clubs < o.MaxClubs:
		note := fmt.Sprintf("%s, %d allowed: room for %d", countOf(g.Clubs), o.MaxClubs, o.MaxClubs-g.Clubs)
		if i := g.widestHole(); i >= 0 {
			note += fmt.Sprintf("; the widest hole is between %s and %s", g.Gaps[i].Longer, g.Gaps[i].Shorter)
		}
		g.Notes = append(g.Notes, note)
	}
	for i, gap := range g.Gaps {
		a, b := g.Full[i], g.Full[i+1]
		if a.Loft > 0 && b.Loft > 0 && a.Loft > b.Loft && gap.Verdict != NotYet {
			g.Notes = append(g.Notes, fmt.Sprintf("%s carries no less than %s with %.1f° more loft: check both lofts and the strike before buying "+
				"anything", a.Name(), b.Name(), a.Loft-b.Loft))
		}
	}
}

func countOf(clubs int) string {
	if clubs == 1 {
		return "1 club"
	}
	return fmt.Sprintf("%d clubs", clubs)
}

func (g *Gapping) mostRedundant() int {
	best := -1
	for i, gap := range g.Gaps {
		if gap.Known && (best < 0 || gap.ProbOverlap > g.Gaps[best].ProbOverlap) {
			best = i
		}
	}
	return best
}

func (g *Gapping) widestHole() int {
	best := -1
	for i, gap := range g.Gaps {
		if gap.Verdict == Hole && (best < 0 || gap.Mean > g.Gaps[best].Mean) {
			best = i
		}
	}
	return best
}
