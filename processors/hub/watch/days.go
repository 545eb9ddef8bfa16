package watch

import (
	"fmt"
	"maps"
	"strings"
	"time"

	"fairlead/ingest/log/durable"
	"fairlead/processors/hub/health"
)

// Days is how bays were on each of the last days: by bay, and by date as in 2006-01-02
// by the studio's clock.
type Days map[string]map[string]Day

// Day is how many seconds a bay was on, that is heard or missed, and during how many of
// them something critical was wrong with it. A bay that is switched off when nobody
// misses it is not on.
type Day struct {
	On   float64 `json:"on"`
	Down float64 `json:"down,omitzero"`
}

// Up is the share of the time on at which nothing critical was wrong; false where the
// bay was not on.
func (d Day) Up() (share float64, ok bool) {
	if d.On <= 0 {
		return 0, false
	}
	return 1 - d.Down/d.On, true
}

// Month adds up a bay's days of the month that a time lies in.
func (d Days) Month(bay string, of time.Time) (sum Day) {
	month := of.Format("2006-01-")
	for date, day := range d[bay] {
		if len(date) == len(time.DateOnly) && date[:len(month)] == month {
			sum.On += day.On
			sum.Down += day.Down
		}
	}
	return sum
}

const (
	// daysKept is for how long days are kept: this month and the one before.
	daysKept = 62 * 24 * time.Hour
	// daysEvery is how often the file is written: so much a power cut takes.
	daysEvery = time.Minute
	// mostApart is how far two looks may lie apart for the time between them to be
	// known: a machine that slept knows nothing of its bays.
	mostApart = time.Minute
)

// OfBay is how alarms name a bay.
func OfBay(bay string) string { return "bay " + bay }

// take adds the time since the look before, to the day that it ended on.
func (d Days) take(state *State, heard map[string]time.Time, now time.Time, since time.Duration) {
	if since <= 0 || since > mostApart {
		return
	}
	date := now.Format(time.DateOnly)
	down := map[string]bool{}
	for _, k := range state.Alarms {
		if k.lasts() && k.Severity == Critical {
			down[k.Where] = true
		}
	}
	on := map[string]bool{}
	for bay, at := range heard {
		if now.Sub(at) <= health.SilentAfter {
			on[bay] = true
		}
	}
	for where := range down {
		if bay, ok := strings.CutPrefix(where, OfBay("")); ok { // one that was never heard, too
			on[bay] = true
		}
	}
	for bay := range on {
		if d[bay] == nil {
			d[bay] = map[string]Day{}
		}
		day := d[bay][date]
		day.On += since.Seconds()
		if down[OfBay(bay)] {
			day.Down += since.Seconds()
		}
		d[bay][date] = day
	}
	oldest := now.Add(-daysKept).Format(time.DateOnly)
	for bay, days := range d {
		maps.DeleteFunc(days, func(date string, _ Day) bool { return date < oldest })
		if len(days) == 0 {
			delete(d, bay)
		}
	}
}

// ReadDays reads the file of days. One that is not there is empty; a spoiled one too,
// with the error.
func ReadDays(file string) (Days, error) {
	d, err := durable.ReadJSON[Days](file)
	if d == nil {
		d = Days{}
	}
	if err != nil {
		return d, fmt.Errorf("%s: %w: how bays were on earlier days is forgotten", file, err)
	}
	return d, nil
}
