package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os/user"
	"time"

	"github.com/spf13/cobra"

	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
	"fairlead/processors/hub/store"
)

func newAuditCommand() *cobra.Command {
	var (
		asJSON, tags      bool
		repair            bool
		wait              time.Duration
		bay, closing, why string
		below             uint64
	)
	c := &cobra.Command{
		Use:   "audit",
		Short: "Prove that every entry the bays hold is stored once, under the right tag",
		Long: `Compares the journals of the bays, the log and the store: what is missing, what
counts twice, what is untagged or tagged otherwise than the visit events say, with
bay and ranges. A bay that can't be asked is unknown, never clean.

Every row of an entry or a trial is computed anew and compared whole; --repair makes
those right that say something else. What changes while it is looked at is on its way,
and not wrong: an audit may run while shots come.

Exit code 0: all is well. 1: something is missing, lost, counted twice, untagged,
mistagged, stored as other than it is, or claimed by two shots. 2: nothing is known to be wrong, but a bay is unknown.

--close gives up waiting for a journal whose disk is gone for good.`,
		Example: `  fairlead audit --config studio.yaml
  fairlead audit --config studio.yaml --json
  fairlead audit --config studio.yaml --close 00c0ffee00c0ffee --bay north --why "disk died"`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			ctx, p, err := startProcess(c, "audit")
			if err != nil {
				return err
			}
			s, err := openStore(p.config)
			if err != nil {
				return err
			}
			defer s.Close()
			if err := answering(ctx, s); err != nil {
				return err
			}
			if closing != "" {
				return closeJournal(c, p, s, bay, closing, why, below)
			}
			places := p.config.Places()
			if bay != "" {
				if _, err := p.config.Bay(bay); err != nil {
					return &usageError{err}
				}
				places = []stream.Place{p.config.Place(bay)}
			}
			nc, js, err := stream.Connect(toolsLink(p.config, "audit", p.log))
			if err != nil {
				return err
			}
			defer nc.Close()
			if err := waitConnected(ctx, nc, p.config.BrokerURL()); err != nil {
				return err
			}
			r, err := audit.Auditor{Conn: nc, JS: js, Store: s, Wait: wait, Tags: tags || repair, Repair: repair}.Run(ctx, p.config.Studio, places)
			if err != nil {
				return err
			}
			if asJSON {
				if err := json.NewEncoder(c.OutOrStdout()).Encode(r); err != nil {
					return err
				}
			} else {
				printAudit(c.OutOrStdout(), r)
			}
			switch {
			case r.Wrong():
				return &exitError{1, nil}
			case r.Unknown():
				return &exitError{2, nil}
			}
			return nil
		},
	}
	withConfig(c)
	c.Flags().String("log", "warn", "least level to log")
	c.Flags().BoolVar(&asJSON, "json", false, "one JSON object")
	c.Flags().BoolVar(&tags, "tags", true, "compute every tag and verdict anew and compare")
	c.Flags().BoolVar(&repair, "repair", false, "make rows right that say something else than entries and visit events give")
	c.Flags().DurationVar(&wait, "wait", 3*time.Second, "how long a bay may take to answer")
	c.Flags().StringVar(&bay, "bay", "", "this bay only")
	c.Flags().StringVar(&closing, "close", "", "give up waiting for this journal (with --bay and --why)")
	c.Flags().StringVar(&why, "why", "", "reason for --close")
	c.Flags().Uint64Var(&below, "below", 0, "with --close: give up below this seq only (default: all of it)")
	return c
}

func closeJournal(c *cobra.Command, p *running, s *store.Store, bay, journal, why string, below uint64) error {
	if bay == "" || why == "" {
		return &usageError{errors.New("--close needs --bay and --why")}
	}
	if _, err := p.config.Bay(bay); err != nil {
		return &usageError{err}
	}
	place := p.config.Place(bay)
	stored, err := s.Journals(c.Context(), place)
	if err != nil {
		return err
	}
	if _, ok := stored[journal]; !ok && below == 0 {
		return &usageError{fmt.Errorf("nothing of journal %s is stored for bay %s: check the id, or say --below", journal, bay)}
	}
	if below == 0 {
		below = 1<<63 - 1
	}
	who := "unknown"
	if u, err := user.Current(); err == nil {
		who = u.Username
	}
	if err := s.CloseJournal(c.Context(), place, store.Floor{Journal: journal, Below: below, Why: why, Who: who}); err != nil {
		return err
	}
	fmt.Fprintf(c.OutOrStdout(), "journal %s of bay %s is closed: what it did not send is not waited for any more\n", journal, bay)
	return nil
}

func printAudit(w io.Writer, r audit.Report) {
	for _, b := range r.Bays {
		state := "clean"
		switch {
		case b.Wrong() > 0:
			state = "WRONG"
		case b.Unknown != "":
			state = "unknown"
		}
		fmt.Fprintf(w, "%-8s %-8s journalled %d, in the log %d, stored %d; missing %d, lost to damage %d, counted twice %d, untagged %d, mistagged %d, verdicts wrong %d, rows wrong %d (mended %d), numbers claimed twice %d; repeats %d, rejected %d, unsure of time %d, not in the log %d\n",
			b.Bay, state, b.Journaled, b.Published, b.Stored, b.Missing, b.Lost, b.Duplicate, b.Untagged, b.Mistagged, b.Misjudged, b.Rows, b.Mended, b.Claimed, b.Repeats, b.Rejected, b.Unsure, b.NotInLog)
		if b.Unknown != "" {
			fmt.Fprintf(w, "         %s\n", b.Unknown)
		}
		for _, e := range b.Examples {
			fmt.Fprintf(w, "         %s\n", e)
		}
	}
}
