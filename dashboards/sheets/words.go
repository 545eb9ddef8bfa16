package sheets

import (
	"fmt"
	"math"
	"strings"

	"fairlead/processors/golf/profile"
)

// terms are what people call a quantity of the swing.
var terms = map[profile.Term][2]string{
	profile.Speed:  {"Clubhead speed", "how fast the head moves at the ball"},
	profile.Attack: {"Attack angle", "how steeply the head comes down (−) or up (+) to the ball"},
	profile.Path:   {"Club path", "where the head moves: + from inside to out"}, profile.Face: {"Face angle", "where the face points: + open"},
	profile.FaceToPath:  {"Face to path", "the face against the way the head moves: + open"},
	profile.DynamicLoft: {"Loft at impact", "how far the face looks up at the ball"},
	profile.StrikeX:     {"Strike, heel to toe", "+ toward the toe"}, profile.StrikeY: {"Strike, low to high", "+ up the face"},
	profile.StrikeScatter: {"Strike scatter", "how far the strikes spread over the face"},
	profile.Tempo:         {"Tempo", "time up against time down"},
}

// chance writes odds as people say them.
func chance(p float64) string {
	switch {
	case p >= 0.995:
		return "more than 99 in 100"
	case p <= 0.005:
		return "less than 1 in 100"
	}
	return fmt.Sprintf("%.0f in 100", math.Round(100*p))
}

// gloss is the short dictionary at the end of a report.
var gloss = [][2]string{
	{"Own club", "the club the player came with; everything else is told as a difference from it."},
	{"Range", "the true change lies in a range like this in 95 of 100 cases. A wide range means: too few shots to know."},
	{"Scatter", "how far shots of one club lie apart. “20 % tighter” means that they lie apart by a fifth less."},
	{"Cannot tell yet", "too few shots to be sure either way. It does not mean that there is no difference."},
	{"Practically the same", "any difference is too small to matter: choose on feel, price or room to grow."},
	{"Odds", "how likely it is, given the shots and what was believed before them, that the change goes the good way."},
	{"Carry", "distance in the air. It is what is measured well; how far a ball rolls out depends on the ground, and is not used here."},
	{"Hit check", "the finished club is hit beside the own club, and held against what was promised."},
}

// sentence begins with a capital and ends with a stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return ""
	}
	r := []rune(s)
	s = strings.ToUpper(string(r[:1])) + string(r[1:])
	if !strings.ContainsAny(s[len(s)-1:], ".!?") && !strings.HasSuffix(s, "…") {
		s += "."
	}
	return s
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func liking(n int32) string {
	return map[int32]string{-2: "dislikes it much", -1: "dislikes it", 1: "likes it", 2: "likes it much"}[n]
}
