package main

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/console/people"
	"fairlead/deploy/studio/sealing"
	"fairlead/ingest/log/vault"
)

func newSealCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "seal",
		Short: "Seal what an earlier version kept of people's words in clear",
		Long: `Versions of before kept what people said, wrote and called their builds in clear. This
writes the console's journal, the log, the copies of bays on this machine and all rows
of the store anew with it sealed under a key for each session, as new events are. Ids,
numbers and times stay: nothing is doubled or sent again, and ` + "`fairlead audit`" + ` finds
nothing changed. From then on erasing a player makes their old words unreadable, too.

The studio has to be stopped; shots wait in the bays' journals. It may be cut off at any
time and run again; until it is finished the studio does not start. ` + "`fairlead doctor`" + `
says whether there is anything to seal. Backups of before hold what they held:
` + "`fairlead backup prune`" + ` says which.

Exit code 0: no word of theirs stands below the data folder. 1: it says where one does.`,
		Example: "  fairlead seal --config studio.yaml",
	}
	c.Flags().Bool("json", false, "one JSON object")
	return frame.AsTool(c, func(ctx context.Context, p *frame.Running) error {
		r, err := sealing.Sealing{Config: p.Config, Now: time.Now, Log: p.Log, Names: func(keys *vault.Ring) error {
			names, err := people.OpenWith(p.Config.PeopleFile(), keys)
			if err != nil {
				return err
			}
			return names.Seal()
		}}.Run(ctx)
		if err != nil {
			return err
		}
		if k, err := keeper(p); err == nil && p.Config.Backup.To != "" && !r.Already {
			if old, err := k.BeforeSealing(ctx); err == nil {
				r.Backups = len(old)
			}
		}
		return frame.ExitIf(len(r.Left) > 0, frame.TellLine(c, r, r))
	})
}
