package fleet

import "math"

// A Verdict says three things apart, because a change can be surely there and
// still be too small to matter, or look large and be nothing but chance.
//
// Way is where the estimate points, Evidence whether there is anything at all
// (by the whole screen's false-discovery rate), Margin how its size stands to
// the margin below which two builds are practically the same: within it and
// beyond it are tests of their own, each at five percent. Equivalence is two
// one-sided tests (Schuirmann, J. Pharmacokinet. Biopharm. 15:657, 1987).
type Verdict struct {
	Way      string  `json:"way"`      // better, worse, or none
	Evidence string  `json:"evidence"` // finding, hint or open
	Margin   string  `json:"margin"`   // beyond, within or open
	Bound    float64 `json:"margin_at"`
	PWithin  float64 `json:"p_within_margin"`
	PBeyond  float64 `json:"p_beyond_margin"`
	// Close names the columns that one standard error more or less would turn.
	Close []string `json:"close_call,omitempty"`
}

// The words of a verdict's columns.
const (
	WayBetter, WayWorse, WayNone = "better", "worse", "none"

	Finding = "finding" // stands out of everything that was looked at
	Hint    = "hint"    // p below five percent, which of so many some have by chance
	Open    = "open"    // nothing can be said yet

	Beyond = "beyond"
	Within = "within"
)

// TooLittle begins what is said where there is not enough for an answer.
const TooLittle = "not enough to say"

// hintAt is the p below which an effect that is no finding is still shown, and
// sizeAt the level of the tests against the margin.
const hintAt, sizeAt = 0.05, 0.05

// judge says what an estimate amounts to: q is its adjusted p, tail the
// two-sided p of a standardised value.
func judge(o Outcome, change, se, p, q, bound float64, tail func(float64) float64) Verdict {
	v := Verdict{Way: wayOf(change, o.Better), Evidence: evidenceOf(p, q), Bound: bound}
	v.PWithin, v.PBeyond = against(change, se, bound, tail)
	v.Margin = marginOf(v.PWithin, v.PBeyond)
	if !(se > 0) {
		return v
	}
	// A finding and no finding differ by less than is known: q moves with p.
	shift := func(by float64) string {
		moved := tail(max(math.Abs(change)/se+by, 0))
		return evidenceOf(moved, min(1, q*moved/max(p, 1e-300)))
	}
	if v.Evidence != Open && shift(-1) != v.Evidence && p > 1e-4 || v.Evidence != Finding && shift(1) == Finding {
		v.Close = append(v.Close, "evidence")
	}
	for _, by := range []float64{-se, se} {
		if marginOf(against(change+by, se, bound, tail)) != v.Margin && v.Margin != Open {
			v.Close = append(v.Close, "margin")
			break
		}
	}
	return v
}

func wayOf(change, better float64) string {
	switch good := change * better; {
	case good > 0:
		return WayBetter
	case good < 0:
		return WayWorse
	}
	return WayNone
}

func evidenceOf(p, q float64) string {
	switch {
	case q <= FalseDiscovery:
		return Finding
	case p < hintAt:
		return Hint
	}
	return Open
}

func marginOf(within, beyond float64) string {
	switch {
	case within <= sizeAt:
		return Within
	case beyond <= sizeAt:
		return Beyond
	}
	return Open
}

// against tests a change against a margin: pWithin is small where the change
// surely lies within ±bound, pBeyond where it surely lies outside.
func against(change, se, bound float64, tail func(float64) float64) (pWithin, pBeyond float64) {
	size := math.Abs(change)
	if !(se > 0) {
		if size < bound {
			return 0, 1
		}
		return 1, 0
	}
	// upper is the chance of more than z standard errors.
	upper := func(z float64) float64 {
		if z < 0 {
			return 1 - tail(z)/2
		}
		return tail(z) / 2
	}
	// The nearer bound decides the two tests of equivalence.
	return upper((bound - size) / se), upper((size - bound) / se)
}

// Kind is what a picture colours by: better or worse for a finding, same for
// what is surely within the margin and no finding, "" for the rest.
func (v Verdict) Kind() string {
	switch {
	case v.Evidence == Finding && v.Way != WayNone:
		return v.Way
	case v.Margin == Within:
		return "same"
	}
	return ""
}

// Text writes the columns one after the other, for a place that has one line.
func (v Verdict) Text() string {
	text := map[string]string{Finding: "finding", Hint: "hint only", Open: "no evidence yet"}[v.Evidence]
	if v.Evidence != Open && v.Way != WayNone {
		text = v.Way + ", " + text
	}
	text += map[string]string{Beyond: ", larger than the margin", Within: ", smaller than the margin",
		Open: ", either side of the margin"}[v.Margin]
	if len(v.Close) > 0 {
		text += " (close call)"
	}
	return text
}
