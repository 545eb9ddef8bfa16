package export

import (
	"bufio"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"fairlead/ingest/contract/cell"
	"fairlead/processors/hub/store"
)

// Job is an export as it is asked for.
type Job struct {
	Request    Request
	Format     string
	Visit      string // all that is kept of this visit, instead of a table
	Dictionary bool   // describe the columns instead of writing rows
	WithNames  bool
	Names      *Names    // needed WithNames
	Said       io.Writer // how many rows there are, and what was left out; nil: not said
}

// Check refuses what can't be asked; nothing was opened yet. tables are those that
// were named, one for an export of rows.
func (j *Job) Check(tables []string) error {
	format, err := ParseFormat(j.Format)
	if err != nil {
		return err
	}
	if j.Visit != "" {
		if len(tables) > 0 || j.Dictionary {
			return errors.New("--visit writes a visit whole: leave the table and --dictionary out")
		}
		return nil
	}
	if len(tables) != 1 {
		return fmt.Errorf("say what to export: %s, or --visit ID", strings.Join(Tables(), ", "))
	}
	j.Request.Table = tables[0]
	if err := j.Request.Check(); err != nil {
		return err
	}
	if text := format == CSV || format == NDJSON; !text && (j.WithNames || j.Dictionary) {
		return fmt.Errorf("--names and --dictionary go with csv and ndjson, not with %s", format)
	}
	return nil
}

// Words say what a checked job takes out, for a record of who did.
func (j *Job) Words() string {
	what := j.Request.Table
	if j.Visit != "" {
		what = "visit " + j.Visit
	}
	if j.WithNames {
		what += " with names"
	}
	if j.Request.Player != "" {
		what += " of " + j.Request.Player
	}
	return what
}

// Open connects to a store.
func Open(dsn string) (*Exporter, error) {
	downloads, err := store.OpenDownloads(dsn)
	if err != nil {
		return nil, err
	}
	s, err := store.Open(dsn)
	if err != nil {
		downloads.Close()
		return nil, err
	}
	return &Exporter{Store: s, Downloads: downloads}, nil
}

// Close ends the connections.
func (x *Exporter) Close() error {
	x.Downloads.Close()
	return x.Store.Close()
}

// Run writes what a checked job asks for.
func (x *Exporter) Run(ctx context.Context, w io.Writer, j *Job) error {
	switch {
	case j.Visit != "":
		v, err := x.Visit(ctx, j.Request.Studio, j.Visit, j.Names, time.Now())
		if err != nil {
			return err
		}
		return v.WriteJSON(w)
	case j.Dictionary:
		columns, err := x.Dictionary(ctx, j.Request.Table, j.WithNames)
		if err != nil {
			return err
		}
		return writeDictionary(w, columns, Format(j.Format))
	}
	return x.writeRows(ctx, w, j)
}

// WriteFile is Run into a file that appears whole or not at all; - is stdout.
func (x *Exporter) WriteFile(ctx context.Context, j *Job, path string, stdout io.Writer, force bool) error {
	out, err := Create(path, stdout, force)
	if err != nil {
		return err
	}
	defer out.Drop()
	buffered := bufio.NewWriterSize(out, 1<<20)
	if err := x.Run(ctx, buffered, j); err != nil {
		return err
	}
	if err := buffered.Flush(); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return out.Keep()
}

func writeDictionary(w io.Writer, columns []Column, f Format) error {
	if f == NDJSON {
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
		to.Write(cell.Row([]string{c.Table, c.Name, c.Unit, c.Sign, c.Origin, c.Meaning}))
	}
	to.Flush()
	return to.Error()
}

// writeRows writes the rows and holds their number against what the store
// counts: what arrives meanwhile may be in or not.
func (x *Exporter) writeRows(ctx context.Context, w io.Writer, j *Job) error {
	if err := x.Known(ctx, j.Request); err != nil {
		return err
	}
	wanted, left, err := x.Count(ctx, j.Request)
	if err != nil {
		return err
	}
	written, err := x.Write(ctx, w, j.Request, Format(j.Format), j.Names)
	if err != nil {
		return err
	}
	if before := int64(Total(wanted)); written >= 0 && written != before {
		if wanted, left, err = x.Count(ctx, j.Request); err != nil {
			return err
		}
		after := int64(Total(wanted))
		if written < min(before, after) || written > max(before, after) {
			return fmt.Errorf("%d rows were written where the store counts %d to %d: run it again; while bays are hitting, end with --to yesterday",
				written, min(before, after), max(before, after))
		}
	}
	said := j.Said
	if said == nil {
		return nil
	}
	fmt.Fprintf(said, "%s: %d rows%s\n", j.Request.Table, Total(wanted), listed(wanted))
	if n := Total(left); n > 0 {
		fmt.Fprintf(said, "left out: %d rows%s\n", n, listed(left))
	}
	if Total(wanted) == 0 {
		fmt.Fprintln(said, "nothing fits the filters: the file has no rows")
	}
	return nil
}

func listed(counts []Counts) string {
	if len(counts) == 0 {
		return ""
	}
	var parts []string
	for _, k := range counts {
		parts = append(parts, fmt.Sprintf("%s %d", k.What, k.Rows))
	}
	return ": " + strings.Join(parts, ", ")
}
