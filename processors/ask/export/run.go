package export

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/processors/hub/store"
	"fairlead/processors/hub/store/question"
)

// Format is how rows are written.
type Format string

// The formats.
const (
	CSV     Format = "csv"     // RFC 4180 with a header; empty is unknown
	NDJSON  Format = "ndjson"  // one JSON object a line; null is unknown
	Native  Format = "native"  // ClickHouse's own
	Parquet Format = "parquet" // made in one piece: for exports that fit into the store's memory
)

// Formats lists them.
func Formats() []string {
	return []string{string(CSV), string(NDJSON), string(Native), string(Parquet)}
}

// CSV comes without a header, which is put before it here: the embedded engine
// passes on piece by piece what can be cut, and a header would come with each.
var serverFormats = map[Format]string{CSV: "CSV", NDJSON: "JSONEachRow", Native: "Native", Parquet: "Parquet"}

// ParseFormat reads the name of a format.
func ParseFormat(name string) (Format, error) {
	if _, ok := serverFormats[Format(name)]; !ok {
		return "", &RequestError{"format", name, "is not known", "use " + strings.Join(Formats(), ", ")}
	}
	return Format(name), nil
}

// settings make the text forms such that any program reads them.
var settings = map[string]string{
	"date_time_output_format": "iso", "format_csv_null_representation": "", "output_format_json_quote_64bit_integers": "0",
	"output_format_json_named_tuples_as_objects": "1", "output_format_parquet_compression_method": "zstd",
}

// Exporter takes rows out of a store.
type Exporter struct {
	Store     *store.Store
	Downloads *store.Downloads
}

// UnknownError says that the store holds nothing of what was asked for.
type UnknownError struct{ What, ID string }

func (e *UnknownError) Error() string {
	return fmt.Sprintf("no %s %s is stored: check the id (the console's pages and `fairlead visit log` show them), and the studio", e.What,
		e.ID)
}

// Known returns an *UnknownError for a player, session, visit or studio that
// the store never heard of: an empty file would look like an answer.
func (x *Exporter) Known(ctx context.Context, r Request) error {
	for _, c := range []struct{ what, id string }{{"studio", r.Studio}, {"player", r.Player}, {"session", r.Session}, {"visit", r.Visit}} {
		if c.id == "" {
			continue
		}
		var n uint64
		if err := x.Store.Conn().QueryRow(ctx, question.Known(c.what), clickhouse.Named("id", c.id)).Scan(&n); err != nil {
			return fmt.Errorf("look for %s %s: %w", c.what, c.id, err)
		}
		if n == 0 {
			return &UnknownError{c.what, c.id}
		}
	}
	return nil
}

// Count counts the rows that are wanted, by status, category or kind, and those
// that only the choice of statuses or of consent leaves out, or that are never
// exported: trials without a shot that counts, verdicts that were taken back.
func (x *Exporter) Count(ctx context.Context, r Request) (wanted, left []Counts, err error) {
	t, err := r.table()
	if err != nil {
		return nil, nil, err
	}
	where, args := r.where(t, true)
	var named []any
	for k, v := range args {
		named = append(named, clickhouse.Named(k, v))
	}
	choice := r.choice(t)
	rows, err := x.Store.Conn().Query(ctx, question.Wanted(t.statuses, choice, t.view, where), named...)
	if err != nil {
		return nil, nil, fmt.Errorf("count %s: %w", t.name, err)
	}
	defer rows.Close()
	for rows.Next() {
		var what string
		var in, out uint64
		if err := rows.Scan(&what, &in, &out); err != nil {
			return nil, nil, fmt.Errorf("count %s: %w", t.name, err)
		}
		if in > 0 {
			wanted = append(wanted, Counts{what, in})
		}
		if out > 0 {
			left = append(left, Counts{what, out})
		}
	}
	if err := rows.Err(); err != nil {
		return nil, nil, fmt.Errorf("count %s: %w", t.name, err)
	}
	if t.hidden.table != "" {
		var n uint64
		hidden := question.Hidden(t.hidden.table, where+" AND "+t.hidden.where)
		if err := x.Store.Conn().QueryRow(ctx, hidden, named...).Scan(&n); err != nil {
			return nil, nil, fmt.Errorf("count %s: %w", t.hidden.what, err)
		}
		if n > 0 {
			left = append(left, Counts{t.hidden.what, n})
		}
	}
	sortCounts(wanted)
	sortCounts(left)
	return wanted, left, nil
}

// Dictionary describes the columns of a table in the order of an export. It
// asks the store which columns there are, so it can't describe others; a column
// that nobody described is an error.
func (x *Exporter) Dictionary(ctx context.Context, name string, names bool) ([]Column, error) {
	t, err := Request{Table: name}.table()
	if err != nil {
		return nil, err
	}
	view, _, _ := strings.Cut(t.view, " ")
	rows, err := x.Store.Conn().Query(ctx, question.ColumnsOf(), view)
	if err != nil {
		return nil, fmt.Errorf("columns of %s: %w", name, err)
	}
	defer rows.Close()
	var out []Column
	var errs []error
	add := func(column string) {
		c, ok := describe(name, column)
		if !ok {
			errs = append(errs, fmt.Errorf("column %s of %s is described nowhere: update this program", column, name))
		}
		out = append(out, c)
	}
	for rows.Next() {
		var column string
		if err := rows.Scan(&column); err != nil {
			return nil, fmt.Errorf("columns of %s: %w", name, err)
		}
		if column != t.except {
			add(column)
		}
	}
	if names {
		for _, n := range namedColumns {
			if slices.ContainsFunc(out, func(c Column) bool { return c.Name == n.of }) {
				add(n.column)
			}
		}
	}
	return out, errors.Join(append(errs, rows.Err())...)
}

// Write writes the rows in a fixed order and returns how many; -1 where the
// format does not show it. names are added to text formats when not nil, and with
// them what people wrote. Memory does not grow with the rows but in Parquet, which the store
// makes in one piece. What was written before an error is not to be used.
func (x *Exporter) Write(ctx context.Context, w io.Writer, r Request, f Format, names *Names) (int64, error) {
	if err := r.Check(); err != nil {
		return 0, err
	}
	columns, err := x.Dictionary(ctx, r.Table, false)
	if err != nil {
		return 0, err
	}
	t, _ := r.table()
	var list, header []string
	for _, c := range columns {
		column := "`" + c.Name + "`"
		if names == nil {
			column = withoutTexts(t.name, c.Name)
		}
		list, header = append(list, column), append(header, c.Name)
	}
	where, args := r.where(t, false)
	rows := question.Exported(strings.Join(list, ", "), t.view, where, t.order)
	set := maps.Clone(settings)
	out := counterOf(w, f, header, names)
	err = x.Downloads.Ask(ctx, out, rows, serverFormats[f], args, set)
	if e := out.Close(); err == nil {
		err = e
	}
	if err != nil && f == Parquet && strings.Contains(err.Error(), "TOO_MANY_ROWS_OR_BYTES") {
		err = fmt.Errorf("a Parquet file is made in one piece, and this one is larger than the store holds: take fewer days (--from, --to), or "+
			"native, csv or ndjson (%w)", err)
	}
	if err != nil {
		return 0, fmt.Errorf("export %s: %w", r.Table, err)
	}
	return out.rows(), nil
}
