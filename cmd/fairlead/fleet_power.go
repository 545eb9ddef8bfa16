package main

import (
	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/processors/golf/fleet"
)

func newFleetPowerCommand() *cobra.Command {
	var a fleet.WrittenPower
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
		RunE: func(c *cobra.Command, _ []string) error {
			out, err := a.Tell()
			if err != nil {
				return frame.Use(err)
			}
			return frame.Tell(c, out, out)
		},
	}
	f := c.Flags()
	f.StringVar(&a.Outcome, "outcome", "direction", "direction, carry_control, area, or carry")
	f.StringVar(&a.Effect, "effect", "", "the change to be seen: percent of a spread (-10%), or metres of carry (required)")
	f.IntVar(&a.Shots, "shots", 10, "shots of a trial")
	f.StringVar(&a.Noise, "noise", "", "trial noise: standard deviation between trials beyond their shots (default 10%; carry 2)")
	f.StringVar(&a.Slopes, "slopes", "", "standard deviation of the effect between players (default 6%; carry 2)")
	f.Float64Var(&a.ShotSD, "shot-sd", 0, "carry: standard deviation of single shots in m")
	f.Float64Var(&a.Kurtosis, "kurtosis", 0, "spreads: excess kurtosis of shots within a trial")
	f.Float64Var(&a.Question.Pairs, "pairs", 1, "times that each player hits build and incumbent")
	f.Float64Var(&a.Question.Steps, "steps", 1, "steps of the attribute between the two")
	f.Float64Var(&a.Question.Power, "power", 0.8, "chance to see the effect")
	f.Float64Var(&a.Question.Alpha, "alpha", 0.05, "two-sided level of the test")
	f.BoolVar(&a.Question.Trait, "trait", false, "ask about how the effect changes for one standard deviation of a trait")
	f.Bool("json", false, "print JSON")
	return c
}
