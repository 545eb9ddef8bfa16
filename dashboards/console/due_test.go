package console

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"fairlead/processors/visit"
)

// testTheLists tries the list, its table and its calendar on a studio in which
// one player's bag was measured.
func testTheLists(t *testing.T, r *rig) {
	t.Helper()
	code, page := r.visitPage("/players/calendar/make", url.Values{"names": {"yes"}})
	address := regexp.MustCompile(`/calendar/[A-Z0-9]+\.ics`).FindString(page)
	if code != http.StatusOK || address == "" {
		t.Fatalf("no calendar is made: %d", code)
	}
	_, list := r.visitPage("/players/due", nil)
	if strings.Contains(list, address) {
		t.Error("the address is shown again")
	}
	code, text := r.visitPage(address, nil)
	if code != http.StatusOK || !strings.HasPrefix(text, "BEGIN:VCALENDAR\r\nVERSION:2.0\r\n") || !strings.Contains(text, "Ada Quill") ||
		!strings.Contains(text, "SUMMARY:Ada Quill: a year") || !strings.Contains(text, "lofts to gauge") {
		t.Errorf("calendar: %d %s", code, text)
	}
	_, page = r.visitPage("/players/calendar/make", url.Values{})
	if _, text := r.visitPage(regexp.MustCompile(`/calendar/[A-Z0-9]+\.ics`).FindString(page), nil); strings.Contains(text, "Ada") ||
		!strings.Contains(text, "SUMMARY:p-017: a year") {
		t.Errorf("a calendar without names: %s", text)
	}
	id := regexp.MustCompile(`/players/calendar/([a-z0-9]+)/revoke`).FindStringSubmatch(page)[1]
	if code, _ := r.visitPage("/players/calendar/"+id+"/revoke", url.Values{}); code != http.StatusOK {
		t.Errorf("taken back: %d", code)
	}
	if code, _ := r.visitPage(address, nil); code != http.StatusNotFound {
		t.Errorf("an address that was taken back: %d", code)
	}
	for _, wrong := range []string{"/calendar/x.ics", "/calendar/.ics", "/calendar/x"} {
		if code, _ := r.visitPage(wrong, nil); code != http.StatusNotFound {
			t.Errorf("%s: %d", wrong, code)
		}
	}
	if code, text := r.visitPage("/players/due.csv", nil); code != http.StatusOK ||
		!strings.HasPrefix(text, "due,what,player,name,clubs,order\n") {
		t.Errorf("table: %d %s", code, text)
	}
}

func TestACalendarIsWrittenAsCalendarsRead(t *testing.T) {
	at := time.Date(2026, 5, 1, 10, 0, 0, 0, time.UTC)
	s := &server{studio: "harbour-row", now: func() time.Time { return at }}
	due := visit.Due{What: visit.DueYear, At: at.UnixNano(), Of: strings.Repeat("7i é, ", 30)}
	text := s.calendarText([]duePlayer{{due, "p-1", "A; B\nC"}}, true)
	for line := range strings.SplitSeq(strings.TrimSuffix(text, "\r\n"), "\r\n") {
		if len(line) > 75 || strings.ContainsAny(line, "\r\n") {
			t.Errorf("%d bytes: %q", len(line), line)
		}
	}
	whole := strings.ReplaceAll(text, "\r\n ", "")
	if !strings.Contains(whole, `SUMMARY:A\; B\nC: a year 7i é\, 7i`) || !strings.Contains(whole, "DTSTART;VALUE=DATE:2026050") {
		t.Errorf("%s", whole)
	}
	for in, want := range map[string]string{"=1+1": "'=1+1", "": "", "Ada": "Ada", "@x": "'@x"} {
		if got := plainCell(in); got != want {
			t.Errorf("%q: %q", in, got)
		}
	}
}
