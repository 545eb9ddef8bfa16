package main

import (
	"fmt"
	"slices"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/dispersion"
	"fairlead/processors/golf/evidence"

	"github.com/spf13/cobra"
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
			return &usageError{err}
		}
		if options.Priors, err = parsePriors(priors); err != nil {
			return err
		}
		if options.Goals, err = parseGoals(goals); err != nil {
			return err
		}
		area, err := parseAreaPrior(areaPrior)
		if err != nil {
			return err
		}
		if !(options.Alpha > 0 && options.Alpha < 0.5) || options.Block < 1 || warmUp < 0 || settle < 0 {
			return &usageError{fmt.Errorf("--alpha must lie between 0 and 0.5, --block be at least 1, --warm-up and --settle not below 0")}
		}
		// In the package 0 asks for the default.
		options.WarmUp, options.Settle = orNone(warmUp), orNone(settle)
		var files [2]*shotFile
		var sides [2][]evidence.Trial
		for i, path := range args {
			if files[i], err = readShots(c, path); err != nil {
				return err
			}
			sides[i] = trialsOf(files[i], left)
			files[i].warn(c.ErrOrStderr())
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
		out := evidenceOut(report, plan)
		out.Rejected = slices.Concat([]badRow{}, files[0].bad, files[1].bad)
		if area != nil {
			if p, err := tighterOdds(*area, sides); err == nil {
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
			return writeClubJSON(c.OutOrStdout(), out)
		}
		return printEvidence(c.OutOrStdout(), report, plan, out)
	}
	return c
}

func orNone(n int) int {
	if n == 0 {
		return -1
	}
	return n
}

// trialsOf turns a file into trials: a new one at each change of the trial's
// name or the count of instructions, and wherever other shots were hit in
// between. A row with a value that is no measurement is rejected by its line.
func trialsOf(file *shotFile, left bool) []evidence.Trial {
	var out []evidence.Trial
	last := shotRow{}
	for _, row := range file.rows {
		s := evidence.Shot{Values: map[evidence.Measure]float64{}}
		for _, m := range evidence.Measures() {
			if v, ok := row.value(columnOf(m)); ok {
				s.Values[m] = v
			}
		}
		at, _ := row.value("position")
		s.Position = int(at)
		told, _ := row.value("instructions")
		t := evidence.Trial{Name: file.path, Instructions: int(told), Shots: []evidence.Shot{s}}
		if name := row.cells["trial"]; name.Known {
			t.Name += " " + name.Text
		}
		if float64(s.Position) != at || float64(t.Instructions) != told {
			file.reject(row.line, "position and instructions are whole numbers")
			continue
		}
		if err := t.Check(); err != nil {
			file.reject(row.line, "%s", measureReason(err))
			continue
		}
		before, _ := last.value("position")
		n := len(out)
		follows := n > 0 && out[n-1].Name == t.Name && out[n-1].Instructions == t.Instructions && (s.Position == 0 || at == before+1)
		last = row
		if t = t.Handed(left); follows {
			out[n-1].Shots = append(out[n-1].Shots, t.Shots...)
			continue
		}
		out = append(out, t)
	}
	return out
}

// tighterOdds answers with an inverse Wishart prior on the covariance in metres.
func tighterOdds(prior dispersion.AreaPrior, sides [2][]evidence.Trial) (float64, error) {
	var scatters [2]dispersion.Scatter
	for i, trials := range sides {
		var points [][2]float64
		for _, t := range trials {
			for _, s := range t.Shots {
				carry, okC := s.Values[evidence.CarryM]
				offline, okO := s.Values[evidence.OfflineM]
				if okC && okO {
					points = append(points, [2]float64{carry, offline})
				}
			}
		}
		var err error
		if scatters[i], err = dispersion.NewScatter(points); err != nil {
			return 0, err
		}
	}
	return prior.ProbTighter(scatters[0], scatters[1])
}
