package export

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/processors/hub/store/question"
)

// part is a studio's day of a table.
type part struct {
	day, studio string
	rows        uint64
}

// WriteParts writes a table's rows as one file a day and studio below a folder, as
// trials/day=2026-05-04/studio=harbour-row/rows.parquet, which readers of partitioned
// data take as one table. So an export of any size is made in pieces that fit into the
// store's memory, and one that broke off goes on: a file that is there is left as it is
// unless force says otherwise.
func (x *Exporter) WriteParts(ctx context.Context, j *Job, folder string, force bool) error {
	if err := x.Known(ctx, j.Request); err != nil {
		return err
	}
	parts, err := x.parts(ctx, j.Request)
	if err != nil {
		return err
	}
	files, kept, rows := 0, 0, uint64(0)
	for _, p := range parts {
		path := filepath.Join(folder, j.Request.Table, "day="+p.day, "studio="+p.studio, "rows."+j.Format)
		if _, err := os.Stat(path); err == nil && !force {
			kept++
			continue
		} else if err != nil && !errors.Is(err, os.ErrNotExist) {
			return fmt.Errorf("export in parts: %w", err)
		}
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return fmt.Errorf("export in parts: %w", err)
		}
		one := *j
		one.Request.From, one.Request.To, one.Request.Studio, one.Said = p.day, p.day, p.studio, nil
		if err := x.writePart(ctx, &one, path, force); err != nil {
			return fmt.Errorf("%s of %s: %w", p.day, p.studio, err)
		}
		files, rows = files+1, rows+p.rows
	}
	if j.Said != nil {
		fmt.Fprintf(j.Said, "%s: %d files with %d rows, a day and studio each; %d were there already\n", j.Request.Table, files, rows, kept)
	}
	return nil
}

func (x *Exporter) writePart(ctx context.Context, j *Job, path string, force bool) error {
	out, err := Create(path, nil, force)
	if err != nil {
		return err
	}
	defer out.Drop()
	buffered := bufio.NewWriterSize(out, 1<<20)
	if err := x.writeRows(ctx, buffered, j); err != nil {
		return err
	}
	if err := buffered.Flush(); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return out.Keep()
}

// parts are the days and studios that have rows.
func (x *Exporter) parts(ctx context.Context, r Request) ([]part, error) {
	t, err := r.table()
	if err != nil {
		return nil, err
	}
	where, args := r.where(t, false)
	var named []any
	for k, v := range args {
		named = append(named, clickhouse.Named(k, v))
	}
	rows, err := x.Store.Conn().Query(ctx, question.ExportDays(t.time, t.view, where), named...)
	if err != nil {
		return nil, fmt.Errorf("days of %s: %w", t.name, err)
	}
	defer rows.Close()
	var out []part
	for rows.Next() {
		var p part
		if err := rows.Scan(&p.day, &p.studio, &p.rows); err != nil {
			return nil, fmt.Errorf("days of %s: %w", t.name, err)
		}
		out = append(out, p)
	}
	return out, rows.Err()
}
