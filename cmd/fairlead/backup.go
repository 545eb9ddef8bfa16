package main

import (
	"context"
	"os"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/studio/copies"
)

func newBackupCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "backup",
		Short: "Take an encrypted copy of the whole studio while it runs",
		Long: `Copies store, log, journals, visits, names, keys and configuration to the place that
backup.to of the configuration names: a folder, or a bucket of an S3-like store. What
an earlier copy has is not sent again. All of it is encrypted with the key
DATA/keys/backup.key, which the first backup makes: keep a copy of it elsewhere.

` + "`fairlead up`" + ` takes one each backup.every by itself, and restores one for a try each
backup.try. ` + "`fairlead restore`" + ` brings a hub back.`,
		Example: `  fairlead backup --config studio.yaml
  fairlead backup list
  fairlead backup try`,
	}
	var scheduled bool
	c.Flags().Bool("json", false, "one JSON object")
	c.Flags().BoolVar(&scheduled, "scheduled", false, "go on, and take one whenever one is due")
	c.AddCommand(newBackupListCommand(), newBackupTryCommand(), newBackupPruneCommand())
	return frame.AsProcess(c, func(ctx context.Context, p *frame.Running) error {
		k, err := keeper(p)
		if err != nil {
			return err
		}
		if scheduled {
			p.Beat(ctx)
			return k.Run(ctx)
		}
		m, err := k.Take(ctx)
		if err != nil {
			return err
		}
		return frame.TellLine(c, copies.Of(m), copies.Of(m))
	})
}

// keeper keeps the copies of the studio.
func keeper(p *frame.Running) (copies.Keeper, error) {
	self, err := os.Executable()
	return copies.Keeper{Config: p.Config, Program: self, Now: time.Now, Log: p.Log}, err
}

func newBackupListCommand() *cobra.Command {
	c := &cobra.Command{Use: "list", Short: "List the copies, the oldest first", Example: "  fairlead backup list --config studio.yaml"}
	c.Flags().Bool("json", false, "one JSON array")
	return frame.AsTool(c, func(ctx context.Context, p *frame.Running) error {
		k, err := keeper(p)
		if err != nil {
			return err
		}
		names, err := k.List(ctx)
		if err != nil {
			return err
		}
		return frame.TellLine(c, names, names)
	})
}

func newBackupTryCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "try", Short: "Restore a copy into a scratch folder, run the hub on it and audit it",
		Long: `Reads the copy back, starts engine, broker, processor and console on it on free ports
of the loopback, and audits it. It needs the room of the data folder once more, below it.`,
		Example: "  fairlead backup try --config studio.yaml",
	}
	var name string
	c.Flags().Bool("json", false, "one JSON object")
	c.Flags().StringVar(&name, "copy", "", "which copy (default: the newest)")
	return frame.AsTool(c, func(ctx context.Context, p *frame.Running) error {
		k, err := keeper(p)
		if err != nil {
			return err
		}
		found, err := k.Try(ctx, name)
		if err != nil {
			return err
		}
		return frame.TellLine(c, found, found)
	})
}

func newBackupPruneCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "prune", Short: "Remove the copies that were taken before people's words were sealed",
		Long: `Copies of before ` + "`fairlead seal`" + ` hold in clear what people wrote, for whoever has the
key of the copies. This says which they are and wants it typed that they go; the first
copy after the sealing shares nothing with them, so what they held goes with them. A
bucket or file system that keeps versions keeps them all the same. They age out by
backup.keep otherwise.`,
		Example: "  fairlead backup prune --config studio.yaml",
	}
	var yes bool
	c.Flags().Bool("json", false, "one JSON object")
	c.Flags().BoolVar(&yes, "yes", false, "do not ask")
	return frame.AsTool(c, func(ctx context.Context, p *frame.Running) error {
		k, err := keeper(p)
		if err != nil {
			return err
		}
		agree := copies.AskPrune(c.InOrStdin(), c.ErrOrStderr())
		if yes {
			agree = func(copies.Pruned) error { return nil }
		}
		done, err := k.Prune(ctx, agree)
		if err != nil {
			return err
		}
		return frame.TellLine(c, done, done)
	})
}
