package fleet

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// WrittenPower is a question of power as a command line writes it. Changes are
// percent of a spread (-10%), or metres of carry.
type WrittenPower struct {
	Outcome  string
	Effect   string
	Noise    string        // sd between trials beyond their shots; empty: 10%, of carry 2
	Slopes   string        // sd of the effect between players; empty: 6%, of carry 2
	ShotSD   float64       // m; of carry
	Kurtosis float64       // excess, of shots within a trial; of spreads
	Shots    int           // of a trial
	Question PowerQuestion // pairs, steps, power, level, trait
}

// PowerAccount is the answer with what it was computed from.
type PowerAccount struct {
	Outcome   string  `json:"outcome"`
	Effect    float64 `json:"effect"` // ln for spreads, else m
	Variance  float64 `json:"trial_variance"`
	TrialSD   float64 `json:"trial_noise_sd"`
	SlopeSD   float64 `json:"slope_sd"`
	TrialsPer float64 `json:"trials_per_player"`
	*PowerAnswer

	asked WrittenPower
}

// Tell reads what was written and answers it.
func (a WrittenPower) Tell() (*PowerAccount, error) {
	o, ok := FindOutcome(a.Outcome)
	if !ok || a.Outcome == "window" {
		return nil, fmt.Errorf("--outcome %q: use direction, carry_control, area or carry", a.Outcome)
	}
	if a.Effect == "" {
		return nil, fmt.Errorf("--effect is missing: say which change must be seen, as in --effect -10%%")
	}
	noise, slopes := a.Noise, a.Slopes
	if noise == "" {
		noise = map[bool]string{true: "10%", false: "2"}[o.Log]
	}
	if slopes == "" {
		slopes = map[bool]string{true: "6%", false: "2"}[o.Log]
	}
	q := a.Question
	var tau float64
	for _, f := range []struct {
		name, text string
		to         *float64
	}{{"effect", a.Effect, &q.Effect}, {"noise", noise, &tau}, {"slopes", slopes, &q.SlopeSD}} {
		x, err := parseChange(f.text, o.Log)
		if err != nil {
			return nil, fmt.Errorf("--%s %q: %w", f.name, f.text, err)
		}
		*f.to = x
	}
	if tau < 0 || q.SlopeSD < 0 {
		return nil, fmt.Errorf("--noise and --slopes are standard deviations: 0 or more")
	}
	if !o.Log && a.ShotSD <= 0 {
		return nil, fmt.Errorf("--shot-sd is missing: how much single shots differ in carry, in m")
	}
	if a.Shots < 5 {
		return nil, fmt.Errorf("--shots %d: a trial needs at least five", a.Shots)
	}
	q.Tau2 = tau * tau
	q.Variance = o.Variance(a.Shots, Noise{DirectionKurtosis: a.Kurtosis, CarryKurtosis: a.Kurtosis, CarryVariance: a.ShotSD * a.ShotSD})
	got, err := PlayersNeeded(q)
	if err != nil {
		return nil, err
	}
	return &PowerAccount{o.Name, q.Effect, q.Variance, tau, q.SlopeSD, 2 * q.Pairs, got, a}, nil
}

// WriteText says how many players it takes, and to see what.
func (p *PowerAccount) WriteText(w io.Writer) error {
	fmt.Fprintf(w, "%d players, %d trials of %d shots (%.0f a player)\n", p.Players, p.Trials, p.asked.Shots, p.TrialsPer)
	fmt.Fprintf(w, "see a change of %s in %s with chance %.0f %% at level %.2g\n", p.asked.Effect, p.Outcome, 100*p.asked.Question.Power,
		p.asked.Question.Alpha)
	_, err := fmt.Fprintf(w, "%.0f %% of what one player shows is the player's own difference, which more shots cannot reduce\n", 100*p.Limit)
	return err
}

// parseChange reads a change: percent of a spread, as a logarithm, or a number.
func parseChange(s string, log bool) (float64, error) {
	text, percent := strings.CutSuffix(strings.TrimSpace(s), "%")
	x, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, errors.New("is not a number, nor a percentage as in -10%")
	}
	switch {
	case log && !percent:
		return 0, fmt.Errorf("write changes of a spread in percent, as in %g%%", 100*x)
	case !log && percent:
		return 0, errors.New("write changes of carry in metres, without %")
	case log && x <= -100:
		return 0, errors.New("nothing gets tighter by all of it")
	case log:
		return math.Log1p(x / 100), nil
	}
	return x, nil
}
