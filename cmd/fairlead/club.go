package main

import (
	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
)

// newClubCommand groups the arithmetic of the workshop.
func newClubCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "club",
		Short: "Swing weight, length ladders, lie and loft, gapping of a bag, tolerances, cautions",
		Example: `  fairlead club swingweight --length 45in --head 200g --shaft 65g --grip 50g
  fairlead club gapping testdata/club/bag.csv --svg bag.svg`,
		Args: frame.Unknown("club command"),
	}
	return frame.Group(c, newClubSwingWeightCommand(), newClubLadderCommand(), newClubErrorCommand(),
		newClubGappingCommand(), newClubCheckCommand(), newClubCautionsCommand())
}
