package sheet

import (
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// opened opens a database as the device's program would.
func opened(t testing.TB, path string, statements ...string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { db.Close() })
	for _, s := range statements {
		if _, err := db.Exec(s); err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
	return db
}

const shotTable = "CREATE TABLE shot (id INTEGER PRIMARY KEY, at DATETIME, ball REAL, note TEXT)"

// TestADatabase reads what its writer has written, in whatever way it writes,
// while it has it open; a time stays as it was written.
func TestADatabase(t *testing.T) {
	for _, mode := range []string{"delete", "truncate", "persist", "wal"} {
		path := filepath.Join(t.TempDir(), "shots.db")
		opened(t, path, "PRAGMA journal_mode="+mode, "CREATE TABLE setting (name TEXT, value TEXT)", shotTable,
			"INSERT INTO shot VALUES (1, '2026-05-01 09:10:02', 118.4, NULL), (3, '01.05.2026', 97, 'a, b')")
		rows, err := Database(path, Table{}, []string{"ID", "Ball"})
		if err != nil {
			t.Fatalf("%s: %v", mode, err)
		}
		got, want := fmt.Sprintf("%q", rows), `[["id" "at" "ball" "note"] ["1" "2026-05-01 09:10:02" "118.4" ""] ["3" "01.05.2026" "97.0" "a, b"]]`
		if got != want {
			t.Errorf("%s: read %s, want %s", mode, got, want)
		}
		if left, err := filepath.Glob(filepath.Join(os.TempDir(), "fairlead-sheet-*", "copy.db")); err != nil || len(left) > 20 {
			t.Errorf("copies are left behind: %v, %v", left, err)
		}
	}
}

// TestWhatIsAskedOfADatabase: a table, a view, a question; and what is no answer.
func TestWhatIsAskedOfADatabase(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shots.db")
	opened(t, path, shotTable, "INSERT INTO shot VALUES (1, 't', 118.4, 'x')", "CREATE TABLE plain (id TEXT PRIMARY KEY) WITHOUT ROWID",
		"INSERT INTO plain VALUES ('b'), ('a')", "CREATE VIEW fast AS SELECT id, ball FROM shot WHERE ball > 100")
	for _, c := range []struct {
		t    Table
		want string
	}{
		{Table{Name: "PLAIN"}, "[[id] [a] [b]]"},
		{Table{Name: "fast"}, "[[id ball] [1 118.4]]"},
		{Table{Query: "SELECT ball AS b, id AS id FROM shot;"}, "[[b id] [118.4 1]]"},
		{Table{Query: "SELECT x'00ff' AS raw"}, "[[raw] [00FF]]"},
		{Table{Name: "shots"}, `no table "shots" in it: its tables are shot, plain, fast`},
		{Table{Query: "DELETE FROM shot"}, "syntax error"},
		{Table{}, "several tables may be meant"},
	} {
		rows, err := Database(path, c.t, nil)
		got := fmt.Sprint(rows)
		if err != nil {
			got = err.Error()
		}
		if !strings.Contains(got, c.want) {
			t.Errorf("%+v: %s, want %s", c.t, got, c.want)
		}
	}
	bad := filepath.Join(t.TempDir(), "bad.db")
	if err := os.WriteFile(bad, []byte("SQLite format 3\x00 and no more"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Database(bad, Table{}, nil); err == nil {
		t.Error("what is no database is read as one")
	}
}

// TestAWriteThatBrokeOff: a young journal is a write under way; one that was left
// behind is undone in the copy, and what the writer has stays as it is.
func TestAWriteThatBrokeOff(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shots.db")
	db := opened(t, path, "PRAGMA cache_size=1", "PRAGMA cache_spill=1", shotTable,
		"INSERT INTO shot VALUES (1, 't', 118.4, 'x')", "BEGIN IMMEDIATE")
	for i := range 400 { // more than the cache holds, so that pages are written before the end
		if _, err := db.Exec("INSERT INTO shot VALUES (?, 't', 1, ?)", i+2, strings.Repeat("y", 900)); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := Database(path, Table{Name: "shot"}, nil); !errors.Is(err, ErrBusy) {
		t.Fatalf("in the middle of a write: %v", err)
	}
	long := time.Now().Add(-time.Hour)
	if err := os.Chtimes(path+"-journal", long, long); err != nil {
		t.Fatal(err)
	}
	before, err := Look(path)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := Database(path, Table{Name: "shot"}, nil)
	if err != nil || len(rows) != 2 {
		t.Fatalf("after a write that broke off: %d rows, %v", len(rows), err)
	}
	if after, err := Look(path); err != nil || after != before {
		t.Errorf("reading changed the device's file: %v", err)
	}
}

// FuzzDatabase gives any bytes: rows or an error, and an end.
func FuzzDatabase(f *testing.F) {
	path := filepath.Join(f.TempDir(), "shots.db")
	opened(f, path, "PRAGMA page_size=512", shotTable, "INSERT INTO shot VALUES (1, 't', 118.4, 'x')").Close()
	data, err := os.ReadFile(path)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Fuzz(func(t *testing.T, data []byte) {
		if rows, err := (Bytes{Main: data}).Read(Table{}, []string{"ball"}); err == nil {
			Lines(rows, ',')
		}
	})
}
