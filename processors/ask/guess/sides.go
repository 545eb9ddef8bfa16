package guess

import (
	"regexp"
	"slices"
	"strings"
)

// sideWord is what a letter or word beside a number says: the sign, and whether
// it goes by the player's hand.
type sideWord struct {
	sign   int
	handed bool
}

var sideWords = map[string]sideWord{
	"r": {1, false}, "right": {1, false}, "rt": {1, false}, "rechts": {1, false}, "re": {1, false}, "droite": {1, false},
	"derecha": {1, false},
	"der":     {1, false}, "destra": {1, false}, "→": {1, false}, ">": {1, false},
	"l": {-1, false}, "left": {-1, false}, "lt": {-1, false}, "links": {-1, false}, "li": {-1, false}, "gauche": {-1, false},
	"izquierda": {-1, false},
	"izq":       {-1, false}, "sinistra": {-1, false}, "←": {-1, false}, "<": {-1, false},
	"open": {1, true}, "offen": {1, true}, "o": {1, true}, "closed": {-1, true}, "close": {-1, true}, "shut": {-1, true},
	"geschlossen": {-1, true}, "c": {-1, true},
	"in-out": {1, true}, "in-to-out": {1, true}, "in to out": {1, true}, "in-out.": {1, true}, "io": {1, true}, "i-o": {1, true},
	"inside-out": {1, true},
	"out-in":     {-1, true}, "out-to-in": {-1, true}, "out to in": {-1, true}, "oi": {-1, true}, "o-i": {-1, true}, "outside-in": {-1, true},
	"push": {1, true}, "pull": {-1, true}, "fade": {1, true}, "draw": {-1, true}, "slice": {1, true}, "hook": {-1, true},
	"up": {1, false}, "u": {1, false}, "down": {-1, false}, "dn": {-1, false}, "d": {-1, false},
	"toe": {1, false}, "t": {1, false}, "heel": {-1, false}, "h": {-1, false}, "high": {1, false}, "low": {-1, false}, "auf": {1, false},
	"ab": {-1, false},
}

// pairs are left and right of languages whose letters mean something else, or
// nothing, in another: they are known where a device writes both.
var pairs = [][2]string{{"g", "d"}, {"i", "d"}, {"s", "d"}, {"e", "d"}, {"v", "h"}, {"li", "re"}, {"sx", "dx"}, {"esq",
	"dir"}, {"esq", "dta"},
	{"izq", "dcha"}, {"izq", "der"}, {"vä", "hö"}, {"vänster", "höger"}, {"venstre", "høyre"}, {"esquerda", "direita"}, {"左",
		"右"}, {"좌", "우"},
	{"왼쪽", "오른쪽"}, {"neg", "pos"}, {"-", "+"}}

// tongue finds the pair by which a device's columns with sides go.
func tongue(letters map[string]int) (left, right string) {
	seen := map[string]bool{}
	for word := range letters {
		seen[strings.ToLower(word)] = true
	}
	if seen["l"] || seen["r"] || seen["left"] || seen["right"] {
		return "", ""
	}
	for _, p := range pairs {
		if seen[p[0]] && seen[p[1]] {
			return p[0], p[1]
		}
	}
	return "", ""
}

// sided is how many of a column's cells say a side.
func (c *column) sided() (n int) {
	for word, k := range c.letters {
		if w, known := sideWords[strings.ToLower(word)]; known && w.sign != 0 {
			n += k
		}
	}
	return n
}

// lettersOf sorts a column's letters by side; ok is false where one is not
// known. left and right are the device's own, where its language has others.
func lettersOf(letters map[string]int, left, right string) (positive, negative []string, handed, ok bool) {
	unknown, all := 0, 0
	for word, n := range letters {
		w, known := sideWords[strings.ToLower(word)]
		switch own := strings.ToLower(word); {
		case left == "":
		case own == left:
			w, known = sideWord{-1, false}, true
		case own == right:
			w, known = sideWord{1, false}, true
		}
		all += n
		if !known {
			unknown += n
			continue
		}
		handed = handed || w.handed
		list := &positive
		if w.sign < 0 {
			list = &negative
		}
		if !slices.ContainsFunc(*list, func(have string) bool { return strings.EqualFold(have, word) }) {
			*list = append(*list, word)
		}
	}
	if positive == nil && negative == nil || unknown*5 > all {
		return nil, nil, false, false
	}
	// One side may not have occurred: its usual word stands for it.
	usual := [][2]string{{strings.ToUpper(right), strings.ToUpper(left)}, {"R", "L"}, {"right", "left"}, {"rechts", "links"}, {"droite",
		"gauche"}, {"derecha", "izquierda"},
		{"open", "closed"},
		{"in-out", "out-in"}, {"up", "down"}, {"U", "D"}, {"toe", "heel"}, {"T", "H"}, {"high", "low"}, {"push", "pull"}, {"fade", "draw"},
		{"→", "←"}, {">", "<"}}
	for _, p := range usual {
		if positive == nil && strings.EqualFold(negative[0], p[1]) {
			positive = []string{p[0]}
		}
		if negative == nil && strings.EqualFold(positive[0], p[0]) {
			negative = []string{p[1]}
		}
	}
	slices.Sort(positive)
	slices.Sort(negative)
	return positive, negative, handed, positive != nil && negative != nil
}

var (
	rightPositive = regexp.MustCompile(`(?i)(?:\+(?:ve)?\s*(?:=|is|:|:=)?\s*(?:right|rechts|r\b)|(?:right|rechts|\br)\s*(?:=|is|:|of target)?\s*(?:\+|pos)|pos\w*\s*(?:=|is|:|means)?\s*(?:to the\s*)?(?:right|rechts)|(?:neg\w*|-|−)\s*(?:=|is|:|means)\s*(?:to the\s*)?(?:left|links))`)
	leftPositive  = regexp.MustCompile(`(?i)(?:\+(?:ve)?\s*(?:=|is|:|:=)?\s*(?:left|links|l\b)|(?:left|links|\bl)\s*(?:=|is|:|of target)?\s*(?:\+|pos)|pos\w*\s*(?:=|is|:|means)?\s*(?:to the\s*)?(?:left|links)|(?:neg\w*|-|−)\s*(?:=|is|:|means)\s*(?:to the\s*)?(?:right|rechts))`)
)

// stated returns the sign that a text states: 1 right is positive, -1 left is, 0 nothing.
func stated(text string) int {
	switch right, left := rightPositive.MatchString(text), leftPositive.MatchString(text); {
	case right && !left:
		return 1
	case left && !right:
		return -1
	}
	return 0
}
