package main

import (
	"context"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/processors/ask/audit"
)

func newReplayCommand() *cobra.Command {
	var r audit.Replay
	c := &cobra.Command{
		Use:   "replay",
		Short: "Rebuild what the log holds in a fresh database and compare it with the live one",
		Long: `Reads every entry and visit event of the log into a database of its own, tags and
computes all of it anew, and compares the checksums of the tables (without
versions and insert times) with the live ones. The live database is only read.

Exit code 0: equal. 1: they differ. Shots that arrive meanwhile make a difference:
replay while the bays are quiet.`,
		Example: "  fairlead replay --config studio.yaml",
	}
	c.Flags().Bool("json", false, "one JSON object")
	c.Flags().BoolVar(&r.Keep, "keep", false, "keep the database that was rebuilt")
	c.Flags().StringVar(&r.Database, "database", "fairlead_replay", "name of the database to rebuild in; must not exist")
	return frame.AsTool(c, func(ctx context.Context, p *frame.Running) error {
		var err error
		if r.Live, err = p.Config.OpenStore(); err != nil {
			return err
		}
		defer r.Live.Close()
		nc, js, err := p.Config.ConnectTool(ctx, "replay", p.Log)
		if err != nil {
			return err
		}
		defer nc.Close()
		if r.DSN, err = p.Config.StoreDSN(); err != nil {
			return err
		}
		r.JS, r.Places, r.Logger = js, p.Config.Places(), p.Log
		out, err := r.Run(ctx)
		if err != nil {
			return err
		}
		return frame.ExitIf(!out.Equal, frame.TellLine(c, out, out))
	})
}
