package sheets

import (
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
	Carry   string   `json:"carry,omitempty"`
	Spread  string   `json:"spread,omitempty"`
	Told    []string `json:"told,omitempty"` // instructions
	Felt    []string `json:"felt,omitempty"`

	club int
	most int // shots of the trial that Carry and Spread are of
}

// tried lists the clubs in the order in which they were first hit.
func tried(state *rolling.State, u Units) []Tried {
	out := []Tried{}
	for i := range state.Trials {
		t := &state.Trials[i]
		at := slices.IndexFunc(out, func(x Tried) bool { return x.club == t.Club })
		if at < 0 {
			at = len(out)
			one := Tried{Name: t.Name, Own: t.Gamer, Base: t.Key == state.Incumbent, Changes: []string{}, club: t.Club}
			one.Changes, one.Unknown = changesOf(t.Changes, u)
			out = append(out, one)
		}
		one := &out[at]
		one.Base = one.Base || t.Key == state.Incumbent
		one.Shots += t.N
		one.LeftOut += t.Excluded
		if t.N > one.most {
			one.most = t.N
			one.numbers(t, state.Session.Category, u)
		}
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
	return out
}

// numbers tells where the shots of a trial went.
func (one *Tried) numbers(t *rolling.Trial, category string, u Units) {
	one.Carry, one.Spread = "", ""
	if category == "putter" {
		return
	}
	if t.Carry != nil && !t.Carry.NotYet {
		d := u.Distance()
		one.Carry = fmt.Sprintf("%s on average (range %s to %s)", d.Text(t.Carry.Value), d.Short(t.Carry.Low), d.Text(t.Carry.High))
		if t.N < one.Shots {
			one.Carry += fmt.Sprintf(", of the %d shots of trial %d", t.N, t.Number)
		}
	}
	if t.DirSD != nil && !t.DirSD.NotYet {
		a := figure.In("°", 1, 1)
		one.Spread = fmt.Sprintf("two shots in three within %s of their middle direction (range %s to %s)", a.Text(t.DirSD.Value),
			a.Short(t.DirSD.Low), a.Text(t.DirSD.High))
	}
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
