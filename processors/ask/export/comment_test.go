package export

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"fairlead/deploy/engine/enginetest"
	"fairlead/processors/hub/store"
)

// What every column of every table and view means stands on it, and is written once;
// views answer as before.
func TestEveryColumnSaysWhatItMeans(t *testing.T) {
	s := store.New(enginetest.New(t).Open(t))
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	n, err := Comments(t.Context(), s)
	if err != nil || n < 700 {
		t.Fatalf("%d columns commented, %v", n, err)
	}
	var bare, views uint64
	if err := s.Conn().QueryRow(t.Context(),
		`SELECT countIf(comment = ''), uniqExactIf(table, table IN (SELECT name FROM system.tables WHERE engine = 'View'))
		FROM system.columns WHERE database = currentDatabase()`).Scan(&bare, &views); err != nil || bare > 0 || views < 7 {
		t.Errorf("%d columns say nothing, %d views, %v", bare, views, err)
	}
	if again, err := Comments(t.Context(), s); err != nil || again != 0 {
		t.Errorf("written again: %d, %v", again, err)
	}
	for _, view := range []string{"shots", "trial_rows", "trial_outcomes", "verdicts_live", "verdicts_followed", "promises_checked",
		"bay_days"} {
		if err := s.Conn().Exec(t.Context(), "SELECT * FROM "+view+" FORMAT Null"); err != nil {
			t.Errorf("%s: %v", view, err)
		}
	}
	// What dbt reads of it, and its tests, in which no row is a fault.
	made, err := Sources(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join("..", "..", "..", "deploy", "analysts", "dbt")
	file := filepath.Join(folder, "models", "sources.yml")
	if os.Getenv("FAIRLEAD_GOLDEN") == "write" {
		if err := os.WriteFile(file, []byte(made), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if kept, err := os.ReadFile(file); err != nil || string(kept) != made {
		t.Errorf("dbt's sources are out of date (%v): FAIRLEAD_GOLDEN=write go test ./processors/ask/export -run EveryColumn", err)
	}
	tests, err := fs.Glob(os.DirFS(folder), "tests/*.sql")
	if err != nil || len(tests) < 4 {
		t.Fatal(tests, err)
	}
	source := regexp.MustCompile(`\{\{ source\('fairlead', '(\w+)'\) \}\}`)
	for _, name := range tests {
		text, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		var faults uint64
		if err := s.Conn().QueryRow(t.Context(), "SELECT count() FROM ("+source.ReplaceAllString(string(text),
			"$1")+")").Scan(&faults); err != nil || faults != 0 {
			t.Errorf("%s: %d faults, %v", name, faults, err)
		}
	}
}
