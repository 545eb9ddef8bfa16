package visit

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// Rows and verdicts carry these: other bytes would be other settings. They were
// taken from the program that wrote the first of them.
func TestSettingIDsStayAsTheyAre(t *testing.T) {
	for want, s := range map[string]Setting{
		"":                 {},
		"b0031ac3cc723fc4": {Place: "indoor", Surface: "mat"},
		"809242c1ea64c13b": {Place: "outdoor", Surface: "grass", BallModel: "Harbour \"One\"", BallClass: "premium",
			TeeHeight: Number{0.038, true}},
		"09701fb7cd57fa48": {TargetBearing: Number{-1.5, true}, GreenSpeed: Number{3.048, true}, WindSpeed: Number{5, true},
			WindToward: Number{0, true}},
		"36ff6f82b74d239b": {TargetDistance: Number{1.5e21, true}},
	} {
		if got := s.ID(); got != want {
			t.Errorf("%+v is %s, was %s", s, got, want)
		}
	}
}

// settingOfOld is the setting as it was when its printed form was hashed.
type settingOfOld struct {
	Place, Surface                                                string
	TeeHeight                                                     Number
	BallModel, BallClass                                          string
	TargetBearing, GreenSpeed, WindSpeed, WindToward, TargetRange Number
}

func TestSettingIDsAreThoseOfThePrintedForm(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	number := func() Number {
		switch rng.IntN(5) {
		case 0:
			return Number{}
		case 1:
			return Number{float64(rng.IntN(300)), true}
		case 2:
			return Number{math.Float64frombits(rng.Uint64()), true}
		}
		return Number{math.Round(rng.NormFloat64()*1e4) / 1e3, true}
	}
	words := []string{"", "indoor", "mat", "premium", "two words", "a \"quoted\" one", "Größe 2", "tab\t", "{5 true}"}
	word := func() string { return words[rng.IntN(len(words))] }
	for range 5000 {
		s := Setting{word(), word(), number(), word(), word(), number(), number(), number(), number(), number()}
		if s == (Setting{}) {
			continue
		}
		old := settingOfOld{s.Place, s.Surface, s.TeeHeight, s.BallModel, s.BallClass, s.TargetBearing, s.GreenSpeed, s.WindSpeed, s.WindToward,
			s.TargetDistance}
		sum := sha256.Sum256(fmt.Appendf(nil, "%q", fmt.Sprint(old)))
		if want := hex.EncodeToString(sum[:8]); s.ID() != want {
			t.Fatalf("%+v is %s, was %s", s, s.ID(), want)
		}
	}
}
