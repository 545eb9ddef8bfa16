package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/processors/golf/fleet"
)

// fleetPower is the command line of `fleet power`.
type fleetPower struct {
	outcome, effect, noise, slopes string
	shotSD                         float64
	kurtosis                       float64
	shots                          int
	pairs, steps, power, alpha     float64
	trait, asJSON                  bool
}

func newFleetPowerCommand() *cobra.Command {
	var a fleetPower
	c := &cobra.Command{
		Use:   "power --effect CHANGE",
		Short: "How many players a question about builds needs",
		Long: `Says how many players must each hit a build and the incumbent, side by side,
before an effect of the given size is seen as often as --power says.

For a spread (direction, carry_control, area) write changes in percent: -10% is
a tenth tighter. For carry write metres, and give --shot-sd, the standard
deviation of single shots. --noise is what one trial differs from the next beyond
its shots, --slopes how much the effect itself differs between players; both are
in the same unit as the effect. Their defaults are modest guesses; take them from
an answer of the fleet where there is one.`,
		Example: `  fairlead fleet power --outcome direction --effect -10% --shots 10
  fairlead fleet power --outcome carry --effect 3 --shot-sd 8 --noise 1.5 --slopes 2 --json`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.run(c) },
	}
	f := c.Flags()
	f.StringVar(&a.outcome, "outcome", "direction", "direction, carry_control, area, or carry")
	f.StringVar(&a.effect, "effect", "", "the change to be seen: percent of a spread (-10%), or metres of carry (required)")
	f.IntVar(&a.shots, "shots", 10, "shots of a trial")
	f.StringVar(&a.noise, "noise", "", "trial noise: standard deviation between trials beyond their shots (default 10%; carry 2)")
	f.StringVar(&a.slopes, "slopes", "", "standard deviation of the effect between players (default 6%; carry 2)")
	f.Float64Var(&a.shotSD, "shot-sd", 0, "carry: standard deviation of single shots in m")
	f.Float64Var(&a.kurtosis, "kurtosis", 0, "spreads: excess kurtosis of shots within a trial")
	f.Float64Var(&a.pairs, "pairs", 1, "times that each player hits build and incumbent")
	f.Float64Var(&a.steps, "steps", 1, "steps of the attribute between the two")
	f.Float64Var(&a.power, "power", 0.8, "chance to see the effect")
	f.Float64Var(&a.alpha, "alpha", 0.05, "two-sided level of the test")
	f.BoolVar(&a.trait, "trait", false, "ask about how the effect changes for one standard deviation of a trait")
	f.BoolVar(&a.asJSON, "json", false, "print JSON")
	return c
}

// powerJSON is the answer with what it was computed from.
type powerJSON struct {
	Outcome   string  `json:"outcome"`
	Effect    float64 `json:"effect"` // ln for spreads, else m
	Variance  float64 `json:"trial_variance"`
	TrialSD   float64 `json:"trial_noise_sd"`
	SlopeSD   float64 `json:"slope_sd"`
	TrialsPer float64 `json:"trials_per_player"`
	*fleet.PowerAnswer
}

func (a *fleetPower) run(c *cobra.Command) error {
	wrong := func(format string, args ...any) error { return &usageError{fmt.Errorf(format, args...)} }
	o, ok := fleet.FindOutcome(a.outcome)
	if !ok || a.outcome == "window" {
		return wrong("--outcome %q: use direction, carry_control, area or carry", a.outcome)
	}
	if a.effect == "" {
		return wrong("--effect is missing: say which change must be seen, as in --effect -10%%")
	}
	if a.noise == "" {
		a.noise = map[bool]string{true: "10%", false: "2"}[o.Log]
	}
	if a.slopes == "" {
		a.slopes = map[bool]string{true: "6%", false: "2"}[o.Log]
	}
	q := fleet.PowerQuestion{Pairs: a.pairs, Steps: a.steps, Power: a.power, Alpha: a.alpha, Trait: a.trait}
	var tau float64
	for _, f := range []struct {
		name, text string
		to         *float64
	}{{"effect", a.effect, &q.Effect}, {"noise", a.noise, &tau}, {"slopes", a.slopes, &q.SlopeSD}} {
		x, err := parseChange(f.text, o.Log)
		if err != nil {
			return wrong("--%s %q: %w", f.name, f.text, err)
		}
		*f.to = x
	}
	if tau < 0 || q.SlopeSD < 0 {
		return wrong("--noise and --slopes are standard deviations: 0 or more")
	}
	if !o.Log && a.shotSD <= 0 {
		return wrong("--shot-sd is missing: how much single shots differ in carry, in m")
	}
	if a.shots < 5 {
		return wrong("--shots %d: a trial needs at least five", a.shots)
	}
	q.Tau2 = tau * tau
	q.Variance = o.Variance(a.shots, fleet.Noise{DirectionKurtosis: a.kurtosis, CarryKurtosis: a.kurtosis, CarryVariance: a.shotSD * a.shotSD})
	got, err := fleet.PlayersNeeded(q)
	if err != nil {
		return wrong("%w", err)
	}
	if a.asJSON {
		return printJSON(c.OutOrStdout(), powerJSON{o.Name, q.Effect, q.Variance, tau, q.SlopeSD, 2 * a.pairs, got})
	}
	w := c.OutOrStdout()
	fmt.Fprintf(w, "%d players, %d trials of %d shots (%.0f a player)\n", got.Players, got.Trials, a.shots, 2*a.pairs)
	fmt.Fprintf(w, "see a change of %s in %s with chance %.0f %% at level %.2g\n", a.effect, o.Name, 100*a.power, a.alpha)
	fmt.Fprintf(w, "%.0f %% of what one player shows is the player's own difference, which more shots cannot reduce\n", 100*got.Limit)
	return nil
}

// parseChange reads a change: percent of a spread, as a logarithm, or a number.
func parseChange(s string, log bool) (float64, error) {
	text, percent := strings.CutSuffix(strings.TrimSpace(s), "%")
	x, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, fmt.Errorf("is not a number, nor a percentage as in -10%%")
	}
	switch {
	case log && !percent:
		return 0, fmt.Errorf("write changes of a spread in percent, as in %g%%", 100*x)
	case !log && percent:
		return 0, fmt.Errorf("write changes of carry in metres, without %%")
	case log && x <= -100:
		return 0, fmt.Errorf("nothing gets tighter by all of it")
	case log:
		return math.Log1p(x / 100), nil
	}
	return x, nil
}
