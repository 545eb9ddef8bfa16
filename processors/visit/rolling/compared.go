package rolling

import (
	"fmt"
	"slices"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/dispersion"
)

// Compared is what of a row is weighed against another club, where that is not
// all of it: the row tells of all its shots, a comparison of those that can be
// held against the other club's. Without a word on it the two would contradict
// each other.
type Compared struct {
	N       int      `json:"n"`    // shots that are weighed
	Left    int      `json:"left"` // that are not, though they count
	Why     []string `json:"why"`
	Primary []Judged `json:"primary,omitempty"` // of the shots that are weighed
	Carry   *Stat    `json:"carry_m,omitempty"`
}

// comparedRows tells of each row of a pair what the report weighs of it.
func comparedRows(category glossary.Category, p pair, report weighed) map[rowKey]*Compared {
	if !report.Order.Known {
		return nil // all of them
	}
	taken := map[int]bool{}
	for _, at := range report.Order.Weighed {
		taken[at] = true
	}
	out := map[rowKey]*Compared{}
	for _, r := range slices.Concat(p.baseline, p.candidate) {
		sub := &row{key: r.key, trial: r.trial}
		c := &Compared{}
		for _, s := range r.counting() {
			if taken[s.Tag.OrderInSession] {
				sub.shots = append(sub.shots, s)
			} else {
				c.Left++
			}
		}
		if c.N = len(sub.shots); c.Left > 0 {
			for _, l := range report.Order.Left {
				if l.Trial == trialName(r) && !slices.Contains(c.Why, l.Why) {
					c.Why = append(c.Why, l.Why)
				}
			}
			var told Trial
			sub.stats(&told, category, dispersion.Aim{})
			c.Primary, c.Carry = told.Primary, told.Carry
		}
		out[r.key] = c
	}
	return out
}

// trialName names a row to the one who weighs it.
func trialName(r *row) string {
	name := fmt.Sprintf("trial %d", r.trial.Number)
	if len(r.trial.Parts) > 1 {
		name += fmt.Sprintf(".%d", r.key.part)
	}
	return name
}

// tellCompared says at each row what of it the comparisons leave out: of several
// the one that weighs most of it. paired are the rows that any takes.
func tellCompared(out *State, all []*row, reports []weighed, paired map[rowKey]bool) {
	for i, r := range all {
		var most *Compared
		for _, w := range reports {
			if c := w.rows[r.key]; c != nil && (most == nil || c.N > most.N) {
				most = c
			}
		}
		t := &out.Trials[i]
		switch {
		case most != nil && most.Left > 0:
			t.Compared = most
		case len(paired) > 0 && !paired[r.key] && t.N > 0:
			t.Compared = &Compared{Left: t.N, Why: []string{"hit with another ball, surface, device or kind of shot than what is compared"}}
		}
	}
}

// Short says it in few words.
func (c *Compared) Short() string {
	var why []string
	for _, w := range c.Why {
		short, _, _ := strings.Cut(w, ":")
		why = append(why, short)
	}
	if c.N == 0 {
		return "not compared: " + strings.Join(why, ", ")
	}
	return fmt.Sprintf("compared without %d (%s)", c.Left, strings.Join(why, ", "))
}

// Words say it in one line, without the numbers of the rest.
func (c *Compared) Words() string {
	if c.N == 0 {
		return "Not compared: " + strings.Join(c.Why, "; ")
	}
	return fmt.Sprintf("The comparison leaves out %d of them (%s)", c.Left, strings.Join(c.Why, "; "))
}

// Swing names the swings that are compared where they are not full ones.
func (c *Comparison) Swing() string {
	switch {
	case c.Class == "":
		return ""
	case c.Length > 0:
		return fmt.Sprintf("%s swings of %.0f m", c.Class, c.Length)
	}
	return c.Class + " swings"
}
