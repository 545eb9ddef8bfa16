package sheet

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"time"

	_ "modernc.org/sqlite" // the driver "sqlite", without cgo
)

// Table says what of a database is read.
type Table struct {
	Name  string // of a table or view; empty: the one that has the columns
	Query string // one SELECT in its place
}

// mostQueried bounds how long a database is asked.
const mostQueried = time.Minute

// Database reads a table of an SQLite file, as the device's program has it: a row
// with the names of its columns, then its rows in the order in which they were
// made. Nothing is a cell without text, a number has a decimal point. want are
// columns, by which the table is found where none is named. The file is asked
// through a copy, so that the program that writes it never finds it locked.
func Database(path string, t Table, want []string) ([][]string, error) {
	c, err := copied(path)
	if err != nil {
		return nil, err
	}
	defer c.remove()
	rows, err := c.read(t, want)
	if err == nil {
		return rows, nil
	}
	return nil, fmt.Errorf("ask the database: %w", err)
}

// read asks the copy.
func (c *copyOf) read(t Table, want []string) ([][]string, error) {
	ctx, cancel := context.WithTimeout(context.Background(), mostQueried)
	defer cancel()
	address := url.URL{Scheme: "file", Opaque: url.PathEscape(filepath.ToSlash(c.path)),
		RawQuery: "_pragma=trusted_schema(0)&_pragma=temp_store(2)"}
	db, err := sql.Open("sqlite", address.String())
	if err != nil {
		return nil, err
	}
	defer db.Close()
	db.SetMaxOpenConns(1) // what is set holds for it alone
	if _, err := db.ExecContext(ctx, "SELECT count(*) FROM sqlite_schema"); err != nil {
		return nil, err // a journal that was left behind is rolled back in the copy here
	}
	if _, err := db.ExecContext(ctx, "PRAGMA query_only = 1"); err != nil {
		return nil, err
	}
	if t.Query != "" {
		return rowsOf(ctx, db, "("+strings.TrimRight(strings.TrimSpace(t.Query), ";")+")", "")
	}
	name, err := table(ctx, db, t.Name, want)
	if err != nil {
		return nil, err
	}
	rows, err := rowsOf(ctx, db, quoteName(name), "ORDER BY rowid")
	if err != nil && strings.Contains(err.Error(), "rowid") { // a view, or a table without
		return rowsOf(ctx, db, quoteName(name), "")
	}
	return rows, err
}

// table finds the table that is meant.
func table(ctx context.Context, db *sql.DB, name string, want []string) (string, error) {
	all, err := texts(ctx, db, "SELECT name FROM sqlite_schema WHERE type IN ('table', 'view') AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"+
		" ORDER BY rowid")
	if err != nil {
		return "", err
	}
	if len(all) == 0 {
		return "", errors.New("there is no table in it")
	}
	best, most, several := "", -1, false
	for _, candidate := range all {
		if name != "" {
			if fold(candidate) == fold(name) {
				return candidate, nil
			}
			continue
		}
		columns, err := columnsOf(ctx, db, quoteName(candidate))
		if err != nil {
			continue // a view of what is not there
		}
		has := 0
		for _, w := range want {
			if slices.ContainsFunc(columns, func(c string) bool { return fold(c) == fold(w) }) {
				has++
			}
		}
		if has > most {
			best, most, several = candidate, has, false
		} else if has == most {
			several = true
		}
	}
	switch {
	case name != "":
		return "", fmt.Errorf("there is no table %q in it: its tables are %s", name, strings.Join(all, ", "))
	case several:
		return "", fmt.Errorf("several tables may be meant: name one of %s as database.table in the map", strings.Join(all, ", "))
	}
	return best, nil
}

func (c *copyOf) tables() ([]string, error) {
	ctx, cancel := context.WithTimeout(context.Background(), mostQueried)
	defer cancel()
	db, err := sql.Open("sqlite", c.path)
	if err != nil {
		return nil, err
	}
	defer db.Close()
	return texts(ctx, db, "SELECT name FROM sqlite_schema WHERE type IN ('table', 'view') AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"+
		" ORDER BY type, rowid")
}

func columnsOf(ctx context.Context, db *sql.DB, from string) ([]string, error) {
	rows, err := db.QueryContext(ctx, "SELECT * FROM "+from+" LIMIT 0")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	return rows.Columns()
}

func texts(ctx context.Context, db *sql.DB, query string) (out []string, err error) {
	rows, err := db.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, rows.Err()
}

// rowsOf reads all rows as text. The engine writes them so (a number as it
// would show it), and a column that is declared as a time keeps what was
// written into it.
func rowsOf(ctx context.Context, db *sql.DB, from, order string) ([][]string, error) {
	head, err := columnsOf(ctx, db, from)
	if err != nil {
		return nil, err
	}
	names, values := make([]string, len(head)), make([]string, len(head))
	for i := range head {
		names[i] = fmt.Sprintf("c%d", i)
		values[i] = fmt.Sprintf("CASE typeof(c%d) WHEN 'blob' THEN hex(c%d) ELSE c%d||'' END", i, i, i)
	}
	query := "WITH t(" + strings.Join(names, ",") + ") AS (SELECT * FROM " + from + " " + order + ") SELECT " +
		strings.Join(values, ",") + " FROM t"
	rows, err := db.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	out := [][]string{head}
	cells, to := make([]sql.NullString, len(head)), make([]any, len(head))
	for i := range cells {
		to[i] = &cells[i]
	}
	size := 0
	for rows.Next() {
		if err := rows.Scan(to...); err != nil {
			return nil, err
		}
		row := make([]string, len(cells))
		for i, c := range cells {
			row[i] = c.String
			size += len(c.String) + 1
		}
		if size > mostSheetBytes {
			return nil, fmt.Errorf("the table holds more than %d MB: ask for less with database.query in the map", mostSheetBytes>>20)
		}
		out = append(out, row)
	}
	return out, rows.Err()
}

func quoteName(name string) string { return `"` + strings.ReplaceAll(name, `"`, `""`) + `"` }
