package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairlead/dashboards/draw"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

func newFleetEffectsCommand() *cobra.Command {
	var a fleetAsk
	var id, over string
	var kept, forest bool
	c := &cobra.Command{
		Use:   "effects",
		Short: "What each attribute of a build does, for which swings, and how sure that is",
		Long: `Fits the fleet's model to the stored trials of players who consented, and keeps the
answer: asked again of the same data, it is read, not computed. Each effect is the
change for one step of an attribute that a shop would make, with its 95 % interval,
the interval for the next player, and a value that is adjusted for looking at many.
What could be wrong with the answer follows it.

The first trial that a player hit with their own club describes the swing and is
not judged. "Not enough to say" is an answer; the exit code is then 0 too.`,
		Example: `  fairlead fleet effects --config studio.yaml
  fairlead fleet effects --config studio.yaml --outcome carry_control --category iron --band speed_mps=30..35
  fairlead fleet effects --config studio.yaml --svg forest.svg --over speed_mps
  fairlead fleet effects --config studio.yaml --kept`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			q, err := a.question()
			if err != nil {
				return err
			}
			if over != "" && !slices.Contains(fleet.TraitNames[:], over) {
				return &usageError{answers.Band{Trait: over}.Check()}
			}
			return a.with(c, func(ctx context.Context, f *answers.Fleet) error {
				if kept {
					return printKept(ctx, c, f, &a)
				}
				var s *answers.Stored
				if id != "" {
					s, err = f.Answer(ctx, id)
					if errors.Is(err, answers.ErrNoAnswer) {
						return &usageError{fmt.Errorf("--answer %s: %w; --kept lists them", id, err)}
					}
				} else {
					s, err = f.Ask(ctx, q, a.asking(c))
				}
				if err != nil {
					return err
				}
				return a.printEffects(c.OutOrStdout(), s, over, forest)
			})
		},
	}
	a.where(c)
	a.model(c)
	f := c.Flags()
	f.StringVar(&id, "answer", "", "print the kept answer with this `id` instead of asking")
	f.BoolVar(&kept, "kept", false, "list the answers that are kept")
	f.StringVar(&a.svg, "svg", "", "draw into `FILE`: a forest plot; with --over, by profile")
	f.StringVar(&over, "over", "", "show the effects for players who differ in this `trait`")
	f.BoolVar(&forest, "forest", false, "with --svg and --over: a forest plot of three profiles instead of the map")
	return c
}

// effectsJSON is an answer for programs: the kept answer with its effects.
type effectsJSON struct {
	*answers.Stored
	Effects []fleet.Effect `json:"effects"`
	Map     []fleet.Cell   `json:"map,omitempty"`
}

func (a *fleetAsk) printEffects(w io.Writer, s *answers.Stored, over string, forest bool) error {
	out := effectsJSON{Stored: s, Effects: []fleet.Effect{}}
	if s.Answer != nil {
		var err error
		if out.Effects, err = s.Answer.Effects(fleet.Person{}); err != nil {
			return err
		}
		if over != "" {
			if out.Map, err = s.Cells(over, answers.MapAt); err != nil {
				return &usageError{fmt.Errorf("--over %s: %w", over, err)}
			}
		}
		if err := a.drawTo(func(f io.Writer) error {
			picture := draw.Effects
			if over != "" && !forest {
				picture = draw.EffectsOver
			}
			p, err := picture(s, over, nil)
			if err != nil {
				return err
			}
			return p.Write(f)
		}); err != nil {
			return err
		}
	}
	switch {
	case a.asJSON:
		return printJSON(w, out)
	case a.asCSV:
		return answers.EffectsCSV(w, s, out.Effects)
	}
	return printEffectsText(w, s, out.Effects, out.Map, over)
}

func printEffectsText(w io.Writer, s *answers.Stored, effects []fleet.Effect, cells []fleet.Cell, over string) error {
	fmt.Fprintln(w, s.Title())
	fmt.Fprintf(w, "answer %s, model %s, asked %s\n", s.ID, s.Model, s.Asked.UTC().Format("2006-01-02 15:04 UTC"))
	printMark(w, s.Mark)
	if s.Refused != "" {
		fmt.Fprintf(w, "\nNot enough to say (%d trials of %d players): %s\n", s.Trials, s.Players, s.Refused)
		return nil
	}
	fmt.Fprintf(w, "%d trials asked about, %d players; effects in %s\n\n", s.Trials, s.Players, s.Unit())
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "effect\tchange\t95 % interval\tnext player\tadjusted p\tgain\tplayers\tsays")
	for _, e := range effects {
		step := e.Step
		if e.Trait != "" {
			if e.Says != fleet.SaysBetter && e.Says != fleet.SaysWorse {
				continue // forty-odd lines of nothing; --json has them
			}
			step = s.TraitStep(e)
		}
		x := s.Show(e)
		next, gain := "–", "–"
		if x.PILow != nil {
			next = fmt.Sprintf("%.3g to %.3g", *x.PILow, *x.PIHigh)
		}
		if e.Gain != nil {
			gain = fmt.Sprintf("%.0f %%", 100**e.Gain)
		}
		fmt.Fprintf(t, "%s\t%+.3g\t%.3g to %.3g\t%s\t%.2g\t%s\t%d\t%s\n", step, x.Value, x.Low, x.High, next, e.Q, gain, e.Players, e.Says)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(w, "(dependence on the swing is shown where it is a finding; --json has all of it)")
	if len(cells) > 0 {
		fmt.Fprintf(w, "\nby %s\n", answers.TraitTitle(over))
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for _, c := range cells {
			x := s.Show(c.Effect)
			fmt.Fprintf(t, "%s\t%s\t%+.3g\t%.3g to %.3g\t%s\n", c.Effect.Step, answers.TraitText(over, c.At), x.Value, x.Low, x.High, c.Effect.Says)
		}
		if err := t.Flush(); err != nil {
			return err
		}
	}
	fmt.Fprintln(w)
	printNotes(w, s.Answer.Notes)
	for _, d := range s.Diagnostics {
		if d.Fired {
			fmt.Fprintf(w, "distrust (%s): %s\n", d.Code, d.Text)
		}
	}
	return nil
}

func printKept(ctx context.Context, c *cobra.Command, f *answers.Fleet, a *fleetAsk) error {
	lines, err := f.Lines(ctx, 1000)
	if err != nil {
		return err
	}
	w := c.OutOrStdout()
	if a.asJSON {
		return printJSON(w, lines)
	}
	if a.asCSV {
		var rows [][]string
		for _, l := range lines {
			rows = append(rows, []string{l.ID, l.Category, l.Outcome, l.Label, l.Asked.UTC().Format("2006-01-02T15:04:05Z"), strconv.FormatUint(l.Trials, 10), strconv.FormatUint(l.Players, 10), l.Refused})
		}
		return writeCSV(w, []string{"id", "category", "outcome", "label", "asked", "trials", "players", "refused"}, rows)
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "answer\tasked\tcategory\toutcome\tof whom\tplayers\ttrials\t")
	for _, l := range lines {
		note := ""
		if l.Refused != "" {
			note = "not enough to say"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%d\t%d\t%s\n", l.ID, l.Asked.UTC().Format("2006-01-02 15:04"), l.Category, l.Outcome, l.Label, l.Players, l.Trials, note)
	}
	return t.Flush()
}
