package feed

import (
	"fmt"
	"time"
)

// fileClock follows a device's clock through the lines of one file. A time of
// day alone does not always name one moment: in autumn an hour comes twice, in
// spring one is left out, and a file whose name holds the date goes on after
// midnight. The order of the lines settles what it can.
type fileClock struct {
	first    int64 // device time of the first line, Unix ns; 0: none yet
	last     int64 // of the line before
	up, down int   // how often a time was later, or earlier, than the one before
	second   bool  // the line before lay in the second of two equal hours
	left     int   // times in an hour that the clock change leaves out
	leftText string
	known    map[string]int64 // by number and text, where a shot may be written again
}

const (
	// disorder is how far lines may be out of order and still go forward.
	disorder = time.Minute
	// mostKnown bounds the shots whose times are remembered.
	mostKnown = 4096
)

// newestFirst says whether the file's first lines are its latest.
func (c *fileClock) newestFirst() bool { return c.down > c.up && c.first-c.last > int64(disorder) }

// begin goes on where an earlier reader of the file was.
func (c *fileClock) begin(last int64) { c.first, c.last = last, last }

// pass goes on to the next line. A shot that is written again, where a device
// does that, does not lead back.
func (c *fileClock) pass(ns int64, revised bool) {
	switch {
	case c.last == 0:
		c.first = ns
	case revised && ns < c.last-int64(disorder) && !c.newestFirst():
		return
	case ns > c.last:
		c.up++
	case ns < c.last:
		c.down++
	}
	c.last = ns
}

// choose takes one of the two moments, one hour apart, that a time may name: by
// the line before, where that decides. other is the one not taken, if it may be
// that all the same; else 0.
func (c *fileClock) choose(first, second int64) (ns, other int64) {
	slip := int64(disorder)
	if c.second {
		slip = 0
	}
	past := c.last > first+slip && c.last <= second+int64(disorder)
	before := c.last != 0 && c.last < second-int64(disorder) && c.last >= first
	switch {
	case c.last == 0:
		ns, other = first, second
	case c.newestFirst() && before:
		ns = first
	case c.newestFirst():
		ns, other = second, first
	case past:
		ns = second
	default:
		ns, other = first, second
	}
	c.second = ns == second
	return ns, other
}

// day moves a time whose date is that of the file's name to the day that the
// lines have come to: where a time of day falls back by half a day, midnight was
// passed. In a file that only went forward a smaller step says so too. A file
// whose shots are written again goes back in between: there only a time of the
// night says that a day has passed.
func (c *fileClock) day(wall time.Time, zone *time.Location, revised bool) time.Time {
	if c.last == 0 || c.newestFirst() {
		return wall
	}
	at := time.Unix(0, c.last).In(zone)
	last := time.Date(at.Year(), at.Month(), at.Day(), at.Hour(), at.Minute(), at.Second(), at.Nanosecond(), time.UTC)
	fall := 12 * time.Hour
	if !revised && c.up >= 3 && c.down == 0 {
		fall = time.Hour
	}
	for range 366 {
		if last.Sub(wall) <= fall || revised && wall.Hour() >= 6 {
			break
		}
		wall = wall.AddDate(0, 0, 1)
	}
	return wall
}

// leave counts a time that no clock of the zone ever showed.
func (c *fileClock) leave(text string) {
	if c.left++; c.left == 1 {
		c.leftText = text
	}
}

// says is what a person should know of the file's times; "" when all is well.
func (c *fileClock) says() string {
	if c.left == 0 {
		return ""
	}
	return fmt.Sprintf("%d times lie in the hour that the change of clocks leaves out (the first %s): they are read as if the clock had not "+
		"been changed; "+
		"check time.zone in the map, and the device's clock", c.left, quoted(c.leftText))
}

// moments turns a time as a clock on the wall shows it into the moments that it
// may name: one, two where the zone's clocks were set back, none where they
// skipped it; before is then what the clock says that was not set forward.
func moments(wall time.Time, zone *time.Location) (first, second int64, skipped bool) {
	const around = 26 * 3600
	at := wall.Unix()
	was, is := offsetAt(zone, at-around), offsetAt(zone, at+around)
	early, late := at-was, at-is
	ns := func(unix int64) int64 { return time.Unix(unix, int64(wall.Nanosecond())).UnixNano() }
	if was == is {
		return ns(early), 0, false
	}
	isEarly, isLate := offsetAt(zone, early) == was, offsetAt(zone, late) == is
	switch {
	case isEarly && isLate:
		return ns(early), ns(late), false
	case isLate:
		return ns(late), 0, false
	case isEarly:
		return ns(early), 0, false
	}
	return ns(early), 0, true
}

func offsetAt(zone *time.Location, unix int64) int64 {
	_, offset := time.Unix(unix, 0).In(zone).Zone()
	return int64(offset)
}
