package sheets

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"fairlead/dashboards/figure"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/rolling"
)

// Tried is one club of a session, as a difference from the own club.
type Tried struct {
	Name    string   `json:"name"`
	Own     bool     `json:"own_club"`
	Base    bool     `json:"compared_with"` // the others are told against it
	Changes []string `json:"changes"`
	Unknown string   `json:"unknown,omitempty"`
	Shots   int      `json:"shots"`
	LeftOut int      `json:"left_out"`
	Swings  []Length `json:"swings"`          // full ones first
	Carry   string   `json:"carry,omitempty"` // of its first swings
	Spread  string   `json:"spread,omitempty"`
	Told    []string `json:"told,omitempty"` // instructions
	Felt    []string `json:"felt,omitempty"`

	club int
}

// Length is where the shots of swings of one length went, by the trial with most
// of them.
type Length struct {
	Of     string `json:"of,omitempty"` // empty: full swings
	Shots  int    `json:"shots"`
	Carry  string `json:"carry,omitempty"`
	Spread string `json:"spread,omitempty"`
	Left   string `json:"compared,omitempty"` // what of it the comparison leaves out

	most  int // shots of the trial that is told of
	trial *rolling.Trial
}

// tried lists the clubs in the order in which they were first hit.
func tried(state *rolling.State, u Units) []Tried {
	out := []Tried{}
	for i := range state.Trials {
		t := &state.Trials[i]
		at := slices.IndexFunc(out, func(x Tried) bool { return x.club == t.Club })
		if at < 0 {
			at = len(out)
			one := Tried{Name: t.Name, Own: t.Gamer, Base: t.Key == state.Incumbent, Changes: []string{}, Swings: []Length{}, club: t.Club}
			one.Changes, one.Unknown = changesOf(t.Changes, u)
			out = append(out, one)
		}
		one := &out[at]
		one.Base = one.Base || t.Key == state.Incumbent
		one.Shots += t.N
		one.LeftOut += t.Excluded
		one.swing(t, u)
		if t.Instruction != "" {
			one.Told = append(one.Told, t.Instruction)
		}
		if t.Part > 1 {
			continue // the feel is of the trial, not of its part
		}
		for _, f := range t.Feels {
			var words []string
			if f.Words != "" {
				words = append(words, "“"+f.Words+"”")
			}
			if l := liking(f.Liking); l != "" {
				words = append(words, l)
			}
			if len(words) > 0 {
				one.Felt = append(one.Felt, strings.Join(words, ", "))
			}
		}
	}
	for i := range out {
		out[i].told(state.Session.Category, u)
	}
	return out
}

// swing counts a trial to the swings of its length.
func (one *Tried) swing(t *rolling.Trial, u Units) {
	if t.N == 0 {
		return
	}
	of := kindOfSwing(t.Class, t.ClassLength, u)
	at := slices.IndexFunc(one.Swings, func(s Length) bool { return s.Of == of })
	if at < 0 {
		at = len(one.Swings)
		one.Swings = append(one.Swings, Length{Of: of})
	}
	s := &one.Swings[at]
	s.Shots += t.N
	if t.N > s.most {
		s.most, s.trial = t.N, t
	}
}

// told writes the numbers of all swings, the full ones first.
func (one *Tried) told(category string, u Units) {
	slices.SortStableFunc(one.Swings, func(a, b Length) int { return cmp.Compare(min(len(a.Of), 1), min(len(b.Of), 1)) })
	for i := range one.Swings {
		one.Swings[i].numbers(category, u)
	}
	if len(one.Swings) > 0 {
		one.Carry, one.Spread = one.Swings[0].Carry, one.Swings[0].Spread
	}
}

// numbers tells where the shots went, in the words of the category.
func (s *Length) numbers(category string, u Units) {
	t, what := s.trial, "shots"
	if category == "putter" {
		what = "putts"
	}
	if t.Carry != nil && !t.Carry.NotYet && category != "putter" {
		d := u.Distance()
		s.Carry = fmt.Sprintf("%s on average (range %s to %s)", d.Text(t.Carry.Value), d.Short(t.Carry.Low), d.Text(t.Carry.High))
		if t.N < s.Shots {
			s.Carry += fmt.Sprintf(", of the %d shots of trial %d", t.N, t.Number)
		}
	}
	var spread []string
	for _, p := range widths(t, category) {
		if words := within(p); words != "" {
			spread = append(spread, fmt.Sprintf("two %s in three within %s (range %s to %s)", what, words,
				widthUnit(p.Name).Short(p.Stat.Low), widthUnit(p.Name).Text(p.Stat.High)))
		}
	}
	s.Spread = strings.Join(spread, "; ")
	if t.Compared == nil {
		return
	}
	s.Left = t.Compared.Words()
	for _, p := range t.Compared.Primary {
		if words := within(p); words != "" {
			s.Left += fmt.Sprintf("; two in three of the others within %s", words)
		}
	}
	s.Left += "."
}

// widths are what tells how far apart the shots are: what the category is judged
// by, and the direction of all that flies.
func widths(t *rolling.Trial, category string) []rolling.Judged {
	out := slices.Clone(t.Primary)
	told := slices.ContainsFunc(out, func(p rolling.Judged) bool { return p.Name == "direction_sd_deg" })
	if category != "putter" && !told && t.DirSD != nil {
		out = append(out, rolling.Judged{Name: "direction_sd_deg", Stat: *t.DirSD})
	}
	return out
}

func widthUnit(name string) figure.Unit {
	if strings.HasSuffix(name, "_pct") {
		return figure.In("%", 1, 1)
	}
	return figure.In("°", 1, 1)
}

// within says of a width what it is the width of; nothing of what is none.
func within(p rolling.Judged) string {
	of := map[string]string{"direction_sd_deg": "middle direction", "carry_sd_pct": "middle carry", "start_sd_deg": "middle start line",
		"speed_sd_pct": "middle speed"}[p.Name]
	if of == "" || p.Stat.NotYet {
		return ""
	}
	return widthUnit(p.Name).Text(p.Stat.Value) + " of their " + of
}

// changesOf tells differences that are known from parts that only one of the
// clubs is known in.
func changesOf(list []rolling.Change, u Units) (out []string, unknown string) {
	out = []string{}
	var half []string
	for _, c := range list {
		info, _ := event.BuildFieldNamed(c.Field)
		if !c.From.Known || !c.To.Known {
			half = append(half, strings.ToLower(c.Label))
			continue
		}
		at := func(v rolling.Value) string {
			return specText(u, &event.Spec{Field: info.Field, Number: v.Number, Text: v.Text}, info)
		}
		out = append(out, fmt.Sprintf("%s: %s instead of %s", c.Label, at(c.To), at(c.From)))
	}
	if len(half) > 0 {
		unknown = "Known of one of the two clubs only, so it may differ or not: " + strings.Join(half, ", ") + "."
	}
	return out, unknown
}
