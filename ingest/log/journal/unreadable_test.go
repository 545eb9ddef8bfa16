package journal

import (
	"os"
	"testing"
)

// A file that this program cannot read may hold numbers that were given out: where it
// is of the journal at work or of a later one, that journal must not go on. One of an
// earlier journal takes nothing from it.
func TestUnreadableFileOfALaterJournal(t *testing.T) {
	unknown := func(t *testing.T, o Options, ordinal uint32) {
		t.Helper()
		id := journalID{9, 9, 9}
		newer := append(append([]byte{}, preambleMagic[:7]...), formatMajor+1)
		newer = append(append(newer, id[:]...), "whatever comes after this"...)
		if err := os.WriteFile(segmentPath(o.Dir, ordinal, id, 1), newer, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for name, c := range map[string]struct {
		ahead int
		began string
	}{
		"a later one":     {1, "a file of the one before could not be read"},
		"of the same age": {0, "a file of the one before could not be read"},
		"an earlier one":  {-1, ""},
	} {
		t.Run(name, func(t *testing.T) {
			o := Options{Dir: t.TempDir()}
			var before string
			for range 2 { // the second begins anew, for another machine's sake
				o.Machine += "m"
				j, _ := openJournal(t, o)
				mustAppend(t, j, text("one"))
				before = j.ID()
				o.Dir = j.o.Dir
				j.Close()
			}
			j, _ := openJournal(t, o)
			ordinal := j.active().ordinal
			j.Close()
			unknown(t, o, uint32(int(ordinal)+c.ahead))
			j, report := openJournal(t, o)
			if report.Began != c.began || (j.ID() == before) != (c.began == "") || len(report.Unreadable) != 1 {
				t.Errorf("goes on as %s after %s: %+v", j.ID(), before, report)
			}
		})
	}
}
