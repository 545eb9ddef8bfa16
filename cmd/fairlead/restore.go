package main

import (
	"errors"
	"os"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/studio/copies"
)

func newRestoreCommand() *cobra.Command {
	var o copies.Restoring
	c := &cobra.Command{
		Use:   "restore",
		Short: "Bring a hub back from a backup",
		Long: `Restores configuration, keys, names, visits, journals, log and store from the newest
copy, or the one of --copy, into an empty data folder, runs the hub by itself on the
loopback and audits it. Nothing that is there is written over. What came after the
copy is filled in by the bays once the hub runs again.

The key is the file backup.key of the studio's keys. An S3-like store takes its
credentials from --credentials, or from AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY.`,
		Example: `  fairlead restore --from /mnt/backup --key backup.key --config /etc/fairlead/studio.yaml
  fairlead restore --from s3://store.example/copies/harbour-row --key backup.key --config studio.yaml`,
		RunE: func(c *cobra.Command, _ []string) (err error) {
			if o.From == "" || o.Key == "" {
				return frame.Use(errors.New("say by --from where the backup is, and by --key what opens it"))
			}
			if o.To, err = c.Flags().GetString("config"); err != nil {
				return err
			}
			if o.Log, err = frame.Logger(c, "restore"); err != nil {
				return err
			}
			if o.Program, err = os.Executable(); err != nil {
				return err
			}
			done, err := o.Run(c.Context())
			if err != nil {
				return err
			}
			return frame.TellLine(c, done, done)
		},
	}
	frame.WithTool(c)
	c.Flags().StringVar(&o.From, "from", "", "place of the backup: a folder, or s3://HOST/BUCKET/PREFIX")
	c.Flags().StringVar(&o.Key, "key", "", "file with the key that opens it")
	c.Flags().StringVar(&o.Credentials, "credentials", "", "file with access key and secret of an S3-like store")
	c.Flags().StringVar(&o.Copy, "copy", "", "which copy (default: the newest)")
	c.Flags().BoolVar(&o.NoProof, "no-audit", false, "do not run and audit what was restored")
	c.Flags().Bool("json", false, "one JSON object")
	return c
}
