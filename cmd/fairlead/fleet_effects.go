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
	"fairlead/dashboards/figure"
	pages "fairlead/dashboards/fleet"
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
Size, evidence and margin are said apart: how much, whether there is anything at
all, and whether it is more than the margin below which builds are practically the
same. What was found stands first, in sentences; dependence on the swing is judged
over the range of swings that the fleet has. What could be wrong follows.

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
	f.BoolVar(&a.imperial, "imperial", false, "yards and mph instead of m and m/s (JSON stays SI)")
	f.BoolVar(&forest, "forest", false, "with --svg and --over: a forest plot of three profiles instead of the map")
	return c
}

// effectsJSON is an answer for programs: the kept answer with its effects.
type effectsJSON struct {
	*answers.Stored
	Effects     []fleet.Effect     `json:"effects"`
	Dependences []fleet.Dependence `json:"dependences"`
	Findings    []fleet.Said       `json:"findings"`
	Map         []fleet.Cell       `json:"map,omitempty"`
}

func (a *fleetAsk) printEffects(w io.Writer, s *answers.Stored, over string, forest bool) error {
	out := effectsJSON{Stored: s, Effects: []fleet.Effect{}, Dependences: []fleet.Dependence{}, Findings: []fleet.Said{}}
	if s.Answer != nil {
		var err error
		if out.Effects, err = s.Answer.Effects(fleet.Person{}); err != nil {
			return err
		}
		if out.Dependences, err = s.Answer.Dependences(fleet.Person{}); err != nil {
			return err
		}
		if out.Findings, err = s.Answer.Findings(fleet.Person{}); err != nil {
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
	return pages.WriteEffects(w, s, over, figure.Units{Imperial: a.imperial})
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
