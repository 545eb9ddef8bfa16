package main

import (
	"fmt"

	"fairlead/processors/golf/club"
	"github.com/spf13/cobra"
)

type cautionJSON struct {
	Operation string `json:"operation"`
	Hazard    string `json:"hazard"`
	Do        string `json:"do"`
	Source    string `json:"source"`
}

func newClubCautionsCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "cautions [OPERATION ...]",
		Short: "What to beware of in the workshop, by operation; all of them without one",
		Long: `What can hurt somebody or spoil a part, and the usual precaution. It reminds
people who know the work; data sheets, makers' limits, local rules and
qualified people come first.`,
		Example: `  fairlead club cautions tip-trim bond
  fairlead club cautions --json`,
	}
	c.Flags().BoolVar(&asJSON, "json", false, "write one JSON array")
	c.RunE = func(c *cobra.Command, args []string) error {
		ops := club.Operations()
		if len(args) > 0 {
			ops = nil
			for _, a := range args {
				ops = append(ops, club.Operation(a))
			}
		}
		out := []cautionJSON{}
		for _, op := range ops {
			list, err := club.Cautions(op)
			if err != nil {
				return clubUse(err)
			}
			for _, x := range list {
				out = append(out, cautionJSON{string(op), x.Hazard, x.Do, x.Source})
			}
		}
		if asJSON {
			return writeClubJSON(c.OutOrStdout(), out)
		}
		last := ""
		for _, x := range out {
			if x.Operation != last {
				fmt.Fprintf(c.OutOrStdout(), "%s\n", x.Operation)
				last = x.Operation
			}
			fmt.Fprintf(c.OutOrStdout(), "  %s\n    %s (%s)\n", x.Hazard, x.Do, x.Source)
		}
		return nil
	}
	return c
}
