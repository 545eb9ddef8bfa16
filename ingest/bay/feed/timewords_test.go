package feed

import (
	"testing"
	"time"
)

func TestTimesInWords(t *testing.T) {
	want := time.Date(2026, 3, 12, 14, 32, 10, 0, time.UTC)
	for layout, texts := range map[string][]string{
		"2. January 2006 15:04:05": {"12. März 2026 14:32:10", "12. March 2026 14:32:10"},
		"2 January 2006 15:04:05":  {"12 mars 2026 14:32:10", "12 marzo 2026 14:32:10", "12 marca 2026 14:32:10"},
		"Mon, 2 Jan 2006 15:04:05": {"Do., 12 Mär. 2026 14:32:10", "jeu., 12 mars 2026 14:32:10"},
		"2/1/2006 3:04:05 PM":      {"12/3/2026 2:32:10 p. m.", "12/3/2026 2:32:10 p.m.", "12/3/2026 2:32:10 PM"},
		"2006-01-02 15:04:05":      {"2026-03-12 14:32:10"},
	} {
		for _, text := range texts {
			if at, err := ParseTime(layout, text, time.UTC); err != nil || !at.Equal(want) {
				t.Errorf("%s by %s: %v, %v", text, layout, at, err)
			}
		}
	}
	for layout, text := range map[string]string{"2 January 2006": "12 Brumaire 2026", "3:04 PM": "2:32 x. m.", "15:04": "März"} {
		if at, err := ParseTime(layout, text, time.UTC); err == nil {
			t.Errorf("%s by %s: %v", text, layout, at)
		}
	}
}
