package guess

import (
	"testing"
	"time"
)

// TestNoTimeIsTooShortToTry: what spares thousands of layouts a look at numbers
// passes over no time that one of them reads, the shortest and the longest.
func TestNoTimeIsTooShortToTry(t *testing.T) {
	for _, at := range []time.Time{time.Date(2026, 5, 2, 9, 5, 7, 0, time.UTC), time.Date(2026, 11, 25, 22, 45, 57, 0, time.UTC)} {
		for _, layouts := range [][]string{dates, clocks, stamps()} {
			for _, l := range layouts {
				text := at.Format(l)
				if _, err := time.Parse(l, text); err == nil && (len(text) < shortest(layouts) || len(text) > longestTime) {
					t.Errorf("%q of layout %q is not tried", text, l)
				}
			}
		}
	}
	for layout, text := range map[string]string{"15:04": "9:05", "2/1/06 15:04": "2/1/06 9:05"} {
		if _, err := time.Parse(layout, text); err != nil {
			t.Fatal(err)
		}
		if out, _, _ := fitting([]string{text, text}, append([]string{layout}, clocks...), false); out == nil {
			t.Errorf("%q is not read", text)
		}
	}
}
