package event

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
)

var idRule = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._:-]{0,63}$`)

// Lengths of words, in bytes.
const (
	LongestText  = 4000 // a note
	LongestLabel = 200  // a name
)

const (
	// An event that takes effect this long after it was recorded speaks of what
	// nobody can know yet; clocks of one hub do not differ by so much.
	early = time.Minute
	// Nobody corrects a visit from longer ago; a wrong date does it by mistake.
	oldest = 400 * 24 * time.Hour

	mostShots = 2000 // named in one event
)

// Check collects what is wrong with an event, one fault for each refused field.
// Its methods do not change what they are given.
type Check struct{ Faults []*Fault }

// Add notes a fault.
func (c *Check) Add(field string, value any, reason, hint string) {
	c.Faults = append(c.Faults, NewFault(field, fmt.Sprint(value), reason, hint))
}

// ID checks the name of a thing; may says whether it may be left out.
func (c *Check) ID(field, id string, may bool) {
	switch {
	case id == "" && may:
	case id == "":
		c.Add(field, id, "missing", "give the id")
	case !idRule.MatchString(id):
		c.Add(field, id, "not an id", "use 1 to 64 letters, digits, '.', '_', ':' and '-', beginning with a letter or digit")
	}
}

// Text checks words for people.
func (c *Check) Text(field, text string, longest int) {
	switch {
	case strings.ToValidUTF8(text, "") != text:
		c.Add(field, "", "not valid UTF-8 text", "write it again")
	case len(text) > longest:
		c.Add(field, text, fmt.Sprintf("longer than %d bytes", longest), "shorten it")
	case strings.ContainsFunc(text, func(r rune) bool { return r < ' ' && r != '\n' && r != '\t' || r == 0x7f }):
		c.Add(field, fmt.Sprintf("%q", text), "holds control characters", "write it again without them")
	}
}

// Number checks a value against a range; NaN is outside of every range.
func (c *Check) Number(field string, v, low, high float64, unit string) {
	if !(v >= low && v <= high) {
		c.Add(field, v, strings.TrimSpace(fmt.Sprintf("outside %g to %g %s", low, high, unit)), "check the unit")
	}
}

// Optional checks a value that may be left out.
func (c *Check) Optional(field string, v *float64, low, high float64, unit string) {
	if v != nil {
		c.Number(field, *v, low, high, unit)
	}
}

// OneOf checks a word against the known ones; empty says nothing and is good.
func (c *Check) OneOf(field, word string, known ...string) {
	if word != "" && !slices.Contains(known, word) {
		c.Add(field, word, "not known", "use "+strings.Join(known, ", "))
	}
}

// Choice checks the number of an enumeration against its names.
func (c *Check) Choice(field string, n int32, names map[int32]string) {
	if _, ok := names[n]; !ok {
		c.Add(field, n, "not known to this version", "update this program")
	}
}

// Shots checks named shots; at least says how few are too few.
func (c *Check) Shots(ids [][]byte, atLeast int) {
	if len(ids) < atLeast {
		c.Add("shot_ids", len(ids), "names no shot", "name at least one")
	}
	if len(ids) > mostShots {
		c.Add("shot_ids", len(ids), fmt.Sprintf("more than %d shots", mostShots), "write several events")
	}
	for i, id := range ids {
		if len(id) != len(ShotID{}) {
			c.Add(fmt.Sprintf("shot_ids[%d]", i), fmt.Sprintf("%x", id), fmt.Sprintf("%d bytes instead of 16", len(id)),
				"give the id as `fairlead tail` prints it")
		}
	}
}

// Envelope checks what all kinds of visit events have: ids, studio and bay,
// times that are not far off, what was seen. now is the hub's clock.
func (c *Check) Envelope(ev *VisitEvent, now time.Time) {
	if ev.Contract > Contract {
		c.Add("contract", ev.Contract, "written by a later version", "update this program")
	}
	c.ID("id", ev.Id, false)
	if err := CheckName("studio", ev.Studio); err != nil {
		c.Add("studio", ev.Studio, err.Error(), "")
	}
	if err := CheckName("bay", ev.Bay); err != nil {
		c.Add("bay", ev.Bay, err.Error(), "")
	}
	c.ID("who", ev.Who, true)
	c.ID("person", ev.Person, true)
	c.ID("device", ev.Device, true)
	c.ID("visit", ev.Visit, true)
	c.ID("session", ev.Session, true)
	c.times(ev, now)
	if s := ev.LastSeen; s != nil && (s.Journal == "" || s.Seq == 0) {
		c.Add("last_seen", fmt.Sprintf("%s/%d", s.Journal, s.Seq), "names no entry", "leave it out when no entry was on the screen")
	}
}

func (c *Check) times(ev *VisitEvent, now time.Time) {
	effective, recorded := time.Unix(0, ev.EffectiveUnixNs), time.Unix(0, ev.RecordedUnixNs)
	show := func(t time.Time) string { return t.UTC().Format(time.RFC3339) }
	switch {
	case ev.RecordedUnixNs == 0:
		c.Add("recorded_time", "", "missing", "give the time at which it was written down")
	case recorded.Before(earliest):
		c.Add("recorded_time", show(recorded), "before 2000", "set the hub's clock")
	case recorded.After(now.Add(ahead)):
		c.Add("recorded_time", show(recorded), "more than a day in the future", "set the hub's clock")
	}
	switch {
	case ev.EffectiveUnixNs == 0:
		c.Add("effective_time", "", "missing", "give the time from which it holds")
	case effective.Before(earliest):
		c.Add("effective_time", show(effective), "before 2000", "check the date")
	case effective.After(now.Add(ahead)):
		c.Add("effective_time", show(effective), "more than a day in the future", "check the date")
	case ev.RecordedUnixNs == 0:
	case effective.After(recorded.Add(early)):
		c.Add("effective_time", show(effective), "after it was recorded", "write it down when it has happened")
	case effective.Before(recorded.Add(-oldest)):
		c.Add("effective_time", show(effective), "more than a year before it was recorded", "check the date")
	}
}
