package main

import (
	"io"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/processors/golf/club"
)

func newClubCautionsCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "cautions [OPERATION ...]",
		Short: "What to beware of in the workshop, by operation; all of them without one",
		Long: `What can hurt somebody or spoil a part, and the usual precaution. It reminds
people who know the work; data sheets, makers' limits, local rules and
qualified people come first.`,
		Example: `  fairlead club cautions tip-trim bond
  fairlead club cautions --json`,
		Args: cobra.ArbitraryArgs,
	}
	c.Flags().Bool("json", false, "write one JSON array")
	c.RunE = func(c *cobra.Command, args []string) error {
		out, err := club.TellCautions(args...)
		if err != nil {
			return err
		}
		return frame.Tell(c, out, frame.Words(func(w io.Writer) error { return club.WriteCautions(w, out) }))
	}
	return c
}
