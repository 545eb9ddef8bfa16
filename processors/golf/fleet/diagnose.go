package fleet

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Diagnostic is one reason to distrust an answer: what was measured, from which
// value on it is a worry, and what to do.
type Diagnostic struct {
	Code      string  `json:"code"`
	Title     string  `json:"title"`
	Value     float64 `json:"value"`
	Threshold float64 `json:"threshold"`
	Fired     bool    `json:"fired"`
	Text      string  `json:"text"`
}

// The thresholds from which a diagnostic fires.
const (
	maxTraitShare    = 0.5  // of a trait's variance between players that the choice of a build explains
	minPlayers       = 20   // who tried an attribute
	maxExclusionGap  = 0.03 // difference of exclusion rates
	maxClusterRatio  = 1.3  // clustered over model standard error
	maxKurtosis      = 0.75 // excess
	maxAdriftShare   = 0.2  // of trials after an instruction without the incumbent
	maxUnrepeated    = 0.5  // of levels that hit the incumbent only at their start
	maxLeftOut       = 0.2  // of trials that do not count
	orderP           = 0.01 // of the order terms together
	bayDisagreementP = 0.01
)

// Diagnose lists what to distrust about an answer to these trials, all of it,
// fired or not, so that a reader sees what was looked at.
func (a *Answer) Diagnose(trials []Trial) []Diagnostic {
	var out []Diagnostic
	add := func(code, title string, value, threshold float64, fired bool, format string, args ...any) {
		if !finite(value) {
			value = 0
		}
		out = append(out, Diagnostic{code, title, value, threshold, fired, fmt.Sprintf(format, args...)})
	}

	// Too few players, by attribute.
	least, which := math.MaxInt, ""
	for _, at := range a.Design.Attributes {
		if n := a.Tried[at.Name()]; n > 0 && n < least {
			least, which = n, at.Name()
		}
	}
	if which == "" {
		least = 0
	}
	add("few_players", "players who tried an attribute", float64(least), minPlayers, least < minPlayers,
		"%s was tried at two values by %d players; below %d an interval says little about the next one", which, least, minPlayers)
	left := 0
	for _, n := range a.LeftOut {
		left += n
	}
	share := float64(left) / math.Max(float64(a.Trials), 1)
	add("left_out", "trials that do not count", share, maxLeftOut, share > maxLeftOut, "%d of %d trials do not count: %s", left, a.Trials,
		reasons(a.LeftOut))

	traits := playerTraits(trials)
	out = append(out, a.orderDiagnostic(), unrepeated(trials), selection(a.Design, trials, traits), bays(a, trials, traits), exclusion(trials),
		adrift(trials), a.hidden())

	// Slopes that cannot be told from noise.
	confounded, zeroed := 0, 0
	for _, code := range a.Codes {
		switch code {
		case "slope_or_noise":
			confounded++
		case "zero_slope_variance":
			zeroed++
		}
	}
	add("slope_or_noise", "slopes that cannot be told from trial noise", float64(confounded), 1, confounded > 0,
		"whether players differ in their slopes cannot be told from trial noise where each player shows a slope once; %d slopes are seen not "+
			"to vary at all", zeroed)

	worst, term := 0.0, ""
	for _, e := range a.Fit.Terms {
		if e.SE > 0 && e.Clustered/e.SE > worst {
			worst, term = e.Clustered/e.SE, e.Name
		}
	}
	add("clustered", "standard errors clustered by player against the model's", worst, maxClusterRatio,
		worst > maxClusterRatio && a.Fit.Players >= minPlayers,
		"the largest ratio is that of %s; well above one, players differ in a way that the model does not know", term)

	same, all := 0.0, 0.0
	for i := range trials {
		all++
		if trials[i].TraitsFrom == SameShots && len(a.Design.Traits) > 0 {
			same++
		}
	}
	add("coupling", "trials whose traits come from the shots that are judged", same/math.Max(all, 1), 0, same > 0,
		"%.0f of %.0f trials describe the player by the very shots whose outcome is asked about: their error is on both sides and makes up an "+
			"effect of the trait", same, all)

	k := a.Noise.DirectionKurtosis
	if a.Outcome.Name == "carry_control" {
		k = a.Noise.CarryKurtosis
	}
	if a.Outcome.Name == "area" {
		k = math.Max(k, a.Noise.CarryKurtosis)
	}
	add("tails", "excess kurtosis of shots within trials", k, maxKurtosis, a.Outcome.Log && k > maxKurtosis,
		"shots have heavier tails than normal ones (mishits, or a mixture); %s", tailsText(a.Noise))

	settled := 1.0
	for _, code := range a.Codes {
		if code == "not_converged" {
			settled = 0
		}
	}
	add("settled", "the search settled", settled, 1, settled < 1, "the search for the variances ended without settling: do not use the answer")
	return out
}

// tailsText says what was done about heavy tails.
func tailsText(k Noise) string {
	if k.DirectionMishits != (Mishits{}) || k.CarryMishits != (Mishits{}) {
		return "the effects are those on the other shots; what a build does to how many are missed is no part of them"
	}
	return "sampling variances were widened for it, and spreads then speak of the tails as much as of the middle"
}

func reasons(m map[string]int) string {
	s := ""
	for _, k := range sortedKeys(m) {
		if s != "" {
			s += ", "
		}
		s += fmt.Sprintf("%s %d", k, m[k])
	}
	if s == "" {
		return "none"
	}
	return s
}

// orderDiagnostic tests the order terms together (Wald), so that three looks do
// not make one alarm.
func (a *Answer) orderDiagnostic() Diagnostic {
	d := Diagnostic{Code: "order", Title: "chance of such order effects if there were none", Value: 1, Threshold: orderP,
		Text: "order is not in the model: warm-up and fatigue count as the builds' doing"}
	var at []int
	worst := ""
	big := 0.0
	for i, e := range a.Fit.Terms {
		if e.Name == warmUp || e.Name == fatigue || e.Name == swap {
			at = append(at, i)
			if math.Abs(e.Value/e.SE) > big {
				big = math.Abs(e.Value / e.SE)
				worst = fmt.Sprintf("%s: %+.3g for %s", e.Name, e.Value, orderText(e.Name))
			}
		}
	}
	k := len(at)
	if k == 0 {
		d.Fired = a.Design.Order
		return d
	}
	v, x := make([]float64, k*k), make([]float64, k)
	for i, p := range at {
		x[i] = a.Fit.Terms[p].Value
		for j, q := range at {
			v[i*k+j] = a.Prior.Cov[p][q]
		}
	}
	est := append([]float64(nil), x...)
	if !cholesky(v, k) {
		return d
	}
	cholSolve(v, k, x)
	wald := dot(est, x)
	if a.Fit.DF > 0 {
		d.Value = distuv.F{D1: float64(k), D2: a.Fit.DF}.Survival(wald / float64(k))
	} else {
		d.Value = distuv.ChiSquared{K: float64(k)}.Survival(wald)
	}
	d.Fired = d.Value < d.Threshold
	d.Text = "no order effect stands out; order is in the model all the same"
	if d.Fired {
		d.Text = worst + "; the model takes it out, but a build that is always hit at the same place in the session stays confounded with it"
	}
	return d
}
