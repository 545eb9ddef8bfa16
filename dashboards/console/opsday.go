package console

import (
	"context"
	"fmt"
	"html/template"
	"net/http"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/dashboards/draw"
	ask "fairlead/processors/hub/store/question"
	"fairlead/processors/hub/watch"
)

// opsDay is one bay's day: what came by the hour, and what was wrong when.
type opsDay struct {
	Bay, Title, Day string
	Before, After   string // the days beside it; After is empty today
	On              string // how long it was on and up
	Lines, Counts   uint64
	Refused, Other  uint64
	Picture         template.HTML
	Hours           []opsHour
	Wrong           []opsAlarm
	Why             string
}

type opsHour struct {
	From                          string
	Counts, Other, Refused, Lines uint64
}

// opsDayPage shows a bay's day; `day` is a date as in 2006-01-02, today where none is given.
func (s *server) opsDayPage(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	if err := s.writer.Known(bay); err != nil {
		s.fail(w, http.StatusNotFound, err)
		return
	}
	now := time.Now()
	from := dayOf(now)
	if text := r.URL.Query().Get("day"); text != "" {
		day, err := time.ParseInLocation(time.DateOnly, text, now.Location())
		if err != nil || day.After(now) {
			s.fail(w, http.StatusBadRequest, fmt.Errorf("day %q is no day up to today: write year, month and day, such as %s", text,
				now.Format(time.DateOnly)))
			return
		}
		from = day
	}
	s.show(w, http.StatusOK, "opsday.html",
		map[string]any{"Title": "Bay " + bay, "Studio": s.studio, "V": s.opsDay(r.Context(), bay, from, now)})
}

func (s *server) opsDay(ctx context.Context, bay string, from, now time.Time) opsDay {
	to := from.AddDate(0, 0, 1)
	v := opsDay{Bay: bay, Title: from.Format("Monday 2 January 2006"), Day: from.Format(time.DateOnly),
		Before: from.AddDate(0, 0, -1).Format(time.DateOnly)}
	if !to.After(now) {
		v.After = to.Format(time.DateOnly)
	}
	if s.ops.Days != nil {
		days, err := s.ops.Days()
		if err != nil {
			v.Why = err.Error()
		}
		v.On = onOf(days[bay][v.Day])
	}
	var wrong []draw.Stretch
	if state, err := s.ops.State(); err != nil {
		v.Why = err.Error()
	} else {
		for _, k := range state.Alarms {
			end := k.Ended
			if end.IsZero() {
				end = now
			}
			if k.Where != watch.OfBay(bay) || !k.Since.Before(to) || end.Before(from) {
				continue
			}
			v.Wrong = append(v.Wrong, opsAlarmOf(k, now))
			wrong = append(wrong, draw.Stretch{From: k.Since, To: end, Critical: k.Severity == watch.Critical,
				Says: k.What + ", " + clockOf(k.Since, now) + ": " + k.Text})
		}
	}
	hours := make([]draw.Hour, int(to.Sub(from).Hours()))
	if err := s.byHour(ctx, &v, hours, from, to); err != nil {
		v.Why = "The store is away: what came on this day can’t be counted now."
	}
	for i, h := range hours {
		if n := h.Counts + h.Other + h.Refused; n > 0 {
			v.Hours = append(v.Hours, opsHour{from.Add(time.Duration(i) * time.Hour).Format("15:04"), h.Counts, h.Other, h.Refused, n})
		}
		v.Counts, v.Other, v.Refused = v.Counts+h.Counts, v.Other+h.Other, v.Refused+h.Refused
	}
	v.Lines = v.Counts + v.Other + v.Refused
	v.Picture = draw.Day(bay+", "+v.Title, from, hours, wrong).Inline()
	return v
}

func (s *server) byHour(ctx context.Context, v *opsDay, hours []draw.Hour, from, to time.Time) error {
	st, err := s.book.opened()
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	rows, err := st.Conn().Query(ctx, ask.BayByHour(), clickhouse.Named("studio", s.studio), clickhouse.Named("bay", v.Bay),
		clickhouse.Named("from", utc(from)), clickhouse.Named("to", utc(to)))
	if err != nil {
		return fmt.Errorf("the day of bay %s: %w", v.Bay, err)
	}
	defer rows.Close()
	for rows.Next() {
		var hour uint8
		var counts, refused, lines uint64
		if err := rows.Scan(&hour, &counts, &refused, &lines); err != nil {
			return fmt.Errorf("the day of bay %s: %w", v.Bay, err)
		}
		if int(hour) < len(hours) {
			hours[hour] = draw.Hour{Counts: counts, Refused: refused, Other: lines - min(counts+refused, lines)}
		}
	}
	return rows.Err()
}

// onOf says how long a bay was on, and how much of that nothing critical was wrong.
func onOf(d watch.Day) string {
	up, ok := d.Up()
	if !ok {
		return "Not on, as far as the watch knows."
	}
	text := "On for " + hoursOf(d.On)
	if d.Down < 1 {
		return text + ", all of it without a critical fault."
	}
	return text + ", " + hoursOf(d.Down) + " of it with a critical fault: up " + percentUp(up) + "."
}

func hoursOf(seconds float64) string {
	switch d := time.Duration(seconds) * time.Second; {
	case d < time.Minute:
		return fmt.Sprintf("%d s", int(d.Seconds()))
	case d < time.Hour:
		return fmt.Sprintf("%d min", int(d.Minutes()))
	default:
		return fmt.Sprintf("%d h %d min", int(d.Hours()), int(d.Minutes())%60)
	}
}
