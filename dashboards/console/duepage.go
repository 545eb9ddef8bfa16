package console

import (
	"cmp"
	"context"
	"encoding/csv"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	bench "fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
)

// dueRoutes serve the lists that bring people back.
func (s *server) dueRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /players/due", s.duePage)
	mux.HandleFunc("GET /players/due.csv", s.dueCSV)
	mux.HandleFunc("POST /players/calendar/make", s.makeCalendar)
	mux.HandleFunc("POST /players/calendar/{calendar}/revoke", s.revokeCalendar)
	mux.HandleFunc("GET /calendar/{token}", s.calendarFeed)
}

// duePlayer is one reason to ask one player back.
type duePlayer struct {
	visit.Due
	Player, Name string
}

// horizon is how far ahead the lists look.
const horizon = 60 * 24 * time.Hour

// dueAll lists what is due up to a time, of one kind or of all for "", soonest first.
func (s *server) dueAll(ctx context.Context, until time.Time, what string) (out []duePlayer) {
	files, checks := s.players.players(ctx), s.players.checks(ctx)
	for player, f := range files {
		for _, d := range f.Due(checks) {
			if d.At <= until.UnixNano() && (what == "" || d.What == what) {
				out = append(out, duePlayer{d, player, s.people.Name(player)})
			}
		}
	}
	if what == "" || what == dueNews {
		out = append(out, s.dueNews(ctx, files)...)
	}
	slices.SortFunc(out, func(a, b duePlayer) int {
		return cmp.Or(cmp.Compare(a.At, b.At), strings.Compare(a.Player, b.Player), strings.Compare(a.What, b.What))
	})
	return out
}

type dueRow struct {
	Player, Name, What, Of, When, Order, Number string
	Now                                         bool
}

func (s *server) dueRows(r *http.Request) (rows []dueRow) {
	now := s.now()
	for _, d := range s.dueAll(r.Context(), now.Add(horizon), r.FormValue("what")) {
		row := dueRow{Player: d.Player, Name: d.Name, What: d.What, Of: d.Of, When: time.Unix(0, d.At).Format("2006-01-02"),
			Now: d.At <= now.UnixNano(), Number: d.Order}
		if d.Order != "" {
			row.Order = bench.Label(d.Order)
		}
		rows = append(rows, row)
	}
	return rows
}

func (s *server) duePage(w http.ResponseWriter, r *http.Request) {
	s.showDue(w, r, "")
}

// showDue shows the lists; made is the address of a calendar that was made just
// now, which is shown once.
func (s *server) showDue(w http.ResponseWriter, r *http.Request, made string) {
	s.show(w, http.StatusOK, "due.html", map[string]any{"Title": "Due", "Studio": s.studio, "Rows": s.dueRows(r),
		"What": r.FormValue("what"), "Kinds": []string{visit.DueCheck, visit.DueMonth, visit.DueYear, visit.DueLofts, dueNews},
		"Calendars": s.calendars.list(), "News": dueNews, "Fleet": s.fleet != nil, "Made": made, "MayName": mayName(r)})
}

func (s *server) dueCSV(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="due.csv"`)
	out := csv.NewWriter(w)
	out.Write([]string{"due", "what", "player", "name", "clubs", "order"})
	for _, row := range s.dueRows(r) {
		out.Write([]string{row.When, row.What, row.Player, plainCell(row.Name), plainCell(row.Of), row.Number})
	}
	if out.Flush(); out.Error() != nil {
		s.log.Debug("a list was broken off by who asked for it", "error", out.Error())
	}
}

// plainCell keeps a spreadsheet from taking words for a formula.
func plainCell(text string) string {
	if strings.ContainsAny(text[:min(1, len(text))], "=+-@\t\r") {
		return "'" + text
	}
	return text
}

// calendarText writes what is due as iCalendar (RFC 5545): one day's event each,
// with an id that stays, so that a calendar moves it and does not double it.
func (s *server) calendarText(due []duePlayer, names bool) string {
	var b strings.Builder
	line := func(text string) { // at most 75 bytes, not cut within a sign
		for len(text) > 74 {
			cut := 74
			for cut > 0 && text[cut]&0xC0 == 0x80 {
				cut--
			}
			b.WriteString(text[:cut] + "\r\n ")
			text = text[cut:]
		}
		b.WriteString(text + "\r\n")
	}
	quoted := strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\r", "", "\n", `\n`)
	for _, head := range []string{"BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Fairlead//due//EN", "METHOD:PUBLISH", "X-WR-CALNAME:" +
		quoted.Replace(s.studio+" due"), "REFRESH-INTERVAL;VALUE=DURATION:PT6H"} {
		line(head)
	}
	stamp := s.now().UTC().Format("20060102T150405Z")
	for _, d := range due {
		who := d.Player
		if names {
			who = d.Name
		}
		summary := strings.TrimSpace(fmt.Sprintf("%s: %s %s", who, d.What, d.Of))
		at := time.Unix(0, d.At)
		line("BEGIN:VEVENT")
		line("UID:" + strings.ReplaceAll(d.What, " ", "-") + "-" + d.Player + "-" + nonEmpty(d.Order, "0") + "@fairlead")
		line("DTSTAMP:" + stamp)
		line("DTSTART;VALUE=DATE:" + at.Format("20060102"))
		line("DTEND;VALUE=DATE:" + at.AddDate(0, 0, 1).Format("20060102"))
		line("SUMMARY:" + quoted.Replace(summary))
		line("TRANSP:TRANSPARENT")
		line("END:VEVENT")
	}
	line("END:VCALENDAR")
	return b.String()
}
