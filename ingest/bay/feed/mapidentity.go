package feed

import (
	"math"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // bay PCs may have no zone database
)

// timeMap says how the device writes its clock.
type timeMap struct {
	slots    []int
	layouts  []string
	names    []string // the layouts as the map has them
	zoned    []bool   // whether a layout holds the zone
	zone     *time.Location
	fileDate string // layout of the date in the file's name
}

// layoutDays counts days of the wall clock since the end of 1899, as spreadsheet
// programs do.
const layoutDays = "days"

// wallOfDays is the wall clock at a count of days; a thousandth of a second is
// more than they are exact to.
func wallOfDays(text string) (time.Time, bool) {
	days, err := strconv.ParseFloat(text, 64)
	if err != nil || !(days > 25569 && days < 109575) {
		return time.Time{}, false
	}
	return time.UnixMilli(int64(math.Round((days - 25569) * 86_400_000))).UTC(), true
}

var epochUnits = map[string]time.Duration{"unix": time.Second, "unix_ms": time.Millisecond, "unix_us": time.Microsecond,
	"unix_ns": time.Nanosecond}

// readIdentity reads what names a shot and when it was: time, shot_id,
// revision, deleted.
func (m *Map) readIdentity(k map[string]node) (err error) {
	if n, ok := k["time"]; ok {
		if m.time, err = m.readTime(n); err != nil {
			return err
		}
	}
	if n, ok := k["shot_id"]; ok {
		if err := m.readShotID(n); err != nil {
			return err
		}
	}
	if n, ok := k["revision"]; ok {
		r, err := n.keys("column")
		if err != nil {
			return err
		}
		if m.revision, err = m.slotOf(n, r); err != nil {
			return err
		}
	}
	if n, ok := k["deleted"]; ok {
		d, err := n.keys(allowed("deleted")...)
		if err != nil {
			return err
		}
		if m.deleted, err = m.slotOf(n, d); err != nil {
			return err
		}
		values, ok := d["values"]
		if !ok {
			return n.bad("needs values", "list what the column says when a shot was withdrawn")
		}
		for _, item := range values.list() {
			s := item.text() // true and 1 may stand here too
			if s == "" {
				return item.bad("is not a text", "list words or numbers")
			}
			m.deletes = append(m.deletes, fold(s))
		}
	}
	return nil
}

func (m *Map) slotOf(n node, k map[string]node) (int, error) {
	c, ok := k["column"]
	if !ok {
		return -1, n.bad("needs a column", "write {column: NAME}")
	}
	return m.slot(c, true)
}

func (m *Map) readShotID(n node) error {
	k, err := n.keys(allowed("shot_id")...)
	if err != nil {
		return err
	}
	for _, key := range []string{"columns", "column"} {
		if c, ok := k[key]; ok {
			if m.id != nil {
				return c.bad("stands beside columns", "keep one of the two")
			}
			if m.id, err = m.slots(c); err != nil {
				return err
			}
		}
	}
	m.scope = scopeDevice
	if s, ok := k["scope"]; ok {
		if m.scope, err = s.oneOf(scopeDevice, scopeDay, scopeFile); err != nil {
			return err
		}
		m.scopeGiven = true
	} else if m.id == nil {
		m.scope = "" // nothing decided
	}
	return nil
}

func (m *Map) readTime(n node) (*timeMap, error) {
	k, err := n.keys(allowed("time")...)
	if err != nil {
		return nil, err
	}
	t := &timeMap{}
	for _, key := range []string{"columns", "column"} {
		if c, ok := k[key]; ok {
			if t.slots != nil {
				return nil, c.bad("stands beside columns", "keep one of the two")
			}
			if t.slots, err = m.slots(c); err != nil {
				return nil, err
			}
		}
	}
	if t.slots == nil {
		return nil, n.bad("needs columns", "write `columns: [Date, Time]`; without a clock leave time out")
	}
	if d, ok := k["date_from_file"]; ok {
		if t.fileDate, err = d.str(); err != nil {
			return nil, err
		}
		if !hasDate(t.fileDate) {
			return nil, d.bad("does not hold a whole date", "write 2 January 2006 as the file's name has it, such as 2006-01-02")
		}
	}
	layouts, ok := k["layouts"]
	if !ok {
		layouts, ok = k["layout"]
	}
	wrong := n.without[n.path+".layouts"] || n.without[n.path+".layout"]
	if !ok && !wrong {
		return nil, n.bad("needs layouts", "write 2 January 2006 15:04:05 as the device would, or unix, unix_ms, rfc3339")
	}
	zoned := true
	var items []node
	if ok {
		items = layouts.list()
	}
	for _, item := range items {
		layout, err := item.str()
		if err != nil {
			return nil, err
		}
		t.names = append(t.names, layout)
		if layout == "rfc3339" {
			layout = time.RFC3339Nano
		}
		if layout == layoutDays {
			zoned = false
		} else if _, epoch := epochUnits[layout]; !epoch {
			if !hasDate(layout) && t.fileDate == "" || !hasTimeOfDay(layout) {
				return nil, item.bad("does not hold a whole date and time",
					"write 2 January 2006 15:04:05 as the device would, such as 02.01.2006 15:04:05; for a time of day alone add date_from_file")
			}
			zoned = zoned && hasZone(layout)
		}
		t.layouts, t.zoned = append(t.layouts, layout), append(t.zoned, layout != layoutDays && hasZone(layout))
	}
	if len(t.layouts) == 0 && !wrong {
		return nil, layouts.bad("is empty", "list at least one layout")
	}
	z, ok := k["zone"]
	if !ok {
		if !zoned {
			return nil, n.bad("needs a zone, because the layout has none", "write zone: local, UTC, +02:00 or a name such as Europe/London")
		}
		t.zone = time.UTC
		return t, nil
	}
	t.zone, err = readZone(z)
	return t, err
}

func readZone(n node) (*time.Location, error) {
	name, err := n.str()
	if err != nil {
		return nil, err
	}
	if strings.EqualFold(name, "local") {
		return time.Local, nil
	}
	if at, err := time.Parse("-07:00", name); err == nil {
		_, offset := at.Zone()
		return time.FixedZone(name, offset), nil
	}
	if zone, err := time.LoadLocation(name); err == nil && name != "" {
		return zone, nil
	}
	return nil, n.bad("is not a time zone", "write local, UTC, an offset such as +02:00, or a name such as Europe/London")
}

// The probes tell what a layout holds: two times that differ in one part are
// written differently only when the layout holds that part.
var probe = time.Date(2006, 1, 2, 15, 4, 5, 0, time.UTC)

func hasDate(layout string) bool {
	for _, other := range []time.Time{probe.AddDate(1, 0, 0), probe.AddDate(0, 1, 0), probe.AddDate(0, 0, 7)} {
		if probe.Format(layout) == other.Format(layout) {
			return false
		}
	}
	return true
}

func hasTimeOfDay(layout string) bool {
	return probe.Format(layout) != probe.Add(time.Hour).Format(layout) && probe.Format(layout) != probe.Add(time.Minute).Format(layout) &&
		probe.Format(layout) != probe.Add(-12*time.Hour).Format(layout)
}

func hasZone(layout string) bool {
	return probe.Format(layout) != time.Date(2006, 1, 2, 15, 4, 5, 0, time.FixedZone("", 3600)).Format(layout)
}

// read returns the device's time in Unix nanoseconds, and the other moment that
// it may name (0: none). file is the base name of the file, for devices that
// write the date there, c what the lines before it said; revised says that the
// device may write a shot again.
func (t *timeMap) read(text, file string, c *fileClock, revised bool) (ns, other int64, ok bool) {
	day := time.Time{}
	if t.fileDate != "" {
		if day, ok = dateIn(file, t.fileDate); !ok {
			return 0, 0, false
		}
	}
	for i, layout := range t.layouts {
		if per, isEpoch := epochUnits[layout]; isEpoch {
			if ns, ok := epoch(text, per); ok {
				return ns, 0, true
			}
			continue
		}
		zone, wall := t.zone, time.Time{}
		var err error
		if layout == layoutDays {
			if wall, ok = wallOfDays(text); !ok {
				continue
			}
		} else if t.zoned[i] {
			if wall, err = ParseTime(layout, text, t.zone); err == nil && t.fileDate == "" {
				return wall.UnixNano(), 0, inReach(wall)
			}
			zone = wall.Location()
		} else {
			wall, err = ParseTime(layout, text, time.UTC)
		}
		if err != nil {
			continue
		}
		if t.fileDate != "" {
			wall = time.Date(day.Year(), day.Month(), day.Day(), wall.Hour(), wall.Minute(), wall.Second(), wall.Nanosecond(), time.UTC)
			wall = c.day(wall, zone, revised)
		}
		if !inReach(wall) {
			return 0, 0, false
		}
		first, second, skipped := moments(wall, zone)
		if skipped {
			c.leave(text)
		}
		if second != 0 {
			ns, other := c.choose(first, second)
			return ns, other, true
		}
		c.second = false
		return first, 0, true
	}
	return 0, 0, false
}

// inReach says whether Unix nanoseconds hold a time well.
func inReach(at time.Time) bool { return at.Year() >= 1970 && at.Year() <= 2200 }

// dateIn finds a date in a file's name.
func dateIn(file, layout string) (time.Time, bool) {
	width := len(probe.Format(layout))
	for i := 0; i+width <= len(file); i++ {
		if at, err := time.Parse(layout, file[i:i+width]); err == nil {
			return at, true
		}
	}
	return time.Time{}, false
}

// epoch reads a count since 1970, with up to nine decimals, exactly.
func epoch(text string, per time.Duration) (int64, bool) {
	whole, fraction, _ := strings.Cut(text, ".")
	if len(whole) == 0 || len(whole) > 19 || len(fraction) > 9 {
		return 0, false
	}
	var ns, unit int64 = 0, int64(per)
	for _, r := range whole {
		if r < '0' || r > '9' || ns > (1<<63-1-9*unit)/10 {
			return 0, false
		}
		ns = ns*10 + int64(r-'0')*unit
	}
	for _, r := range fraction {
		if r < '0' || r > '9' {
			return 0, false
		}
		unit /= 10
		ns += int64(r-'0') * unit
	}
	return ns, true
}
