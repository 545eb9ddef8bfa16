package main

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit/table"
	"fairlead/processors/golf/evidence"
)

func newEvidenceCommand() *cobra.Command {
	var asJSON, left, instruction bool
	var category, svg, areaPrior string
	var priors, goals []string
	var options evidence.Options
	warmUp, settle := 5, 2
	c := &cobra.Command{
		Use:   "evidence BASELINE.csv CANDIDATE.csv",
		Short: "What a candidate club changes against a baseline, and what can already be decided",
		Long: `What a candidate club changes against a baseline, outcome by outcome: the change
with its interval, the odds that it is better, and one of four verdicts (better,
worse, practically the same, cannot tell yet) with the shots still needed.

Each file has a header and one shot a line; all columns are optional: carry_m,
offline_m, ball_speed_mps, launch_deg, spin_rpm, landing_deg, strike_x_m,
strike_y_m, for a putter start_deg; position (the shot's place in the session,
counting every shot with any club) and trial (a name for each run of shots).
With positions, warm-up, the first shots after a swap and drift are accounted
for. Other units stand in the header (carry_yd, ball_speed_mph). A row that
cannot be used is named by its line, and the rest is used.

Better and worse are said only at an e-value of 20, which holds at any time of
looking. The odds rest on a prior: the player's profile in the fleet, given by
--prior, or a weak and stated one. Tightness is on the log scale: −0.1 is about
ten percent tighter.`,
		Example: `  fairlead evidence testdata/evidence/gamer.csv testdata/evidence/candidate.csv --svg evidence.svg
  fairlead evidence testdata/evidence/gamer.csv testdata/evidence/candidate.csv --target launch=14deg --prior carry=2m:4m --json
  fairlead evidence testdata/evidence/gamer.csv testdata/evidence/candidate.csv --prior testdata/evidence/prior.json`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 {
				return &usageError{fmt.Errorf("give the baseline's CSV file and the candidate's; %d given", len(args))}
			}
			if args[0] == "-" && args[1] == "-" {
				return &usageError{fmt.Errorf("only one of the two files can be standard input")}
			}
			return nil
		},
	}
	flags := c.Flags()
	flags.StringVar(&category, "category", "driver", "driver, wood, hybrid, iron, wedge or putter: what is judged, and the margins")
	flags.StringArrayVar(&priors, "prior", nil, "OUTCOME=MEAN:SD as in carry=2m:4m, or a JSON file (repeatable)")
	flags.StringArrayVar(&goals, "goal", nil, "what counts as better, as in spin=higher (repeatable)")
	flags.StringArrayVar(&goals, "target", nil, "a value to come near, as in launch=14deg (repeatable)")
	flags.StringVar(&areaPrior, "area-prior", "", "inverse Wishart prior of the covariance in m², NU,VAR_CARRY,VAR_OFFLINE as in 4,20,10: adds prob_tighter")
	flags.Float64Var(&options.Alpha, "alpha", 0.05, "chance of a false better or worse, per outcome")
	flags.IntVar(&warmUp, "warm-up", 5, "first shots of the session to leave out (with positions)")
	flags.IntVar(&settle, "settle", 2, "first shots after a swap to leave out (with positions)")
	flags.IntVar(&options.Block, "block", 5, "shots with each club in the next block")
	flags.BoolVar(&instruction, "instruction", false, "the player was told to change something between the two")
	flags.BoolVar(&left, "left", false, "left-handed player: mirror across the target line")
	flags.StringVar(&svg, "svg", "", "write the picture of the changes to this file")
	flags.BoolVar(&asJSON, "json", false, "write one JSON object")
	c.RunE = func(c *cobra.Command, args []string) error {
		kind, err := glossary.ParseCategory(category)
		if err != nil {
			return use(err)
		}
		if options.Priors, err = priorsOf(priors); err != nil {
			return err
		}
		if options.Goals, err = evidence.ParseGoals(goals); err != nil {
			return use(err)
		}
		area, err := evidence.ParseAreaPrior(areaPrior)
		if err != nil {
			return use(fmt.Errorf("--area-prior %w", err))
		}
		if !(options.Alpha > 0 && options.Alpha < 0.5) || options.Block < 1 || warmUp < 0 || settle < 0 {
			return &usageError{fmt.Errorf("--alpha must lie between 0 and 0.5, --block be at least 1, --warm-up and --settle not below 0")}
		}
		options.WarmUp, options.Settle = orNone(warmUp), orNone(settle)
		var files [2]*table.Partial
		var sides [2][]evidence.Trial
		for i, path := range args {
			if files[i], err = readShots(c, path); err != nil {
				return err
			}
			sides[i] = evidence.TrialsOf(files[i], left)
			files[i].Warn(c.ErrOrStderr())
		}
		if instruction {
			for i := range sides[1] {
				sides[1][i].Instructions++
			}
		}
		report, err := evidence.Compare(kind, sides[0], sides[1], options)
		if err != nil {
			return fmt.Errorf("compare %s with %s: %w", args[1], args[0], err)
		}
		plan := evidence.Next(kind, args[0], []evidence.Candidate{{Name: args[1], Report: report}}, options.Block)
		out := evidence.Tell(report, plan)
		out.Rejected = slices.Concat([]table.Left{}, files[0].Out, files[1].Out)
		if area != nil {
			if p, err := evidence.ProbTighter(*area, sides[0], sides[1]); err == nil {
				out.ProbTighter = &p
			} else {
				out.Doubts = append(out.Doubts, "prob_tighter is not yet: "+err.Error())
			}
		}
		if svg != "" {
			if err := writeSVG(svg, evidenceSVG(report)); err != nil {
				return err
			}
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), out)
		}
		return evidence.WriteText(c.OutOrStdout(), report, plan, out)
	}
	return c
}

// orNone is what the package takes for none where 0 asks for the default.
func orNone(n int) int {
	if n == 0 {
		return -1
	}
	return n
}

// priorsOf reads OUTCOME=MEAN:SD, or a JSON file.
func priorsOf(list []string) (map[glossary.Name]evidence.Prior, error) {
	out := map[glossary.Name]evidence.Prior{}
	for _, s := range list {
		name, value, ok := strings.Cut(s, "=")
		if ok {
			n, p, err := evidence.ParsePrior(name, value)
			if err != nil {
				return nil, use(fmt.Errorf("--prior %q: %w", s, err))
			}
			out[n] = p
			continue
		}
		text, err := os.ReadFile(s)
		if err != nil {
			return nil, fmt.Errorf("read priors: %w", err)
		}
		if err := evidence.ReadPriors(text, s, out); err != nil {
			return nil, err
		}
	}
	return out, nil
}
