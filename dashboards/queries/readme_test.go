package queries

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"fairlead/deploy/engine/enginetest"
	"fairlead/processors/hub/store"
)

// The README describes every column of every view, and no others.
func TestReadmeDescribesEveryColumn(t *testing.T) {
	text, err := os.ReadFile("README.md")
	check(t, err)
	described := map[string]map[string]bool{}
	for _, section := range strings.Split(string(text), "\n### ")[1:] {
		name, body, _ := strings.Cut(section, "\n")
		described[name] = map[string]bool{}
		for line := range strings.Lines(body) {
			cell, ok := strings.CutPrefix(line, "| `")
			if !ok {
				continue
			}
			cell, _, _ = strings.Cut(cell, " |")
			for _, m := range regexp.MustCompile(`\w+`).FindAllString(cell, -1) {
				described[name][m] = true
			}
		}
	}
	s := store.New(enginetest.New(t).Open(t))
	check(t, s.Migrate(t.Context()))
	rows, err := s.Conn().Query(t.Context(), `SELECT table, name FROM system.columns
		WHERE database = currentDatabase() AND table IN (SELECT name FROM system.tables WHERE database = currentDatabase() AND engine = 'View')`)
	check(t, err)
	defer rows.Close()
	there := map[string]map[string]bool{}
	for rows.Next() {
		var view, column string
		check(t, rows.Scan(&view, &column))
		section := view
		if view == "shots_all" {
			section = "shots"
		}
		if !described[section][column] {
			t.Errorf("README.md: ### %s does not describe %s", section, column)
		}
		if there[section] == nil {
			there[section] = map[string]bool{}
		}
		there[section][column] = true
	}
	for view, columns := range described {
		for column := range columns {
			if !there[view][column] {
				t.Errorf("README.md: ### %s describes %s, which is no column of it", view, column)
			}
		}
	}
}
