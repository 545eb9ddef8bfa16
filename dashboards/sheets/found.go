package sheets

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/visit/rolling"
)

// Finding is what the shots say of one club against the one it was compared with.
type Finding struct {
	Club     string      `json:"club"`
	Against  string      `json:"against"`
	Swings   string      `json:"swings,omitempty"` // that were compared, where they were not full ones
	Chosen   bool        `json:"chosen"`
	Headline string      `json:"headline"`
	Blocked  string      `json:"blocked,omitempty"` // why nothing can be compared
	Mixed    bool        `json:"confounded"`        // club and swing changed together: nothing below is the club's alone
	Outcomes []Statement `json:"outcomes"`
	Trade    string      `json:"trade,omitempty"`
	Strokes  string      `json:"in_strokes,omitempty"`
	Doubts   []string    `json:"doubts,omitempty"`

	clubNo int
}

// Statement is one outcome in words and numbers; numbers are in the outcome's
// stored unit (a tightness: natural logarithm), club less the one before it.
type Statement struct {
	Outcome string   `json:"outcome"`
	Label   string   `json:"label"`
	Means   string   `json:"means"` // what the outcome is
	Verdict string   `json:"verdict"`
	Mark    string   `json:"-"`
	Text    string   `json:"text"`
	Change  *float64 `json:"change,omitempty"`
	Low     *float64 `json:"low,omitempty"`
	High    *float64 `json:"high,omitempty"`
	Odds    *float64 `json:"probability_better,omitempty"`
	Unit    string   `json:"unit,omitempty"`
	Lead    bool     `json:"judged_by"` // this kind of club is judged by it
	Shots   [2]int   `json:"shots"`     // of the club compared with, of this club
}

func (s *Source) findings(state *rolling.State, u Units) []Finding {
	var out []Finding
	for i := range state.Comparisons {
		out = append(out, finding(&state.Comparisons[i], glossary.Category(state.Session.Category), u))
	}
	return out
}

func finding(c *rolling.Comparison, category glossary.Category, u Units) Finding {
	f := Finding{Club: c.Name, Against: c.AgainstOf, Outcomes: []Statement{}, Swings: kindOfSwing(c.Class, c.Length, u), clubNo: c.Club}
	if c.Ball != "" {
		f.clubNo = 0 // it is of a ball, not of the club that may be chosen
	}
	if c.Blocked != "" {
		f.Blocked = sentence(strings.ReplaceAll(c.Blocked, "incumbent", "own club"))
		f.Headline = "Not compared. " + f.Blocked
		return f
	}
	var sure, open []string
	for _, o := range c.Outcomes {
		st := statement(o, category, u)
		f.Outcomes = append(f.Outcomes, st)
		switch word := lowerFirst(st.Label); {
		case o.NotYet || o.Verdict == string(evidence.CannotTell):
			if o.Primary {
				open = append(open, word)
			}
		default:
			sure = append(sure, word+" "+verdictOf(o))
		}
	}
	// What the club is judged by comes first, then what is decided.
	rank := func(s Statement) int {
		switch {
		case s.Lead:
			return 0
		case s.Verdict != string(evidence.CannotTell):
			return 1
		}
		return 2
	}
	slices.SortStableFunc(f.Outcomes, func(a, b Statement) int { return rank(a) - rank(b) })
	for _, d := range c.Doubts {
		f.Doubts = append(f.Doubts, sentence(readable(d, category)))
	}
	if len(c.Left) > 0 {
		f.Doubts = append(f.Doubts, sentence("left out of the comparison, though they count: "+
			strings.ReplaceAll(strings.Join(c.Left, "; "), " left out (", " (")))
	}
	if c.Confounded {
		f.Mixed = true
		f.Headline = "Club and swing changed together: an instruction was given and the own club was not hit again after it. What changed " +
			"can't be put down to the club."
		return f
	}
	f.Trade = tradeOf(c, category, u)
	if c.Strokes != nil {
		d := u.Distance()
		d.Digits = 0
		f.Strokes = "In strokes: " + c.Strokes.Says(d.Text) + "."
	}
	if len(sure) > 0 {
		f.Headline = sentence(strings.Join(sure, "; "))
	} else {
		f.Headline = "Nothing is proven either way."
	}
	if len(open) > 0 {
		f.Headline += " Cannot tell yet: " + strings.Join(open, ", ") + "."
	}
	return f
}

// kindOfSwing names swings that are not full ones.
func kindOfSwing(class string, length float64, u Units) string {
	switch {
	case class == "" || class == "full":
		return ""
	case length > 0:
		d := u.Distance()
		d.Digits = 0
		return class + " swings of " + d.Text(length)
	}
	return class + " swings"
}

// Told are the outcomes that the player is told one by one: what this kind of
// club is judged by, and what is decided.
func (f Finding) Told() (out []Statement) {
	for _, o := range f.Outcomes {
		if o.told() {
			out = append(out, o)
		}
	}
	return out
}

// Open names the other outcomes, of which nothing can be told yet.
func (f Finding) Open() string {
	var out []string
	for _, o := range f.Outcomes {
		if !o.told() {
			out = append(out, lowerFirst(o.Label))
		}
	}
	return strings.Join(out, ", ")
}

func (s Statement) told() bool { return s.Lead || s.Verdict != string(evidence.CannotTell) }

// statement says one outcome.
func statement(o rolling.Weighed, category glossary.Category, u Units) Statement {
	name, words := glossary.Name(o.Name), glossary.Told(o.Name, category == glossary.Putter)
	st := Statement{Outcome: o.Name, Label: words.Paper, Means: words.Meaning, Verdict: o.Verdict, Lead: o.Primary, Unit: o.Unit,
		Shots: [2]int{o.NBaseline, o.NCandidate}}
	if o.NotYet {
		st.Verdict, st.Mark = string(evidence.CannotTell), "?"
		st.Text = "Too few shots to say anything"
		if o.More > 0 {
			st.Text += fmt.Sprintf(": %d more would be needed", o.More)
		}
		st.Text += "."
		return st
	}
	st.Change, st.Low, st.High, st.Odds = &o.Change, &o.Low, &o.High, &o.ProbBetter
	changed, interval := moved(name, o.Change, o.Low, o.High, u)
	switch evidence.Verdict(o.Verdict) {
	case evidence.Same:
		st.Mark = "≈"
		st.Text = fmt.Sprintf("Practically the same: the best guess is %s, %s.", changed, interval)
	case evidence.Better, evidence.Worse, evidence.Moved:
		st.Mark = map[string]string{"better": "▲", "worse": "▼"}[o.Verdict]
		switch {
		case name.Sided():
			if st.Mark == "" {
				st.Mark = map[bool]string{true: "◁", false: "▷"}[o.Change < 0]
			}
		case o.Assumed:
			st.Mark = map[bool]string{true: "△", false: "▽"}[o.Change > 0]
		}
		word := verdictOf(o)
		st.Text = fmt.Sprintf("%s: %s, %s.", strings.ToUpper(word[:1])+word[1:], changed, interval)
	default:
		st.Mark = "?"
		st.Text = fmt.Sprintf("Cannot tell yet: the best guess is %s, %s.", changed, interval)
		if o.Low > 0 || o.High < 0 {
			st.Text += " The shots lean that way, but not yet so far that chance is ruled out however often one looks."
		}
		switch {
		case o.NeedP50 > 0:
			st.Text += fmt.Sprintf(" About %d more shots would tell.", o.NeedP50)
		case o.NeedP50 < 0:
			st.Text += " More shots than are worth hitting would be needed."
		}
	}
	st.Text += fmt.Sprintf(" Odds that it is %s: %s.", good(name, glossary.Goal{Way: glossary.Way(o.Way)}), chance(o.ProbBetter))
	if o.Prior.Disagrees {
		st.Text += " The shots and what other players' shots led to expect disagree."
	}
	return st
}

// moved writes a change and its range. Where a minus is good it is told in
// words: a sign would be read wrongly.
func moved(name glossary.Name, change, low, high float64, u Units) (changed, interval string) {
	s := outcomeUnit(u, name)
	less, more := "tighter", "wider"
	switch {
	case name.Sided():
		less, more = "to the left", "to the right"
	case name == glossary.Strike:
		less, more = "nearer to the middle", "farther from the middle"
	case !name.Tightness():
		return s.With(s.SignedShort(change)), fmt.Sprintf("range %s to %s", s.SignedShort(low), s.With(s.SignedShort(high)))
	}
	told := func(x float64) (number, word string) {
		x = linear(name, x)
		return s.With(s.Short(math.Abs(x))), map[bool]string{true: less, false: more}[x <= 0]
	}
	c, cw := told(change)
	l, lw := told(low)
	h, hw := told(high)
	if lw == hw {
		return c + " " + cw, fmt.Sprintf("range %s to %s %s", l, h, hw)
	}
	return c + " " + cw, fmt.Sprintf("range %s %s to %s %s", l, lw, h, hw)
}

// good is what the odds are of. Where what counts as better is a convention
// and not the player's wish, the direction is said.
func good(name glossary.Name, g glossary.Goal) string {
	switch {
	case name.Tightness():
		return "tighter"
	case name == glossary.Strike:
		return "nearer to the middle"
	case name.Sided():
		return "nearer to the aim"
	case name == glossary.Carry && g.Way == glossary.Higher:
		return "longer"
	case g.Way == glossary.Toward:
		return "nearer to the target"
	}
	return string(g.Way)
}

// verdictOf is better or worse in the words of the outcome. Where what counts
// as better is a convention and not the player's wish, the direction is said.
func verdictOf(o rolling.Weighed) string {
	better := o.Verdict == string(evidence.Better)
	switch {
	case o.Verdict == string(evidence.Same):
		return "practically the same"
	case glossary.Name(o.Name).Sided():
		return evidence.SideWords(evidence.Verdict(o.Verdict), o.Change)
	case glossary.Name(o.Name).Tightness():
		return map[bool]string{true: "tighter", false: "wider"}[better]
	case o.Name == string(glossary.Carry):
		return map[bool]string{true: "longer", false: "shorter"}[o.Change > 0]
	case o.Name == string(glossary.Strike):
		return map[bool]string{true: "nearer to the middle", false: "farther from the middle"}[better]
	}
	return map[bool]string{true: "higher", false: "lower"}[o.Change > 0]
}

// tradeOf says 'longer but wider' in the player's units. Widths are two thirds
// of the shots, at each club's own carry.
func tradeOf(c *rolling.Comparison, category glossary.Category, u Units) string {
	kind, _, ok := strings.Cut(c.Trade, ":")
	if !ok || category == glossary.Putter {
		return ""
	}
	var carry, direction *rolling.Weighed
	for i := range c.Outcomes {
		switch c.Outcomes[i].Name {
		case string(glossary.Carry):
			carry = &c.Outcomes[i]
		case string(glossary.Direction):
			direction = &c.Outcomes[i]
		}
	}
	if carry == nil || direction == nil {
		return ""
	}
	width := func(m, sdDeg float64) float64 { return m * math.Tan(sdDeg*math.Pi/180) }
	before := width(carry.Baseline, direction.Baseline)
	after := width(carry.Baseline+carry.Change, direction.Baseline*math.Exp(direction.Change))
	d := u.Distance()
	return fmt.Sprintf("A trade: %s. About %s of carry, and two shots in three within %s of the middle of their line instead of %s. Which "+
		"of the two counts more is for the player and the course to say.",
		kind, d.With(d.SignedShort(carry.Change)), d.Text(after), d.Text(before))
}

// readable puts people's words for the names of outcomes into a reason.
func readable(text string, category glossary.Category) string {
	for _, n := range glossary.Outcomes() {
		text = strings.ReplaceAll(text, "them, "+string(n)+" would", "them, "+
			lowerFirst(glossary.Told(string(n), category == glossary.Putter).Paper)+" would")
	}
	return strings.ReplaceAll(strings.ReplaceAll(text, "incumbent", "own club"), "_", " ")
}
