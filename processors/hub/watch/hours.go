package watch

import (
	"fmt"
	"strings"
	"time"
)

// Hours is a time of the day, from one clock time to another, past midnight
// where the second is the earlier one. The zero value is no time at all.
type Hours struct{ from, to time.Duration }

// ParseHours reads "22:00-07:00"; an empty text is no time.
func ParseHours(text string) (Hours, error) {
	if strings.TrimSpace(text) == "" {
		return Hours{}, nil
	}
	a, b, ok := strings.Cut(text, "-")
	from, err := clock(a)
	to, err2 := clock(b)
	if !ok || err != nil || err2 != nil || from == to {
		return Hours{}, fmt.Errorf("%q are no hours: write from and to, such as 22:00-07:00", text)
	}
	return Hours{from, to}, nil
}

func clock(text string) (time.Duration, error) {
	t, err := time.Parse("15:04", strings.TrimSpace(text))
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute, err
}

// Began is when the hours that hold at a time began; zero where they do not hold.
func (h Hours) Began(t time.Time) time.Time {
	if !h.Hold(t) {
		return time.Time{}
	}
	midnight := time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, t.Location())
	begun := midnight.Add(h.from)
	if begun.After(t) {
		begun = midnight.AddDate(0, 0, -1).Add(h.from)
	}
	return begun
}

// Missed says whether a bay that was not heard since the hours began is missed:
// they hold, and bays' PCs have had time to be switched on. No hours: always.
func (h Hours) Missed(t time.Time) bool {
	return h.None() || h.Hold(t) && t.Sub(h.Began(t)) >= openingTakes
}

// None says that the hours are no time.
func (h Hours) None() bool { return h == Hours{} }

// Hold says whether a time lies within, by its own zone's clock.
func (h Hours) Hold(t time.Time) bool {
	at := time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute + time.Duration(t.Second())*time.Second
	if h.from < h.to {
		return at >= h.from && at < h.to
	}
	return !h.None() && (at >= h.from || at < h.to)
}
