package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
	"fairlead/processors/hub/store"
)

func newAuditCommand() *cobra.Command {
	var (
		tags, repair bool
		wait         time.Duration
		bay          string
		gone         store.Floor // given up
	)
	c := &cobra.Command{
		Use:   "audit",
		Short: "Prove that every entry the bays hold is stored once, under the right tag",
		Long: `Compares the journals of the bays and of the console, the log and the store: what
is missing, what counts twice, what is untagged or tagged otherwise than the visit
events say, with bay and ranges. A bay that can't be asked is unknown, never clean.

Every row is held against the record of its journal, and every row of an entry, a
trial or a verdict is computed anew and compared whole. --repair makes those right
that say something else, from journal or log, and takes out what neither of them
knows: look at the report without it first. What changes while it is looked at is on
its way, and not wrong: an audit may run while shots come. The hub makes such an
audit each day, and leaves what nobody knows for you.

Exit code 0: all is well. 1: something is missing, lost, counted twice, untagged,
mistagged, stored as other than it is, forged, not in the log, claimed by two shots,
or written by two collectors under one name. 2: nothing is known to be wrong, but a
bay or the console is unknown.

--close gives up waiting for a journal whose disk is gone for good.`,
		Example: `  fairlead audit --config studio.yaml
  fairlead audit --config studio.yaml --json
  fairlead audit --config studio.yaml --close 00c0ffee00c0ffee --bay north --why "disk died"`,
	}
	c.Flags().Bool("json", false, "one JSON object")
	c.Flags().BoolVar(&tags, "tags", true, "compute every tag and verdict anew and compare")
	c.Flags().BoolVar(&repair, "repair", false, "make rows right that say something else than journals and visit events give")
	c.Flags().DurationVar(&wait, "wait", 3*time.Second, "how long a bay may take to answer")
	c.Flags().StringVar(&bay, "bay", "", "this bay only")
	c.Flags().StringVar(&gone.Journal, "close", "", "give up waiting for this journal (with --bay and --why)")
	c.Flags().StringVar(&gone.Why, "why", "", "reason for --close")
	c.Flags().Uint64Var(&gone.Below, "below", 0, "with --close: give up below this seq only (default: all of it)")
	return frame.AsTool(c, func(ctx context.Context, p *frame.Running) error {
		s, err := p.Config.OpenAnswering(ctx)
		if err != nil {
			return err
		}
		defer s.Close()
		places, err := p.Config.PlacesNamed(bay)
		if err != nil {
			return frame.Use(err)
		}
		if gone.Journal != "" {
			return closeJournal(c, s, places, gone)
		}
		nc, js, err := p.Config.ConnectTool(ctx, "audit", p.Log)
		if err != nil {
			return err
		}
		defer nc.Close()
		r, err := audit.Auditor{Conn: nc, JS: js, Store: s, Wait: wait, Tags: tags || repair, Repair: repair}.Run(ctx, p.Config.Studio, places)
		if err != nil {
			return err
		}
		switch err := frame.TellLine(c, r, r); {
		case err != nil:
			return err
		case r.Wrong():
			return frame.Exit(1, nil)
		case r.Unknown():
			return frame.Exit(2, nil)
		}
		return nil
	})
}

// closeJournal gives up waiting for a journal.
func closeJournal(c *cobra.Command, s *store.Store, places []stream.Place, f store.Floor) error {
	if !c.Flags().Changed("bay") || f.Why == "" {
		return frame.Use(errors.New("--close needs --bay and --why"))
	}
	f.Who = frame.UserName()
	if err := audit.Close(c.Context(), s, places[0], f); err != nil {
		return err
	}
	fmt.Fprintf(c.OutOrStdout(), "journal %s of bay %s is closed: what it did not send is not waited for any more\n", f.Journal, places[0].Bay)
	return nil
}
