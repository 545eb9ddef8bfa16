package main

import (
	"errors"

	"github.com/spf13/cobra"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
)

// newClubCommand groups the arithmetic of the workshop.
func newClubCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "club",
		Short: "Swing weight, length ladders, lie and loft, gapping of a bag, tolerances, cautions",
		Example: `  fairlead club swingweight --length 45in --head 200g --shaft 65g --grip 50g
  fairlead club gapping testdata/club/bag.csv --svg bag.svg`,
		Args: unknown("club command"),
		RunE: showHelp,
	}
	c.AddCommand(newClubSwingWeightCommand(), newClubLadderCommand(), newClubErrorCommand(),
		newClubGappingCommand(), newClubCheckCommand(), newClubCautionsCommand())
	return c
}

// clubUse marks an input that the workshop's arithmetic refuses as wrong use,
// since nothing but another command line mends it.
func clubUse(err error) error {
	var in *club.InputError
	if errors.As(err, &in) {
		return use(err)
	}
	return err
}

// shownUnits adds the flag of commands that write for people.
func shownUnits(c *cobra.Command, u *unit.Shown) {
	c.Flags().BoolVar(&u.Imperial, "imperial", false, "show yards and mph instead of m and m/s (JSON stays SI)")
}
