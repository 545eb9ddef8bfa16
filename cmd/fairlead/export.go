package main

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/console/people"
	"fairlead/dashboards/gate"
	"fairlead/deploy/studio"
	"fairlead/ingest/log/vault"
	"fairlead/processors/ask/export"
)

func newExportCommand() *cobra.Command {
	j := &export.Job{}
	var dsn, out string
	var force, quiet, parts bool
	c := &cobra.Command{
		Use:   "export shots|trials|visits|verdicts",
		Short: "Take shots, trials, visit events or verdicts out of the store as a file",
		Long: `Writes the current rows, each once, in a fixed order: shots (every entry; status says
whether it counts), trials (one row a part, with its build and spreads), visits (what
the fitter entered, feel included) and verdicts. Names of columns carry their units;
--dictionary prints what each means, its unit, sign and origin.

Rows are pseudonymous. --names adds the names of players and fitters, on the hub, from
its file of people. What is left out (other statuses, no consent, trials without
a shot that counts, verdicts taken back) is said on standard error. A file appears
whole or not at all, and none is written over without --force. --visit ID writes all
that is kept of a player's day as one JSON document, to be handed to the player. csv, ndjson and native are passed on piece by piece and may
be of any size; a parquet file is made in one piece and bounded (256 MB). --parts writes
one file a day and studio below the folder --out, of any size in all, and goes on where
it broke off.

Exit code 0: written. 1: an unknown player, session, visit or studio, a file that is
there already, or a store that is away. 2: wrong use.`,
		Example: `  fairlead export shots --config studio.yaml --from 2026-05-01 --to 2026-05-31 --out may.csv
  fairlead export trials --config studio.yaml --category iron --consented --format ndjson
  fairlead export shots --config studio.yaml --format parquet --parts --out lake
  fairlead export shots --dictionary --format csv --out shots-columns.csv
  fairlead export --visit v-0199c2 --config studio.yaml --names --out visit.json`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if err := j.Check(args); err != nil {
				return frame.Use(err)
			}
			if parts && (out == "-" || j.Dictionary || j.Visit != "") {
				return frame.Use(errors.New("--parts writes rows into the folder that --out names"))
			}
			if !quiet {
				j.Said = c.ErrOrStderr()
			}
			return runExport(c, j, dsn, out, force, parts)
		},
	}
	frame.WithStoreAt(c, &dsn)
	f := c.Flags()
	f.StringVar(&j.Format, "format", "csv", strings.Join(export.Formats(), ", "))
	f.StringVar(&out, "out", "-", "`file` to write; - is standard output")
	f.BoolVar(&parts, "parts", false, "one file a day and studio, below the folder --out")
	f.BoolVar(&force, "force", false, "write over a file that is there")
	f.BoolVar(&j.WithNames, "names", false, "add names from the hub's file of people (csv, ndjson, --visit)")
	f.BoolVar(&j.Dictionary, "dictionary", false, "describe the columns instead of writing rows (csv, ndjson)")
	f.StringVar(&j.Visit, "visit", "", "all that is kept of this `visit`, as one JSON document")
	f.StringVar(&j.Request.Studio, "studio", "", "only this studio")
	f.StringSliceVar(&j.Request.Bays, "bay", nil, "only these bays")
	f.StringVar(&j.Request.Player, "player", "", "only this player (pseudonym)")
	f.StringVar(&j.Request.Session, "session", "", "only this session")
	f.StringVar(&j.Request.Category, "category", "", "only this kind of club: driver, wood, hybrid, iron, wedge, putter")
	f.StringVar(&j.Request.From, "from", "", "first `day`, UTC, as 2026-01-31")
	f.StringVar(&j.Request.To, "to", "", "last `day`")
	f.BoolVar(&j.Request.Consented, "consented", false, "only what may teach across players: consent, and no minor")
	f.StringSliceVar(&j.Request.Statuses, "status", nil, "only shots of these statuses, as counts,excluded (default: all)")
	f.BoolVar(&quiet, "quiet", false, "say nothing on standard error when all is well")
	return c
}

func runExport(c *cobra.Command, j *export.Job, dsn, path string, force, parts bool) error {
	e, err := openExport(c, j, dsn)
	if err != nil {
		return err
	}
	defer e.Close()
	if err := studio.Answering(c.Context(), e.Store); err != nil {
		return err
	}
	if err := noteExport(c, j); err != nil {
		return err
	}
	if parts {
		return e.WriteParts(c.Context(), j, path, force)
	}
	return e.WriteFile(c.Context(), j, path, c.OutOrStdout(), force)
}

// noteExport has the studio's trail say what is taken out, before it is. Where no
// studio's folder is, as at an analyst's, the store's own record says it.
func noteExport(c *cobra.Command, j *export.Job) error {
	config, err := frame.LoadConfig(c)
	if err != nil || j.Dictionary {
		return nil
	}
	if _, err := os.Stat(config.GateDir()); err != nil {
		return nil
	}
	d, err := gate.OpenDesk(config.GateDir(), time.Now)
	if err != nil {
		return err
	}
	return d.Exported(j.Words())
}

// openExport connects to the store, and reads the names, which only the hub has.
func openExport(c *cobra.Command, j *export.Job, dsn string) (*export.Exporter, error) {
	if dsn == "" || j.WithNames {
		config, err := frame.LoadConfig(c)
		if err == nil && dsn == "" {
			dsn, err = config.StoreDSN()
		}
		if err != nil {
			return nil, err
		}
		if j.WithNames {
			j.Names = &export.Names{}
			if j.Names.By, err = people.Names(config.PeopleFile()); err == nil {
				j.Names.Keys, err = vault.Open(vault.Beside(config.PeopleFile()))
			}
			if err != nil {
				return nil, fmt.Errorf("--names: %w: names are added on the hub", err)
			}
		}
	}
	e, err := export.Open(dsn)
	if err != nil {
		return nil, frame.Use(err)
	}
	return e, nil
}
