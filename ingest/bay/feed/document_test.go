package feed

import (
	"bytes"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"fairlead/deploy/proof"
)

// databaseMap reads the table of a device's program.
const databaseMap = `map: 1
device: birch
role: ball
format: sqlite
time: {column: at, layout: unix}
shot_id: {column: id}
fields: {ball_speed: {column: ball, unit: m/s}}
`

func documentOf(t *testing.T, text, path string) *Document {
	t.Helper()
	s, err := NewDocument(DocumentConfig{Map: parsed(t, text), Path: path, Settle: 20 * time.Millisecond, Poll: 5 * time.Millisecond,
		Memory: filepath.Join(t.TempDir(), "memory")})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// says runs statements as the device's program would.
func says(t testing.TB, db *sql.DB, statements ...string) {
	t.Helper()
	for _, s := range statements {
		if _, err := db.Exec(s); err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
}

func device(t testing.TB, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { db.Close() })
	return db
}

// TestADatabaseIsFollowed: each new row is an entry once, while its writer has
// the file open and locked, a row that was written anew is a later version of
// its shot, and after a restart nothing comes twice.
func TestADatabaseIsFollowed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shots.db")
	s, k := documentOf(t, databaseMap, path), newKeeper()
	stop := running(t, s, k)
	proof.Until(t, "a file that is not there is not said", func() bool { return strings.Contains(s.State().Detail, "no file") })
	db := device(t, path)
	says(t, db, "PRAGMA journal_mode=wal", "CREATE TABLE shot (id INTEGER PRIMARY KEY, at INTEGER, ball REAL)",
		"INSERT INTO shot VALUES (1, 1777626602, 52.5)")
	k.until(t, 1)
	says(t, db, "PRAGMA locking_mode=exclusive", "INSERT INTO shot VALUES (2, 1777626662, 53.5)")
	k.until(t, 2)
	says(t, db, "UPDATE shot SET ball = 54.5 WHERE id = 1")
	got := k.until(t, 3)
	if got[2].ID() != got[0].ID() || got[1].ID() == got[0].ID() || !strings.Contains(string(got[2].Raw), "54.5") {
		t.Errorf("rows %q with ids %v %v %v", raws(got), got[0].ID(), got[1].ID(), got[2].ID())
	}
	stop()
	says(t, db, "INSERT INTO shot VALUES (3, 1777626722, 55.5)")
	stop = running(t, s, k)
	got = k.until(t, 4)
	stop()
	if want := "[1,1777626602,52.5 2,1777626662,53.5 1,1777626602,54.5 3,1777626722,55.5]"; fmt.Sprint(raws(got)) != want {
		t.Errorf("entries %v, want %s", raws(got), want)
	}
	if !got[3].Valid() || got[3].File != "shots.db" || got[3].Line != 4 {
		t.Errorf("entry %v", got[3])
	}
}

// bookBytes is a workbook with a title, a header and rows.
func bookBytes(t testing.TB, rows ...[]any) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for i, row := range append([][]any{{"Harbour Row"}, {"No", "Ball", "Carry"}}, rows...) {
		if err := f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &row); err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

const bookMap = `map: 1
device: birch
role: ball
format: xlsx
csv: {skip: 1}
shot_id: {column: No, scope: device}
fields: {ball_speed: {column: Ball, unit: mph}, carry: {column: Carry, unit: yd, optional: true}}
`

// TestAWorkbookIsFollowed: one that is saved again, half written for a while, and
// with a row corrected, gives what is new in it; what is none is said, and left.
func TestAWorkbookIsFollowed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "session.xlsx")
	s, k := documentOf(t, bookMap, path), newKeeper()
	save := func(data []byte) {
		t.Helper()
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	save(bookBytes(t, []any{1, 118.4, 171}, []any{2, 117.2}))
	stop := running(t, s, k)
	k.until(t, 2)
	next := bookBytes(t, []any{1, 119.4, 171}, []any{2, 117.2}, []any{3, 116.1, 165})
	save(next[:len(next)/2])
	old := time.Now().Add(-time.Minute)
	if err := os.Chtimes(path, old, old); err != nil {
		t.Fatal(err)
	}
	proof.Until(t, "half a workbook is not said", func() bool { return strings.Contains(s.State().Detail, "no whole workbook") })
	save(next)
	got := k.until(t, 4)
	proof.Until(t, "the state stays as it was", func() bool { return s.State().State == StateOK })
	stop()
	if want := "[1,118.4,171 2,117.2, 1,119.4,171 3,116.1,165]"; fmt.Sprint(raws(got)) != want {
		t.Errorf("entries %v, want %s", raws(got), want)
	}
	if got[2].ID() != got[0].ID() || got[3].Line != 5 {
		t.Errorf("entries %v and %v, line %d", got[0].ID(), got[2].ID(), got[3].Line)
	}
}

// TestDatabasesInAFolder: of each the rows, also those that only its log has.
func TestDatabasesInAFolder(t *testing.T) {
	dir := t.TempDir()
	in := filepath.Join(dir, "in")
	if err := os.Mkdir(in, 0o755); err != nil {
		t.Fatal(err)
	}
	s := folderOf(t, parsed(t, databaseMap), dir)
	s.cfg.Dir, s.cfg.Pattern = in, "*"
	k := newKeeper()
	stop := running(t, s, k)
	db := device(t, filepath.Join(in, "a.db"))
	says(t, db, "PRAGMA journal_mode=wal", "CREATE TABLE shot (id INTEGER PRIMARY KEY, at INTEGER, ball REAL)",
		"INSERT INTO shot VALUES (1, 1777626602, 52.5)")
	k.until(t, 1)
	says(t, db, "INSERT INTO shot VALUES (2, 1777626662, 53.5)")
	proof.Until(t, "a row in the log alone is not read", func() bool {
		k.mu.Lock()
		defer k.mu.Unlock()
		return strings.Contains(fmt.Sprint(raws(k.entries)), "53.5")
	})
	stop()
}

// TestWrongDocuments: what a map or a path cannot say is refused with its place.
func TestWrongDocuments(t *testing.T) {
	for text, want := range map[string]string{
		strings.Replace(bookMap, "{skip: 1}", `{delimiter: ";"}`, 1):                        "csv.delimiter",
		strings.Replace(bookMap, "format: xlsx", "format: xlsx\nencoding: utf-8", 1):        "encoding",
		strings.Replace(bookMap, "format: xlsx", "format: xlsx\ndatabase: {table: x}", 1):   "database",
		strings.Replace(databaseMap, "sqlite", "sqlite\ndatabase: {table: x, query: y}", 1): "keep one of the two",
		strings.Replace(databaseMap, "sqlite", "sqlite\ndatabase: {tabel: x}", 1):           "table",
	} {
		if _, err := ParseMap("m.yaml", []byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
	if _, err := NewDocument(DocumentConfig{Map: parsed(t, bookMap), Path: "x/*.xlsx"}); err == nil {
		t.Error("a pattern is taken")
	}
	if _, err := NewTail(TailConfig{Map: parsed(t, bookMap), Path: "x.xlsx"}); err == nil {
		t.Error("a tail of lines takes a workbook")
	}
}
