package feed

import (
	"bytes"
	"compress/gzip"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairlead/deploy/proof"
)

// TestPackedFiles: a packed export gives the shots of the plain one under the
// same identities; a damaged one is said, and holds nobody up.
func TestPackedFiles(t *testing.T) {
	dir := t.TempDir()
	in := filepath.Join(dir, "in")
	if err := os.Mkdir(in, 0o755); err != nil {
		t.Fatal(err)
	}
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write([]byte(plainHeader + rows(0, 3))); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	s := folderOf(t, parsed(t, strings.Replace(plainMap, "scope: device", "scope: file", 1)), dir)
	s.cfg.Dir, s.cfg.Pattern = in, "*"
	k := newKeeper()
	stop := running(t, s, k)
	write(t, filepath.Join(in, "bad.csv.gz"), packed.String()[:packed.Len()-6])
	proof.Until(t, "a damaged file is not said",
		func() bool { return s.State().State == StateMute && strings.Contains(s.State().Detail, "bad.csv.gz") })
	write(t, filepath.Join(in, "one.csv.gz"), packed.String())
	k.until(t, 3)
	write(t, filepath.Join(in, "one.csv"), plainHeader+rows(0, 3))
	got := k.until(t, 6)
	stop()
	for i := range 3 {
		if got[i].ID() != got[3+i].ID() || got[i].File != "one.csv" {
			t.Errorf("line %q of %s has two ids", got[i].Raw, got[i].File)
		}
	}
}
