package console

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"sync"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	ask "fairlead/processors/hub/store/question"
	"fairlead/processors/hub/watch"
)

// How bays do: now, and in the month so far. Lines are counted by the store; how long
// a bay was on, by the watch.

// lossBudget is the share of a month's lines that may be missing or set aside before a
// bay is called over it: one in ten thousand.
const lossBudget = 1e-4

// opsBay is a line of the table of bays.
type opsBay struct {
	Bay, State      string
	Heard, Shot     string
	Up              string
	Lines           string
	Refused, Unsure uint64
	Lost            string
	Over            bool // more is lost than the month allows
	severity        int  // of what is wrong now: 0 nothing, 2 critical
}

// Bad says that something is wrong with it.
func (b opsBay) Bad() bool { return b.severity > 0 }

// arrived is what the store has of a bay since a time.
type arrived struct {
	Lines, Refused, Unsure, Missing, Aside uint64
	Latest                                 time.Time
}

func (d arrived) lost() uint64 { return d.Missing + d.Aside }

// over says whether more is lost than allowed; one line always is.
func (d arrived) over() bool { return float64(d.lost()) > max(lossBudget*float64(d.Lines), 1) }

// month is what is known of it so far, asked now and then.
type month struct {
	mu    sync.Mutex
	asked time.Time
	said  monthSaid
}

// monthSaid is what bays delivered in a month, and other studios, and how long bays were
// on. Why says what of that is not known; empty: nothing.
type monthSaid struct {
	of     map[string]arrived
	others []opsStudio
	days   watch.Days
	why    string
}

// opsStudio is another studio whose lines come here.
type opsStudio struct {
	Name        string
	Bays, Lines uint64 // today
	latest      time.Time
}

// Last is how long ago its last line came.
func (o opsStudio) Last() string { return agoOf(time.Since(o.latest)) }

// othersFor is for how long a studio of which nothing came is listed.
const othersFor = 62 * 24 * time.Hour

// monthEvery is how old what the store said of the month may be; one that was away is
// asked again sooner.
const (
	monthEvery = 30 * time.Second
	awayEvery  = 5 * time.Second
)

func dayOf(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, t.Location())
}

func monthOf(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), 1, 0, 0, 0, 0, t.Location())
}

func (s *server) thisMonth(now time.Time) monthSaid {
	m := &s.month
	m.mu.Lock()
	defer m.mu.Unlock()
	every := monthEvery
	if m.said.why != "" {
		every = awayEvery
	}
	if since := now.Sub(m.asked); since >= 0 && since < every {
		return m.said
	}
	m.asked, m.said = now, monthSaid{}
	var err error
	if s.ops.Days != nil {
		if m.said.days, err = s.ops.Days(); err != nil {
			m.said.why = err.Error()
		}
	}
	ctx, cancel := context.WithTimeout(context.Background(), storeWithin)
	defer cancel()
	if m.said.of, err = s.deliveredSince(ctx, monthOf(now)); err == nil {
		m.said.others, err = s.otherStudios(ctx, now)
	}
	if err != nil {
		m.said.why = "The store is away: what bays delivered this month can’t be counted now."
	}
	return m.said
}

func (s *server) otherStudios(ctx context.Context, now time.Time) (out []opsStudio, err error) {
	st, err := s.book.opened()
	if err != nil {
		return nil, err
	}
	rows, err := st.Conn().Query(ctx, ask.OtherStudiosSince(), clickhouse.Named("studio", s.studio),
		clickhouse.Named("day", utc(dayOf(now))), clickhouse.Named("since", utc(now.Add(-othersFor))))
	if err != nil {
		return nil, fmt.Errorf("what other studios delivered: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var o opsStudio
		if err := rows.Scan(&o.Name, &o.Bays, &o.Lines, &o.latest); err != nil {
			return nil, fmt.Errorf("what other studios delivered: %w", err)
		}
		out = append(out, o)
	}
	return out, rows.Err()
}

// storeWithin is how long a page waits for what the store says of bays.
const storeWithin = 5 * time.Second

// utc writes a time as a question's parameter.
func utc(t time.Time) string { return t.UTC().Format(time.DateTime) }

func (s *server) deliveredSince(ctx context.Context, since time.Time) (map[string]arrived, error) {
	st, err := s.book.opened()
	if err != nil {
		return nil, err
	}
	rows, err := st.Conn().Query(ctx, ask.BaysSince(), clickhouse.Named("studio", s.studio), clickhouse.Named("since", utc(since)))
	if err != nil {
		return nil, fmt.Errorf("what bays delivered: %w", err)
	}
	defer rows.Close()
	out := map[string]arrived{}
	for rows.Next() {
		var bay string
		var d arrived
		if err := rows.Scan(&bay, &d.Lines, &d.Refused, &d.Unsure, &d.Missing, &d.Aside, &d.Latest); err != nil {
			return nil, fmt.Errorf("what bays delivered: %w", err)
		}
		out[bay] = d
	}
	return out, rows.Err()
}

// opsBays are the studio's bays, those in trouble first.
func (s *server) opsBays(state watch.State, said monthSaid, now time.Time) (bays []opsBay) {
	heard := s.health.Heard(s.studio)
	for _, bay := range s.bays {
		alarms := s.alarmsOf(bay)
		b := opsBay{Bay: bay, State: wordOf(s.writer.Timeline(bay).Now(), alarms)}
		if len(alarms) > 0 {
			b.severity = 1
		}
		for _, k := range state.Lasting() {
			if k.Where == watch.OfBay(bay) {
				b.severity, b.State = max(b.severity, 1), "in trouble"
				if k.Severity == watch.Critical {
					b.severity = 2
				}
			}
		}
		b.Heard, b.Up, b.Shot, b.Lines, b.Lost = "never", "–", "–", "–", "–"
		if at, ok := heard[bay]; ok {
			b.Heard = agoOf(now.Sub(at))
		}
		if up, ok := said.days.Month(bay, now).Up(); ok {
			b.Up = percentUp(up)
		}
		if d, ok := said.of[bay]; ok {
			b.Lines, b.Refused, b.Unsure, b.Over = strconv.FormatUint(d.Lines, 10), d.Refused, d.Unsure, d.over()
			b.Lost = strconv.FormatUint(d.lost(), 10)
			b.Shot = agoOf(now.Sub(d.Latest))
		}
		bays = append(bays, b)
	}
	slices.SortStableFunc(bays, func(a, b opsBay) int { return b.severity - a.severity })
	return bays
}

// agoOf is how long ago something was, in steps that do not change each second.
func agoOf(d time.Duration) string {
	if d < time.Minute {
		return "just now"
	}
	return spanOf(d) + " ago"
}

// percentUp never rounds up to all of it.
func percentUp(share float64) string {
	if share >= 1 {
		return "100 %"
	}
	return fmt.Sprintf("%.1f %%", min(100*share, 99.9))
}
