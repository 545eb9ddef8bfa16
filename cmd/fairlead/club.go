package main

import (
	"github.com/spf13/cobra"

	"fairlead/ingest/contract/unit"
)

// newClubCommand groups the arithmetic of the workshop.
func newClubCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "club",
		Short: "Swing weight, length ladders, lie and loft, gapping of a bag, tolerances, cautions",
		Example: `  fairlead club swingweight --length 45in --head 200g --shaft 65g --grip 50g
  fairlead club gapping testdata/club/bag.csv --svg bag.svg`,
		Args: unknown("club command"),
	}
	return group(c, newClubSwingWeightCommand(), newClubLadderCommand(), newClubErrorCommand(),
		newClubGappingCommand(), newClubCheckCommand(), newClubCautionsCommand())
}

// shownUnits adds the flag of commands that write for people.
func shownUnits(c *cobra.Command, u *unit.Shown) {
	c.Flags().BoolVar(&u.Imperial, "imperial", false, "show yards and mph instead of m and m/s (JSON stays SI)")
}
