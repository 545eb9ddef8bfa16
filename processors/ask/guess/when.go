package guess

import (
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairlead/ingest/bay/feed"
)

// moment is how the device's time is written.
type moment struct {
	columns  []*column
	layouts  []string
	zone     string // "" when the layout has one
	fileDate string
	unsure   []string // layouts that give other dates and fit as well
}

var dates = []string{"2006-01-02", "2006/1/2", "2006.1.2", "20060102", "2.1.2006", "2/1/2006", "1/2/2006", "2-1-2006", "1-2-2006",
	"1.2.2006",
	"2.1.06", "2/1/06", "1/2/06", "2-1-06", "1-2-06", "2-Jan-2006", "2 Jan 2006", "Jan 2, 2006", "Jan 2 2006", "January 2, 2006",
	"2 January 2006", "2-Jan-06", "2. January 2006",
	"Mon Jan 2 2006", "Mon, 2 Jan 2006", "Monday, January 2, 2006", "2006-1-2", "Monday, 2. January 2006", "Monday 2 January 2006",
	"Mon 2 Jan 2006", "2006年1月2日", "2006년 1월 2일", "02/Jan/2006"}

var clocks = []string{"15:04:05", "3:04:05 PM", "3:04:05 pm", "3:04:05PM", "15:04", "3:04 PM", "15.04.05", "150405", "15-04-05",
	"15h04m05s", "15h04"}

var zones = []string{"", "Z07:00", " -0700", "-0700", " Z07:00", " MST"}

// stamps are the layouts of a whole time.
func stamps() (out []string) {
	for _, d := range dates {
		for _, by := range []string{" ", "T", ", ", "_", "-", "  ", " - ", ":", ""} {
			for _, c := range clocks {
				if by == "" && (d != "20060102" || c != "150405") {
					continue
				}
				for _, z := range zones {
					out = append(out, d+by+c+z)
				}
			}
		}
	}
	for _, c := range clocks {
		for _, d := range dates[:12] {
			out = append(out, c+" "+d)
		}
	}
	return append(out, "Mon Jan 2 15:04:05 2006", "Mon Jan _2 15:04:05 MST 2006")
}

// fitting are the layouts that read every text, with what they make of it. They
// fall apart into groups that agree.
func fitting(texts, layouts []string, whole bool) (out []string, first time.Time, rivals []string) {
	if len(texts) == 0 {
		return nil, first, nil
	}
	type reading struct {
		layout string
		at     []time.Time
		n      int
	}
	var all []reading
	most := 0
	if !slices.ContainsFunc(texts[:min(3, len(texts))],
		func(text string) bool { return len(text) >= shortest(layouts) && len(text) <= longestTime }) {
		return nil, first, nil // the cell of a number: thousands of layouts need not be tried on it
	}
	for _, l := range layouts {
		if !slices.ContainsFunc(texts[:min(3, len(texts))], func(text string) bool {
			_, err := feed.ParseTime(l, text, time.UTC)
			return err == nil
		}) {
			continue
		}
		r := reading{layout: l}
		for _, text := range texts {
			t, err := feed.ParseTime(l, text, time.UTC)
			if err == nil && (!whole || t.Year() >= 2000 && t.Year() <= 2100) {
				r.n++
			} else {
				t = time.Time{}
			}
			r.at = append(r.at, t)
		}
		if r.n*10 >= len(texts)*7 && !slices.ContainsFunc(all, func(o reading) bool { return slices.EqualFunc(o.at, r.at, time.Time.Equal) }) {
			all = append(all, r)
			most = max(most, r.n)
		}
	}
	for _, r := range all {
		switch {
		case r.n < most: // lines of a damaged file are no reason for another layout
		case out == nil:
			out, first = []string{r.layout}, r.at[0]
		default:
			rivals = append(rivals, r.layout)
		}
	}
	return out, first, rivals
}

// longestTime is longer than any time that a layout of ours writes.
const longestTime = 64

// shortest is how long the shortest text is that one of the layouts may read: an
// hour may have one digit.
func shortest(layouts []string) int {
	least := longestTime
	for _, l := range layouts {
		least = min(least, len(l)-1)
	}
	return least
}

// when finds the columns and layouts of the time.
func when(cols []*column, files []string) *moment {
	var date *column
	var dateLayout string
	var dateRivals []string
	for _, c := range cols {
		if c.field == "" {
			if e := epoch(c); e != "" && c.other != "shot" {
				c.other = "time"
				return &moment{columns: []*column{c}, layouts: []string{e}}
			}
		}
	}
	for _, c := range cols {
		if c.field == "" && (c.other == "time" || c.other == "date") && serial(c) {
			c.other = "time"
			return &moment{columns: []*column{c}, layouts: []string{"days"}, zone: "local"}
		}
	}
	all := stamps()
	for _, c := range cols {
		if len(c.texts) == 0 || c.field != "" || !datelike.MatchString(c.texts[0]) && !strings.ContainsAny(c.texts[0], "0123456789") {
			continue
		}
		texts := without(c.texts, c.missing)
		if l, _, rivals := fitting(texts, all, true); l != nil {
			c.other = "time"
			m := &moment{columns: []*column{c}, layouts: l, unsure: rivals}
			if m.zone = "local"; strings.Contains(l[0], "07") || strings.Contains(l[0], "MST") {
				m.zone = ""
			}
			if strings.Contains(l[0], "T15:04:05Z07:00") {
				m.layouts = []string{"rfc3339"}
			}
			return m
		}
		if l, _, rivals := fitting(texts, dates, true); l != nil && date == nil && (datelike.MatchString(texts[0]) || c.other == "date") {
			date, dateLayout, dateRivals = c, l[0], rivals
		}
	}
	for _, c := range cols {
		if c.field != "" || c == date || len(c.texts) == 0 {
			continue
		}
		l, _, _ := fitting(without(c.texts, c.missing), clocks, false)
		if l == nil || !strings.ContainsAny(c.texts[0], ":.hH") {
			continue
		}
		if date != nil {
			date.other, c.other = "date", "time"
			m := &moment{columns: []*column{date, c}, layouts: []string{dateLayout + " " + l[0]}, zone: "local"}
			for _, r := range dateRivals {
				m.unsure = append(m.unsure, r+" "+l[0])
			}
			return m
		}
		if f := dateInName(files); f != "" {
			c.other = "time"
			return &moment{columns: []*column{c}, layouts: l, zone: "local", fileDate: f}
		}
	}
	return nil
}

func without(texts, missing []string) (out []string) {
	for _, t := range texts {
		if !datelike.MatchString(t) && contains(missing, t) {
			continue
		}
		out = append(out, t)
	}
	return out
}

func contains(list []string, s string) bool {
	for _, have := range list {
		if have == s {
			return true
		}
	}
	return false
}

// serial says whether a column counts days as spreadsheets do, with the time of
// day behind the point.
func serial(c *column) bool {
	parts := 0
	for _, v := range c.values() {
		if v < 36526 || v > 73050 { // of 2000 to 2100
			return false
		}
		if v != math.Trunc(v) {
			parts++
		}
	}
	return len(c.values()) > 0 && c.count*10 >= len(c.texts)*9 && parts*2 > len(c.values())
}

// epoch says whether a column counts time since 1970, and in what.
func epoch(c *column) string {
	for layout, per := range map[string]float64{"unix": 1, "unix_ms": 1e3, "unix_us": 1e6, "unix_ns": 1e9} {
		fits, bad := len(c.texts) > 1, 0
		for _, text := range c.texts {
			if contains(c.missing, text) {
				continue
			}
			v, err := strconv.ParseFloat(text, 64)
			at := v / per
			if err != nil || at < 9.4e8 || at > 4e9 {
				bad++
			}
		}
		if fits = fits && bad*4 <= len(c.texts); fits && !math.IsNaN(per) {
			return layout
		}
	}
	return ""
}

// dateInName finds the layout of a date that every file's name holds.
func dateInName(files []string) string {
	for _, l := range []string{"2006-01-02", "20060102", "2006_01_02", "2006.01.02", "02-01-2006", "02.01.2006", "02_01_2006"} {
		all := len(files) > 0
		for _, f := range files {
			base, found := filepath.Base(f), false
			for i := 0; i+len(l) <= len(base); i++ {
				if at, err := time.Parse(l, base[i:i+len(l)]); err == nil && at.Year() >= 2000 && at.Year() < 2100 {
					found = true
				}
			}
			all = all && found
		}
		if all {
			return l
		}
	}
	return ""
}
