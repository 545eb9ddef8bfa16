package sheet

import (
	"database/sql"
	"os"
	"path/filepath"
	"testing"
)

// TestACopyThatFailsLeavesNothing: what stands beside a database can't be copied,
// as when its program writes meanwhile; it is an error, and no copy stays.
func TestACopyThatFailsLeavesNothing(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	path := filepath.Join(t.TempDir(), "shots.db")
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE shot (id INTEGER)"); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	beside := path + Companions[0]
	if err := os.RemoveAll(beside); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Join(beside, "full"), 0o700); err != nil {
		t.Fatal(err)
	}
	if c, err := copied(path); err == nil || c != nil {
		t.Errorf("a folder was copied: %v, %v", c, err)
	}
	if left, err := os.ReadDir(os.TempDir()); err != nil || len(left) > 0 {
		t.Errorf("%d left, %v", len(left), err)
	}
}
