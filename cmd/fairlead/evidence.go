package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit/table"
	"fairlead/processors/golf/evidence"
)

func newEvidenceCommand() *cobra.Command {
	var category, svg, areaPrior, hole string
	var priors, goals []string
	var warmUp, settle int
	var a evidence.Asked
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
looking. In strokes is said what that is worth on one hole: longer but wider as
one number. The odds rest on a prior: the player's profile in the fleet, given by
--prior, or a weak and stated one. Tightness is on the log scale: −0.1 is about
ten percent tighter.`,
		Example: `  fairlead evidence testdata/evidence/gamer.csv testdata/evidence/candidate.csv --svg evidence.svg
  fairlead evidence testdata/evidence/gamer.csv testdata/evidence/candidate.csv --target launch=14deg --prior carry=2m:4m --json
  fairlead evidence testdata/evidence/gamer.csv testdata/evidence/candidate.csv --prior testdata/evidence/prior.json`,
		Args: frame.UpTo(2, 2, "the baseline's CSV file and the candidate's"),
	}
	flags := c.Flags()
	flags.StringVar(&category, "category", "driver", "driver, wood, hybrid, iron, wedge or putter: what is judged, and the margins")
	flags.StringArrayVar(&priors, "prior", nil, "OUTCOME=MEAN:SD as in carry=2m:4m, or a JSON file (repeatable)")
	flags.StringArrayVar(&goals, "goal", nil, "what counts as better, as in spin=higher (repeatable)")
	flags.StringArrayVar(&goals, "target", nil, "a value to come near, as in launch=14deg (repeatable)")
	flags.StringVar(&areaPrior, "area-prior", "",
		"inverse Wishart prior of the covariance in m², NU,VAR_CARRY,VAR_OFFLINE as in 4,20,10: adds prob_tighter")
	flags.Float64Var(&a.Options.Alpha, "alpha", 0.05, "chance of a false better or worse, per outcome")
	flags.IntVar(&warmUp, "warm-up", 5, "first shots of the session to leave out (with positions)")
	flags.IntVar(&settle, "settle", 2, "first shots after a swap to leave out (with positions)")
	flags.IntVar(&a.Options.Block, "block", 5, "shots with each club in the next block")
	flags.StringVar(&hole, "hole", "",
		"JSON file of the hole on which shots are valued: length_m, fairway_m, rough_m, green_m, and strokes by "+
			"distance (from_fairway, from_rough, from_recovery, putts); what is left out stays as usual")
	flags.BoolVar(&a.Instruction, "instruction", false, "the player was told to change something between the two")
	flags.BoolVar(&a.Left, "left", false, "left-handed player: mirror across the target line")
	flags.StringVar(&svg, "svg", "", "write the picture of the changes to this file")
	flags.Bool("json", false, "write one JSON object")
	c.RunE = func(c *cobra.Command, args []string) error {
		var err error
		if a.Category, err = glossary.ParseCategory(category); err != nil {
			return frame.Use(err)
		}
		if a.Options.Priors, err = evidence.ParsePriors(priors, os.ReadFile); err != nil {
			return err
		}
		if a.Options.Goals, err = evidence.ParseGoals(goals); err != nil {
			return frame.Use(err)
		}
		if a.Options.Hole, err = evidence.ReadHole(hole, os.ReadFile); err != nil {
			return err
		}
		if a.AreaPrior, err = evidence.ParseAreaPrior(areaPrior); err != nil {
			return frame.Use(fmt.Errorf("--area-prior %w", err))
		}
		if err := a.Check(warmUp, settle); err != nil {
			return frame.Use(err)
		}
		var files [2]*table.Partial
		for i, path := range args {
			if files[i], err = readShots(c, path); err != nil {
				return err
			}
		}
		told, err := a.Tell(files[0], files[1])
		for _, f := range files {
			f.Warn(c.ErrOrStderr())
		}
		if err != nil {
			return err
		}
		if err := frame.Picture(svg, func() *draw.Picture { return draw.Evidence(told.Report) }); err != nil {
			return err
		}
		return frame.Tell(c, told.Account, told)
	}
	return c
}
