package export

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"fairlead/processors/hub/store"
	"fairlead/processors/hub/store/question"
)

// Comment is what a column's comment says: meaning, unit, sign, who says so.
func (c Column) Comment() string {
	text := c.Meaning
	if c.Unit != "" {
		text += "; in " + c.Unit
	}
	if c.Sign != "" {
		text += ", " + c.Sign
	}
	if c.Origin != "" {
		text += "; from: " + c.Origin
	}
	return text
}

// Describe is the entry of a column of any table or view of the store; ok is false
// where nobody described it.
func Describe(table, name string) (Column, bool) {
	if c, ok := describe(table, name); ok && !narrow[table+"."+name] {
		return c, true
	}
	if w, ok := inner[name]; ok {
		return Column{table, name, w.unit, w.sign, w.origin, w.meaning}, true
	}
	return Column{}, false
}

// narrow are the columns whose name means something else than in what is exported.
var narrow = map[string]bool{}

// Comments puts the dictionary's words onto every column of the store's tables and
// views, where they do not stand there yet, and says how many it wrote. A column that
// nobody described is an error that names it; the others are written all the same.
func Comments(ctx context.Context, s *store.Store) (written int, err error) {
	rows, err := s.Conn().Query(ctx, question.EveryColumn())
	if err != nil {
		return 0, fmt.Errorf("columns of the store: %w", err)
	}
	defer rows.Close()
	type view struct {
		columns []string
		stale   bool
	}
	var failed []error
	tables, views, order := map[string][]string{}, map[string]*view{}, []string{}
	for rows.Next() {
		var table, name, kind, comment, engine string
		if err := rows.Scan(&table, &name, &kind, &comment, &engine); err != nil {
			return 0, fmt.Errorf("columns of the store: %w", err)
		}
		c, ok := Describe(table, name)
		if !ok {
			failed = append(failed, fmt.Errorf("column %s of %s is described nowhere: update this program", name, table))
			continue
		}
		if tables[table] == nil && views[table] == nil {
			order = append(order, table)
		}
		if engine == "View" {
			if views[table] == nil {
				views[table] = &view{}
			}
			v := views[table]
			v.columns = append(v.columns, fmt.Sprintf("`%s` %s COMMENT %s", name, kind, store.Quote(c.Comment())))
			if v.stale = v.stale || comment != c.Comment(); comment != c.Comment() {
				written++
			}
			continue
		}
		if tables[table] == nil {
			tables[table] = []string{}
		}
		if comment != c.Comment() {
			tables[table] = append(tables[table], fmt.Sprintf("COMMENT COLUMN `%s` %s", name, store.Quote(c.Comment())))
			written++
		}
	}
	if err := errors.Join(append(failed, rows.Err())...); err != nil {
		return 0, err
	}
	for _, table := range order {
		if v := views[table]; v != nil && v.stale {
			var as string
			if err := s.Conn().QueryRow(ctx, question.ViewAs(), table).Scan(&as); err != nil {
				return written, fmt.Errorf("view %s: %w", table, err)
			}
			if err := s.Conn().Exec(ctx, question.CommentView(table, strings.Join(v.columns, ", "), as)); err != nil {
				return written, fmt.Errorf("comments of %s: %w", table, err)
			}
		}
		if len(tables[table]) > 0 {
			if err := s.Conn().Exec(ctx, question.CommentTable(table, strings.Join(tables[table], ", "))); err != nil {
				return written, fmt.Errorf("comments of %s: %w", table, err)
			}
		}
	}
	return written, nil
}
