package main

import (
	"errors"
	"fmt"

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
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return use(fmt.Errorf("unknown club command %q", args[0]))
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
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

// clubFlags are flags of one command that carry units.
type clubFlags struct{ c *cobra.Command }

func (f clubFlags) add(q unit.Quantity, name string, def float64, usage string) *unit.Value {
	v := unit.NewValue(q, def)
	f.c.Flags().Var(v, name, usage)
	return v
}

// showUnits is the flag of commands that write for people.
type showUnits struct{ imperial bool }

func (u *showUnits) flag(c *cobra.Command) {
	c.Flags().BoolVar(&u.imperial, "imperial", false, "show yards and mph instead of m and m/s (JSON stays SI)")
}

func (u showUnits) shown() unit.Shown { return unit.Shown{Imperial: u.imperial} }
