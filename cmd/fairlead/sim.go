package main

import (
	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
)

// newSimCommand groups what invents data whose truth is known.
func newSimCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "sim",
		Short: "Invent players, devices, visits and fleets whose truth is known",
	}
	return frame.Group(c, newSimBaysCommand(), newSimFeedCommand(), newSimFleetCommand())
}
