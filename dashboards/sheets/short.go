package sheets

import (
	"fmt"
	"slices"
	"strings"

	"fairlead/ingest/contract/glossary"
)

// Short is a session on a hand's breadth of paper: one picture, and what
// changed, what it gains and how sure that is, what comes next.
type Short struct {
	Changed string `json:"changed"`
	Gains   string `json:"gains"`
	Next    string `json:"next"`

	Picture *Drawing `json:"-"`
}

// short says a session in three sentences, of its last verdict that holds.
func short(p *Session) Short {
	out := Short{Changed: "Nothing was decided yet.", Next: "Next: the session goes on, or the clubs are hit again on another day."}
	if len(p.Drawings) > 0 {
		out.Picture = &p.Drawings[0]
	}
	if len(p.Decided) == 0 {
		out.Gains = found(p.Found, false)
		return out
	}
	d := p.Decided[len(p.Decided)-1]
	out.Changed = d.Says + ifNot(d.Club, ": ")
	if changes := changesTo(p.Tried, d.club); d.Ordered && len(changes) > 0 {
		out.Changed += " (" + strings.Join(changes, ", ") + ")"
	}
	out.Changed = sentence(out.Changed)
	out.Gains = found(p.Found, d.Ordered)
	if len(d.Promises) > 0 {
		out.Gains = promised(d)
	}
	out.Next = next(d)
	return out
}

// changesTo are the first differences of a club from the one it was compared with.
func changesTo(list []Tried, club int) []string {
	const most = 4
	for _, t := range list {
		if t.club != club || club == 0 {
			continue
		}
		out := make([]string, 0, most+1)
		for i, c := range t.Changes {
			if i == most {
				out = append(out, fmt.Sprintf("%d more", len(t.Changes)-most))
				break
			}
			out = append(out, lowerFirst(c))
		}
		return out
	}
	return nil
}

// promised says what was expected when it was decided, or what the delivered
// club showed since.
func promised(d Decision) string {
	var out, kept []string
	for _, p := range leading(d.Promises) {
		change, span, _ := strings.Cut(p.Text, ", ")
		out = append(out, fmt.Sprintf("%s %s (%s; odds that it is %s: %s)", lowerFirst(p.Label), change, span, p.Good, chance(p.Odds)))
		if p.Kept != "" {
			kept = append(kept, lowerFirst(p.Label)+", "+strings.TrimSuffix(lowerFirst(p.Kept), "."))
		}
	}
	text := sentence("Expected of it: " + strings.Join(out, "; "))
	if len(kept) > 0 {
		text += " " + sentence(strings.Join(kept, "; "))
	}
	return text
}

// leading are the promises that a sentence has room for: what the kind of club is
// judged by, and two at most where that was not promised. The others stand behind.
func leading(list []Promise) (out []Promise) {
	for _, p := range list {
		if p.Primary {
			out = append(out, p)
		}
	}
	if len(out) == 0 {
		out = list[:min(len(list), 2)]
	}
	return out
}

// judges says that a kind of club is judged by an outcome.
func judges(c glossary.Category, outcome string) bool {
	return slices.ContainsFunc(c.Primary(), func(o glossary.Outcome) bool { return string(o.Name) == outcome })
}

// found says what the comparisons showed: of the chosen club only, where one is.
func found(list []Finding, chosen bool) string {
	// Clubs of which the same is to be said are named together.
	var said []string
	clubs := map[string][]string{}
	for _, f := range list {
		if chosen && !f.Chosen || f.Blocked != "" {
			continue
		}
		if clubs[f.Headline] == nil {
			said = append(said, f.Headline)
		}
		name := f.Club
		if f.Swings != "" {
			name += ", " + f.Swings
		}
		clubs[f.Headline] = append(clubs[f.Headline], name)
	}
	var out []string
	for _, headline := range said {
		out = append(out, listed(clubs[headline])+": "+lowerFirst(strings.TrimSuffix(headline, ".")))
	}
	if len(out) == 0 {
		return "One club only was hit, so there is nothing to compare it with."
	}
	return sentence(strings.Join(out, "; "))
}

// next is the first sentence of what comes next.
func next(d Decision) string {
	if first, _, more := strings.Cut(d.Next, ". "); more {
		return first + "."
	}
	if d.Next == "" {
		return "Next: come back when the swing or the aim changes; this visit is what the next one is compared with."
	}
	return d.Next
}

// againstThePromise says how what a hit check found stands to what was promised,
// all as changes against the own club: measured with its range, and the promise.
func againstThePromise(measured, low, high float64, p *Promise) string {
	far, near := p.Low, p.High // of the promise, from no change at all
	if p.Change > 0 {
		far, near = p.High, p.Low
	}
	beyond := (measured-far)*p.Change > 0
	short := (near-measured)*p.Change > 0
	apart := high < p.Low || low > p.High
	switch {
	case measured*p.Change < 0 && apart:
		return "it went the other way"
	case measured*p.Change < 0:
		return "it points the other way, though so few shots can't rule the promise out: hit both clubs again"
	case apart && beyond:
		return "more than was promised"
	case apart:
		return "less than was promised"
	case beyond:
		return "rather more than was promised, though so few shots don't prove it"
	case short:
		return "rather less than was promised, though so few shots don't prove it"
	}
	return "in keeping with the promise"
}

// empty says that of a trial nothing is left to tell: nobody hit it, or all its
// shots were left out, and nothing was said of it.
func (t Tried) empty() bool { return t.Shots == 0 && !t.Base && len(t.Felt) == 0 && len(t.Told) == 0 }

// nothing says that a comparison had no shot of its club.
func (f Finding) nothing(tried []Tried) bool {
	for _, t := range tried {
		if t.club == f.clubNo {
			return t.empty()
		}
	}
	return false
}

// listed writes a, b and c.
func listed(of []string) string {
	if len(of) < 2 {
		return strings.Join(of, "")
	}
	return strings.Join(of[:len(of)-1], ", ") + " and " + of[len(of)-1]
}
