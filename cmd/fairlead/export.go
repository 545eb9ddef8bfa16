package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"fairlead/dashboards/console/people"
	"fairlead/deploy/studio"
	"fairlead/processors/ask/export"
	"fairlead/processors/hub/store"
)

// exporting is what the export was asked for.
type exporting struct {
	request           export.Request
	format, out, dsn  string
	visit             string
	force, names      bool
	dictionary, quiet bool
	config            *studio.Config // nil where an address was given and no names are wanted
}

func newExportCommand() *cobra.Command {
	x := &exporting{}
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
be of any size; parquet is made in one piece and bounded (256 MB): take fewer days.

Exit code 0: written. 1: an unknown player, session, visit or studio, a file that is
there already, or a store that is away. 2: wrong use.`,
		Example: `  fairlead export shots --config studio.yaml --from 2026-05-01 --to 2026-05-31 --out may.csv
  fairlead export trials --config studio.yaml --category iron --consented --format ndjson
  fairlead export shots --dictionary --format csv --out shots-columns.csv
  fairlead export --visit v-0199c2 --config studio.yaml --names --out visit.json`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return x.run(c, args) },
	}
	withConfig(c)
	f := c.Flags()
	f.StringVar(&x.dsn, "clickhouse", os.Getenv("FAIRLEAD_CLICKHOUSE"), "`address` of the store instead of the configuration's (default: $FAIRLEAD_CLICKHOUSE)")
	f.StringVar(&x.format, "format", "csv", strings.Join(export.Formats(), ", "))
	f.StringVar(&x.out, "out", "-", "`file` to write; - is standard output")
	f.BoolVar(&x.force, "force", false, "write over a file that is there")
	f.BoolVar(&x.names, "names", false, "add names from the hub's file of people (csv, ndjson, --visit)")
	f.BoolVar(&x.dictionary, "dictionary", false, "describe the columns instead of writing rows (csv, ndjson)")
	f.StringVar(&x.visit, "visit", "", "all that is kept of this `visit`, as one JSON document")
	f.StringVar(&x.request.Studio, "studio", "", "only this studio")
	f.StringSliceVar(&x.request.Bays, "bay", nil, "only these bays")
	f.StringVar(&x.request.Player, "player", "", "only this player (pseudonym)")
	f.StringVar(&x.request.Session, "session", "", "only this session")
	f.StringVar(&x.request.Category, "category", "", "only this kind of club: driver, wood, hybrid, iron, wedge, putter")
	f.StringVar(&x.request.From, "from", "", "first `day`, UTC, as 2026-01-31")
	f.StringVar(&x.request.To, "to", "", "last `day`")
	f.BoolVar(&x.request.Consented, "consented", false, "only what may teach across players: consent, and no minor")
	f.StringSliceVar(&x.request.Statuses, "status", nil, "only shots of these statuses, as counts,excluded (default: all)")
	f.BoolVar(&x.quiet, "quiet", false, "say nothing on standard error when all is well")
	return c
}

func (x *exporting) run(c *cobra.Command, args []string) error {
	format, err := x.check(args)
	if err != nil {
		return err
	}
	e, err := x.open(c)
	if err != nil {
		return err
	}
	defer e.Store.Close()
	defer e.Downloads.Close()
	ctx := c.Context()
	if err := studio.Answering(ctx, e.Store); err != nil {
		return err
	}
	var names map[string]string
	if x.names {
		if names, err = x.people(); err != nil {
			return err
		}
	}
	out, err := newOutFile(x.out, c.OutOrStdout(), x.force)
	if err != nil {
		return err
	}
	defer out.drop()
	buffered := bufio.NewWriterSize(out, 1<<20)
	switch {
	case x.visit != "":
		err = x.writeVisit(ctx, e, buffered, names)
	case x.dictionary:
		err = x.writeDictionary(ctx, e, buffered, format)
	default:
		err = x.writeRows(c, e, buffered, format, names)
	}
	if err != nil {
		var unknown *export.UnknownError
		if errors.As(err, &unknown) {
			return &exitError{1, err}
		}
		return err
	}
	if err := buffered.Flush(); err != nil {
		return fmt.Errorf("write %s: %w", x.out, err)
	}
	return out.keep()
}

// check refuses what can't be asked; nothing was opened yet.
func (x *exporting) check(args []string) (export.Format, error) {
	format, err := export.ParseFormat(x.format)
	if err != nil {
		return "", &usageError{err}
	}
	if x.visit != "" {
		if len(args) > 0 || x.dictionary {
			return "", &usageError{errors.New("--visit writes a visit whole: leave the table and --dictionary out")}
		}
		return format, nil
	}
	if len(args) != 1 {
		return "", &usageError{fmt.Errorf("say what to export: %s, or --visit ID", strings.Join(export.Tables(), ", "))}
	}
	x.request.Table = args[0]
	if err := x.request.Check(); err != nil {
		return "", &usageError{err}
	}
	if text := format == export.CSV || format == export.NDJSON; !text && (x.names || x.dictionary) {
		return "", &usageError{fmt.Errorf("--names and --dictionary go with csv and ndjson, not with %s", format)}
	}
	return format, nil
}

func (x *exporting) open(c *cobra.Command) (*export.Exporter, error) {
	dsn := x.dsn
	if dsn == "" || x.names {
		var err error
		if x.config, err = loadConfig(c); err != nil {
			return nil, err
		}
		if dsn == "" {
			if dsn, err = x.config.StoreDSN(); err != nil {
				return nil, err
			}
		}
	}
	downloads, err := store.OpenDownloads(dsn)
	if err != nil {
		return nil, &usageError{err}
	}
	s, err := store.Open(dsn)
	if err != nil {
		downloads.Close()
		return nil, &usageError{err}
	}
	return &export.Exporter{Store: s, Downloads: downloads}, nil
}

// people reads the names, which only the hub has.
func (x *exporting) people() (map[string]string, error) {
	file := x.config.PeopleFile()
	if _, err := os.Stat(file); err != nil {
		return nil, &exitError{1, fmt.Errorf("--names: there is no file of people %s: names are added on the hub", file)}
	}
	p, err := people.Open(file)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, person := range p.List("") {
		names[person.ID] = person.Name
	}
	return names, nil
}

func (x *exporting) writeVisit(ctx context.Context, e *export.Exporter, w io.Writer, names map[string]string) error {
	v, err := e.Visit(ctx, x.request.Studio, x.visit, names, time.Now())
	if err != nil {
		return err
	}
	return v.WriteJSON(w)
}

func (x *exporting) writeDictionary(ctx context.Context, e *export.Exporter, w io.Writer, f export.Format) error {
	columns, err := e.Dictionary(ctx, x.request.Table, x.names)
	if err != nil {
		return err
	}
	if f == export.NDJSON {
		to := json.NewEncoder(w)
		to.SetEscapeHTML(false)
		for _, c := range columns {
			if err := to.Encode(c); err != nil {
				return err
			}
		}
		return nil
	}
	to := csv.NewWriter(w)
	to.Write([]string{"table", "column", "unit", "sign", "origin", "meaning"})
	for _, c := range columns {
		to.Write([]string{c.Table, c.Name, c.Unit, c.Sign, c.Origin, c.Meaning})
	}
	to.Flush()
	return to.Error()
}

// writeRows writes the rows and holds their number against what the store
// counts: what arrives meanwhile may be in or not.
func (x *exporting) writeRows(c *cobra.Command, e *export.Exporter, w io.Writer, f export.Format, names map[string]string) error {
	ctx := c.Context()
	if err := e.Known(ctx, x.request); err != nil {
		return err
	}
	wanted, left, err := e.Count(ctx, x.request)
	if err != nil {
		return err
	}
	written, err := e.Write(ctx, w, x.request, f, names)
	if err != nil {
		return err
	}
	if before := int64(export.Total(wanted)); written >= 0 && written != before {
		if wanted, left, err = e.Count(ctx, x.request); err != nil {
			return err
		}
		after := int64(export.Total(wanted))
		if written < min(before, after) || written > max(before, after) {
			return fmt.Errorf("%d rows were written where the store counts %d to %d: run it again; while bays are hitting, end with --to yesterday", written, min(before, after), max(before, after))
		}
	}
	if x.quiet {
		return nil
	}
	said := c.ErrOrStderr()
	fmt.Fprintf(said, "%s: %d rows%s\n", x.request.Table, export.Total(wanted), listed(wanted))
	if n := export.Total(left); n > 0 {
		fmt.Fprintf(said, "left out: %d rows%s\n", n, listed(left))
	}
	if export.Total(wanted) == 0 {
		fmt.Fprintln(said, "nothing fits the filters: the file has no rows")
	}
	return nil
}

func listed(counts []export.Counts) string {
	if len(counts) == 0 {
		return ""
	}
	var parts []string
	for _, k := range counts {
		parts = append(parts, fmt.Sprintf("%s %d", k.What, k.Rows))
	}
	return ": " + strings.Join(parts, ", ")
}
