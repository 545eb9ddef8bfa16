package guess

import (
	"slices"
	"strings"
	"unicode"
)

// tradeWords are the words that devices shorten, by what they mean; of other
// languages a shortened word is not known.
var tradeWords = []struct{ word, means string }{
	{"ball", "ball"}, {"club", "club"}, {"clubhead", "club"}, {"head", "head"}, {"swing", "swing"}, {"speed", "speed"}, {"velocity", "speed"},
	{"smash", "smash"}, {"factor", "factor"}, {"attack", "attack"}, {"angle", "angle"}, {"path", "path"}, {"face", "face"}, {"loft", "loft"},
	{"dynamic", "dynamic"}, {"delivered", "dynamic"}, {"launch", "launch"}, {"direction", "dir"}, {"vertical", "vertical"},
	{"horizontal", "side"}, {"lateral", "side"}, {"side", "side"}, {"spin", "spin"}, {"axis", "axis"}, {"tilt", "tilt"}, {"rate", "rate"},
	{"back", "back"}, {"carry", "carry"}, {"flight", "flight"}, {"distance", "distance"}, {"total", "total"}, {"offline", "offline"},
	{"deviation", "offline"}, {"apex", "apex"}, {"height", "height"}, {"maximum", "max"}, {"peak", "max"}, {"landing", "landing"},
	{"descent", "landing"}, {"time", "time"}, {"initial", "initial"},
}

// skeletons are two letters that stand for one word of the trade.
var skeletons = map[string]string{"ax": "axis", "fc": "face", "pk": "max", "ht": "height", "rt": "rate", "mx": "max"}

// shortened is what a word of three letters or more means that leaves letters of
// one trade word out, and of no other: clb, spn, hgt.
func shortened(word string) string {
	if len(word) < 3 {
		return skeletons[word]
	}
	means := ""
	for _, t := range tradeWords {
		if len(word) >= len(t.word) || !leavesOut(word, t.word) {
			continue
		}
		if means != "" && means != t.means {
			return ""
		}
		means = t.means
	}
	return means
}

// leavesOut says whether a word holds only letters of another one, in their order,
// from its first on.
func leavesOut(word, of string) bool {
	if word[0] != of[0] {
		return false
	}
	at := 0
	for i := 0; i < len(of) && at < len(word); i++ {
		if of[i] == word[at] {
			at++
		}
	}
	return at == len(word)
}

// unknownWords are the words of a column's name that nothing is known of. A name
// with one of them may be of another thing: a tee's height, the carry before.
func unknownWords(name string) (out []string) {
	p := plain(name)
	covered := make([]bool, len(p))
	for _, n := range namings {
		for _, at := range n.pattern.FindAllStringIndex(p, -1) {
			for i := at[0]; i < at[1]; i++ {
				covered[i] = true
			}
		}
	}
	at := 0
	for _, word := range strings.Fields(p) {
		from := strings.Index(p[at:], word) + at
		at = from + len(word)
		if len(word) < 2 || unicode.IsDigit(rune(word[0])) || covered[from] && covered[at-1] {
			continue
		}
		n, _ := joined(word)
		if n*4 >= len(word)*3 || n > 0 && word[0] >= 0x80 || shortened(word) != "" || initials[word] != "" {
			continue
		}
		out = append(out, word)
	}
	return out
}

// common are the words that three columns' names or more have: of what holds the
// measures, not of the measures.
func common(cols []*column) map[string]bool {
	n, out := map[string]int{}, map[string]bool{}
	for _, c := range cols {
		for _, word := range strings.Fields(plain(c.bare)) {
			if n[word]++; n[word] > 2 {
				out[word] = true
			}
		}
	}
	return out
}

// ambiguous says that a name has a word of one letter and may be short for several
// fields: a spin b is the ball's or back spin.
func ambiguous(name string) bool {
	if !slices.ContainsFunc(strings.Fields(name), func(w string) bool { return len(w) == 1 }) {
		return false
	}
	n := 0
	for _, k := range asKnown {
		if nearness(name, k.words) > 0 {
			n++
		}
	}
	return n > 1
}

// understood says that nothing of a column's name is unknown but words of what
// holds it.
func (c *column) understood(common map[string]bool) bool {
	for _, word := range unknownWords(c.bare) {
		if !common[word] {
			return false
		}
	}
	return true
}
