package console

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/visit/rolling"
)

type compareView struct {
	rolling.Comparison
	Marker   template.HTML
	Base     template.HTML // mark of the club compared with
	Of       string        // swings of another length than full ones
	Changes  []changeView
	Unknown  string        // parts that are known of one of the two only
	Lead     []weighedView // what the category is judged by, and what is decided
	Rest     []weighedView
	Waiting  string // outcomes that nothing can be said of yet
	Headline string
	Expected string      // whose word the odds begin with
	Priors   []priorView // of each outcome that something is said of
	Clashes  []string    // shots and fleet disagree
	Worth    *worthView  // nil: nothing is known of it yet
}

// worthView is what a club is worth on a hole.
type worthView struct{ Short, Whole string }

type weighedView struct {
	Label, Change, Interval, Word, Mark, Odds, Need string
	Decided, Primary                                bool
	Prior                                           string // what the fleet expects, in short
	FromTo                                          string // the figures of the shots that are weighed
}

func (s *server) compareView(state *rolling.State, c *rolling.Comparison) compareView {
	v := compareView{Comparison: *c}
	putts := state.Session != nil && state.Session.Category == "putter"
	for i := range state.Trials {
		switch t := &state.Trials[i]; {
		case c.Ball != "": // one club: the marks are of its runs
			if slices.Contains(c.Rows, t.Key) && v.Marker == "" {
				v.Marker = draw.Mark(t.Number)
			} else if t.Key == c.RowWas {
				v.Base = draw.Mark(t.Number)
			}
		case t.Club == c.Club && v.Marker == "":
			v.Marker = draw.Mark(t.Number)
			v.Changes, v.Unknown = s.changes(t.Changes)
		case t.Club == c.Against && v.Base == "":
			v.Base = draw.Mark(t.Number)
		}
	}
	v.Of = s.swingOf(c)
	var waiting []string
	var fleet *rolling.Prior
	more := 0
	whole := 0 // shots that are compared; spreads are those of the ones that are no mishits
	for _, o := range c.Outcomes {
		if o.Name == string(glossary.BallSpeed) {
			whole = o.NBaseline + o.NCandidate
		}
	}
	for _, o := range c.Outcomes {
		v.Priors = append(v.Priors, priorView{glossary.Told(o.Name, putts).Cell, s.priorText(o)})
		if o.Prior.Fleet() {
			fleet = &o.Prior
		}
		if o.NotYet {
			waiting, more = append(waiting, strings.ToLower(glossary.Told(o.Name, putts).Cell)), max(more, o.More)
			continue
		}
		w := weighedView{Label: glossary.Told(o.Name, putts).Cell, Word: verdictWord(o), Primary: o.Primary,
			Decided: o.Verdict != string(evidence.CannotTell)}
		w.Mark = map[string]string{"better": "▲", "worse": "▼", "practically the same": "≈"}[o.Verdict]
		if !w.Decided {
			w.Mark = "?"
		}
		if o.Verdict == string(evidence.Moved) {
			w.Mark = map[bool]string{true: "◁", false: "▷"}[o.Change < 0]
		}
		if o.Assumed && w.Decided && w.Mark != "≈" && !glossary.Name(o.Name).Sided() {
			w.Mark = "△"
			if o.Change < 0 {
				w.Mark = "▽"
			}
		}
		w.Change, w.Interval = s.units.change(o)
		if w.FromTo = s.units.fromTo(o); w.FromTo != "" && glossary.Name(o.Name).Tightness() && o.NBaseline+o.NCandidate < whole {
			w.FromTo += fmt.Sprintf(" without likely mishits (%d)", whole-o.NBaseline-o.NCandidate)
		}
		w.Odds = oddsWord(o)
		if p := o.Prior; p.Fleet() {
			mean, sd := s.units.prior(o)
			w.Prior = fmt.Sprintf("fleet: %s ± %s", strings.ReplaceAll(mean, " ", " "), sd)
			if p.Disagrees {
				w.Prior += ", disagrees"
				v.Clashes = append(v.Clashes, s.clash(o, putts))
			}
		}
		if !w.Decided && !c.Confounded {
			w.Need = needWord(o)
		}
		if o.Primary || w.Decided {
			v.Lead = append(v.Lead, w)
		} else {
			v.Rest = append(v.Rest, w)
		}
	}
	switch {
	case len(waiting) > 0 && len(waiting) == len(c.Outcomes) && more > 0:
		v.Waiting = fmt.Sprintf("Nothing can be said before %d more shots.", more)
		waiting = nil
	case c.Confounded:
		waiting = nil
	}
	if len(waiting) > 0 {
		v.Waiting = "Nothing yet on " + strings.Join(waiting, ", ")
		if more > 0 {
			v.Waiting += fmt.Sprintf(": %d more to go", more)
		}
		v.Waiting += "."
	}
	v.Headline = headline(c, putts)
	v.Expected = s.expected(c, fleet)
	if w := c.Strokes; w != nil {
		whole := w.Where(s.units.Round)
		v.Worth = &worthView{w.Short(), strings.ToUpper(whole[:1]) + whole[1:]}
	}
	return v
}

// ID names the comparison on the page.
func (v compareView) ID() string {
	if v.Ball != "" && len(v.Rows) > 0 {
		return "ball-" + strings.ReplaceAll(v.Rows[0], ".", "-")
	}
	if v.Class == "" {
		return fmt.Sprint(v.Club)
	}
	return fmt.Sprintf("%d-%s-%.0f", v.Club, v.Class, v.Length)
}

// swingOf says which swings are compared, where they are not full ones.
func (s *server) swingOf(c *rolling.Comparison) string {
	switch {
	case c.Class == "":
		return ""
	case c.Length > 0:
		return c.Class + " swings of " + s.units.Round(c.Length)
	}
	return c.Class + " swings"
}

// nextBlock is a run of shots to hit next.
type nextBlock struct {
	rolling.Block
	Mark template.HTML
}

// nextBlocks tells what to hit next by the marks of the clubs and in the page's units.
func (s *server) nextBlocks(state *rolling.State, compared []compareView) (out []nextBlock) {
	if state.Next == nil {
		return nil
	}
	for _, b := range state.Next.Blocks {
		next := nextBlock{Block: b}
		for _, c := range compared {
			switch b.Build {
			case c.AgainstOf:
				next.Mark = c.Base
			case c.Name:
				next.Mark = c.Marker
			case c.Name + ", " + c.Swing():
				next.Mark, next.Build = c.Marker, c.Name+", "+c.Of
			}
		}
		out = append(out, next)
	}
	return out
}

// headline is the one sentence of a comparison.
func headline(c *rolling.Comparison, putts bool) string {
	switch {
	case c.Blocked != "":
		return "No comparison: " + c.Blocked + "."
	case c.Computing:
		return "Being weighed …"
	case c.Confounded:
		return "Club and swing changed together: hit the incumbent again before judging the club."
	}
	type told struct {
		said string
		of   []string
	}
	var known []told // what is said of several outcomes is said once
	var open []string
	for _, o := range c.Outcomes {
		word := strings.ToLower(glossary.Told(o.Name, putts).Cell)
		if o.Verdict == string(evidence.CannotTell) {
			if o.Primary {
				open = append(open, word)
			}
			continue
		}
		said := verdictWord(o)
		at := slices.IndexFunc(known, func(t told) bool { return t.said == said })
		if at < 0 {
			at, known = len(known), append(known, told{said: said})
		}
		known[at].of = append(known[at].of, word)
	}
	var all []string
	for _, t := range known {
		last := len(t.of) - 1
		all = append(all, strings.TrimPrefix(strings.Join(t.of[:last], ", ")+" and ", " and ")+t.of[last]+" "+t.said)
	}
	text := ""
	if len(all) > 0 {
		text = upperFirst(strings.Join(all, "; ")) + ". "
	}
	if len(open) > 0 {
		text += "Cannot tell yet: " + strings.Join(open, ", ") + "."
	} else if len(all) > 0 {
		text += "All that this kind of club is judged by is decided."
	}
	return nonEmpty(text, "Nothing can be said yet.")
}

// oddsWord says the odds that the change goes the way that counts as better.
func oddsWord(o rolling.Weighed) string {
	p := o.ProbBetter
	what := "better"
	if glossary.Name(o.Name).Tightness() {
		what = "tighter"
	} else if glossary.Name(o.Name).Sided() {
		what = "nearer to the aim"
	} else if o.Assumed {
		what = o.Way // higher, lower
		if o.Way == string(glossary.Toward) {
			what = "nearer to target"
		}
	}
	switch {
	case p >= 0.995:
		return "> 99 % " + what
	case p <= 0.005:
		return "< 1 % " + what
	}
	return fmt.Sprintf("%.0f %% %s", 100*p, what)
}

// mostADay is how many shots with both clubs a player can hit in a day and still
// swing as at its beginning: a working figure, not a norm.
const mostADay = 150

func needWord(o rolling.Weighed) string {
	switch {
	case o.NeedP50 < 0:
		return "not worth hitting for"
	case o.NeedP50 == 0:
		return ""
	case o.NeedP50 > mostADay:
		return "more than a day allows"
	case o.NeedP90 < 0 || o.NeedP90 > mostADay:
		return fmt.Sprintf("about %d more shots, maybe more than a day allows", o.NeedP50)
	}
	return fmt.Sprintf("about %d more shots, up to %d", o.NeedP50, o.NeedP90)
}
