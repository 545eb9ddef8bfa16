package fleet

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// PowerQuestion asks how many players it takes to see an effect.
type PowerQuestion struct {
	Effect   float64 // change for one step, in the outcome's own scale
	Steps    float64 // how many steps apart the builds are that a player hits; 0 means 1
	Variance float64 // sampling variance of one trial's outcome
	Tau2     float64 // trial noise
	SlopeSD  float64 // of the effect between players
	Pairs    float64 // pairs (incumbent and changed build) a player hits; 0 means 1
	Power    float64 // 0 means 0.8
	Alpha    float64 // two-sided; 0 means 0.05
	// Trait asks about an effect's dependence on a trait instead: Effect is then
	// its change for one standard deviation of the trait.
	Trait bool
}

// PowerAnswer is how many players it takes, and why.
type PowerAnswer struct {
	Players int     `json:"players"`
	Trials  int     `json:"trials"` // of all players together
	SE      float64 `json:"se"`     // of the effect with that many players
	// Limit is the share of the variance of one player's contrast that is the
	// players' own difference: more shots a player cannot reduce it.
	Limit float64 `json:"limit"`
}

// PlayersNeeded answers a PowerQuestion. One player's contrast has variance
// σ_b² + 2(v + τ²)/(pairs·steps²); the mean over N players is tested with t on
// N−1 degrees (N−2 with a trait), and the power is that of the noncentral t in
// its usual normal approximation.
func PlayersNeeded(q PowerQuestion) (*PowerAnswer, error) {
	if q.Steps == 0 {
		q.Steps = 1
	}
	if q.Pairs == 0 {
		q.Pairs = 1
	}
	if q.Power == 0 {
		q.Power = 0.8
	}
	if q.Alpha == 0 {
		q.Alpha = 0.05
	}
	for _, c := range []struct {
		name string
		x    float64
		ok   bool
	}{
		{"effect", q.Effect, q.Effect != 0},
		{"steps", q.Steps, q.Steps > 0},
		{"variance", q.Variance, q.Variance >= 0},
		{"tau2", q.Tau2, q.Tau2 >= 0},
		{"slope sd", q.SlopeSD, q.SlopeSD >= 0},
		{"pairs", q.Pairs, q.Pairs > 0},
		{"power", q.Power, q.Power > 0 && q.Power < 1},
		{"alpha", q.Alpha, q.Alpha > 0 && q.Alpha < 1},
	} {
		if !finite(c.x) || !c.ok {
			return nil, fmt.Errorf("%s %v: cannot be meant; the effect must differ from 0, variances be 0 or more, power and alpha lie between 0 "+
				"and 1", c.name, c.x)
		}
	}
	noise := 2 * (q.Variance + q.Tau2) / (q.Pairs * q.Steps * q.Steps)
	own := q.SlopeSD * q.SlopeSD
	total := own + noise
	if total == 0 {
		return nil, fmt.Errorf("without any variance one player is enough: give the sampling variance of a trial")
	}
	lost := 1.0
	if q.Trait {
		lost = 2
	}
	power := func(n float64) float64 {
		t := distuv.StudentsT{Sigma: 1, Nu: n - lost}
		return distuv.UnitNormal.CDF(math.Abs(q.Effect)/math.Sqrt(total/n) - t.Quantile(1-q.Alpha/2))
	}
	const most = 100_000_000
	hi := 2.0
	for hi += lost; power(hi) < q.Power; hi *= 2 {
		if hi > most {
			return nil, fmt.Errorf("more than a hundred million players: the effect is too small to be seen at all")
		}
	}
	lo := math.Max(lost+1, math.Floor(hi/2))
	hi = math.Ceil(hi)
	for hi-lo > 1 {
		if mid := math.Floor((lo + hi) / 2); power(mid) >= q.Power {
			hi = mid
		} else {
			lo = mid
		}
	}
	if power(lo) >= q.Power {
		hi = lo
	}
	a := &PowerAnswer{Players: int(hi), Trials: int(hi * 2 * q.Pairs), SE: math.Sqrt(total / hi), Limit: own / total}
	return a, nil
}
