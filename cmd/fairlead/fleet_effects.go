package main

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/figure"
	pages "fairlead/dashboards/fleet"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

func newFleetEffectsCommand() *cobra.Command {
	var a fleetAsk
	var id, over string
	var kept, forest, imperial bool
	c := &cobra.Command{
		Use:   "effects",
		Short: "What each attribute of a build does, for which swings, and how sure that is",
		Long: `Fits the fleet's model to the stored trials of players who consented, and keeps the
answer: asked again of the same data, it is read, not computed. Each effect is the
change for one step of an attribute that a shop would make, with its 95 % interval,
the interval for the next player, and a value that is adjusted for looking at many.
Size, evidence and margin are said apart: how much, whether there is anything at
all, and whether it is more than the margin below which builds are practically the
same. What was found stands first, in sentences; dependence on the swing is judged
over the range of swings that the fleet has. What could be wrong follows.

The first trial that a player hit with their own club describes the swing and is
not judged. "Not enough to say" is an answer; the exit code is then 0 too.

The answer that stands is told, as on the page, with its age; --fresh looks for trials
that came since and asks of them too.`,
		Example: `  fairlead fleet effects --config studio.yaml
  fairlead fleet effects --config studio.yaml --outcome carry_control --category iron --band speed_mps=30..35
  fairlead fleet effects --config studio.yaml --svg forest.svg --over speed_mps
  fairlead fleet effects --config studio.yaml --kept`,
	}
	a.where(c)
	a.model(c)
	f := c.Flags()
	f.StringVar(&id, "answer", "", "print the kept answer with this `id` instead of asking")
	f.BoolVar(&kept, "kept", false, "list the answers that are kept")
	f.StringVar(&a.svg, "svg", "", "draw into `FILE`: a forest plot; with --over, by profile")
	f.StringVar(&over, "over", "", "show the effects for players who differ in this `trait`")
	f.BoolVar(&imperial, "imperial", false, "yards and mph instead of m and m/s (JSON stays SI)")
	f.BoolVar(&forest, "forest", false, "with --svg and --over: a forest plot of three profiles instead of the map")
	right := func([]string) error {
		if over != "" && !slices.Contains(fleet.TraitNames[:], over) {
			return answers.Band{Trait: over}.Check()
		}
		return nil
	}
	return a.asks(c, right, func(ctx context.Context, f *answers.Fleet, _ []string) error {
		if kept {
			lines, err := f.Lines(ctx, 1000)
			if err != nil {
				return err
			}
			return a.tell(c, pages.Kept(lines))
		}
		s, err := f.AnswerOr(ctx, id, a.q, a.asking(c))
		if errors.Is(err, answers.ErrNoAnswer) {
			return frame.Use(fmt.Errorf("--answer %s: %w; --kept lists them", id, err))
		}
		if err != nil {
			return err
		}
		told, err := pages.TellEffects(s, over, figure.Units{Imperial: imperial})
		if err != nil {
			return err
		}
		if a.svg != "" {
			drawn, err := told.Picture(forest)
			if err := errors.Join(err, a.drawTo(drawn)); err != nil {
				return err
			}
		}
		return a.tell(c, told)
	})
}
