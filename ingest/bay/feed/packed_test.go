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

// TestAPackedFileIsFollowed: of a file of gzip that grows by members each line is
// an entry once, and a member that is half written waits for its end.
func TestAPackedFileIsFollowed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shots.csv.gz")
	member := func(text string) []byte {
		var b bytes.Buffer
		z := gzip.NewWriter(&b)
		if _, err := z.Write([]byte(text)); err != nil {
			t.Fatal(err)
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	put := func(data []byte) {
		t.Helper()
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s := documentOf(t, `map: 1
device: birch
role: ball
format: csv
shot_id: {column: No}
fields: {ball_speed: {column: Ball, unit: m/s}}
`, path)
	k := newKeeper()
	stop := running(t, s, k)
	first, second := member("No,Ball\n1,52.5\n"), member("2,53.5\n")
	put(first)
	k.until(t, 1)
	put(append(append([]byte(nil), first...), second[:len(second)-6]...))
	proof.Until(t, "half a member is not said", func() bool { return strings.Contains(s.State().Detail, "gzip") })
	put(append(append([]byte(nil), first...), second...))
	got := k.until(t, 2)
	if string(got[1].Raw) != "2,53.5" || got[1].File != "shots.csv" || !got[1].Valid() {
		t.Errorf("the second is %v", got[1])
	}
	stop()
}
