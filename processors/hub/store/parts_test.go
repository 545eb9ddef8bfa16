package store

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// flip turns one bit in the middle of a file of a table's newest part.
func flip(t *testing.T, s *Store, table, file string) {
	t.Helper()
	var dir string
	const newest = `SELECT path FROM system.parts WHERE active AND database = currentDatabase() AND table = ?
		ORDER BY max_block_number DESC LIMIT 1`
	if err := s.conn.QueryRow(t.Context(), newest, table).Scan(&dir); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(dir, file)
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	data[len(data)/2] ^= 4
	if err := os.WriteFile(name, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := s.conn.Exec(t.Context(), "SYSTEM DROP MARK CACHE"); err != nil {
		t.Fatal(err)
	}
}

// One bit that flips in a part is found and the part set aside; what can be
// read of it stays, whichever file it was.
func TestADamagedPartIsSetAside(t *testing.T) {
	for _, c := range []struct {
		file string
		lost int // rows
	}{{"data.bin", 100}, {"data.cmrk4", 100}, {"serialization.json", 0}, {"primary.cidx", 0}, {"count.txt", 0}} {
		t.Run(c.file, func(t *testing.T) {
			s := open(t)
			var rows []EntryRow
			for seq := uint64(1); seq <= 300; seq++ {
				rows = append(rows, entryRow(seq, 5))
			}
			for i := range 3 {
				if err := s.InsertEntries(t.Context(), rows[i*100:i*100+100]); err != nil {
					t.Fatal(err)
				}
			}
			if found, err := s.Damaged(t.Context()); err != nil || len(found) > 0 {
				t.Fatalf("before: %v, %v", found, err)
			}
			before, err := s.Signs(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			flip(t, s, "entries", c.file)
			_, reading := s.All(t.Context(), place)
			if signs, err := s.Signs(t.Context()); err != nil || reading != nil && signs == before {
				t.Errorf("reading says %v and %d signs show, %v", reading, signs-before, err)
			}
			found, err := s.Damaged(t.Context())
			if err != nil || len(found) != 1 || found[0].Table != "entries" {
				t.Fatalf("%v, %v", found, err)
			}
			if err := s.SetAside(t.Context(), &found[0]); err != nil {
				t.Fatal(err)
			}
			if d := found[0]; d.Rows != 100 || d.Saved != uint64(100-c.lost) || strings.Contains(d.Why, "Stack") {
				t.Errorf("%+v", d)
			}
			if n, err := s.Detached(t.Context()); err != nil || n != 1 {
				t.Errorf("%d detached, %v", n, err)
			}
			if lines, err := s.All(t.Context(), place); err != nil || len(lines) != len(rows)-c.lost {
				t.Errorf("%d entries are left, %v", len(lines), err)
			}
			if found, err := s.Damaged(t.Context()); err != nil || len(found) > 0 {
				t.Errorf("after: %v, %v", found, err)
			}
		})
	}
}
