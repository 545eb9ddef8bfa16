package event

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
)

var idRule = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._:-]{0,63}$`)

const (
	// An event that takes effect this long after it was recorded speaks of what
	// nobody can know yet; clocks of one hub do not differ by so much.
	early = time.Minute
	// Nobody corrects a visit from longer ago; a wrong date does it by mistake.
	oldest = 400 * 24 * time.Hour

	longestText  = 4000 // bytes of a note
	longestLabel = 200  // bytes of a name
	mostShots    = 2000 // named in one event
)

// visitCheck collects what is wrong with an event.
type visitCheck struct{ faults []*Fault }

func (c *visitCheck) add(field string, value any, reason, hint string) {
	c.faults = append(c.faults, NewFault(field, fmt.Sprint(value), reason, hint))
}

// id checks the name of a thing; may says whether it may be left out.
func (c *visitCheck) id(field, id string, may bool) {
	switch {
	case id == "" && may:
	case id == "":
		c.add(field, id, "missing", "give the id")
	case !idRule.MatchString(id):
		c.add(field, id, "not an id", "use 1 to 64 letters, digits, '.', '_', ':' and '-', beginning with a letter or digit")
	}
}

// text checks words for people.
func (c *visitCheck) text(field, text string, longest int) {
	switch {
	case strings.ToValidUTF8(text, "") != text:
		c.add(field, "", "not valid UTF-8 text", "write it again")
	case len(text) > longest:
		c.add(field, text, fmt.Sprintf("longer than %d bytes", longest), "shorten it")
	case strings.ContainsFunc(text, func(r rune) bool { return r < ' ' && r != '\n' && r != '\t' || r == 0x7f }):
		c.add(field, fmt.Sprintf("%q", text), "holds control characters", "write it again without them")
	}
}

// number checks a value against a range; NaN is outside of every range.
func (c *visitCheck) number(field string, v, low, high float64, unit string) {
	if !(v >= low && v <= high) {
		c.add(field, v, strings.TrimSpace(fmt.Sprintf("outside %g to %g %s", low, high, unit)), "check the unit")
	}
}

func (c *visitCheck) optional(field string, v *float64, low, high float64, unit string) {
	if v != nil {
		c.number(field, *v, low, high, unit)
	}
}

// oneOf checks a word against the known ones; empty says nothing and is good.
func (c *visitCheck) oneOf(field, word string, known ...string) {
	if word != "" && !slices.Contains(known, word) {
		c.add(field, word, "not known", "use "+strings.Join(known, ", "))
	}
}

// choice checks the number of an enumeration against its names.
func (c *visitCheck) choice(field string, n int32, names map[int32]string) {
	if _, ok := names[n]; !ok {
		c.add(field, n, "not known to this version", "update this program")
	}
}

// shots checks named shots; at least says how few are too few.
func (c *visitCheck) shots(ids [][]byte, atLeast int) {
	if len(ids) < atLeast {
		c.add("shot_ids", len(ids), "names no shot", "name at least one")
	}
	if len(ids) > mostShots {
		c.add("shot_ids", len(ids), fmt.Sprintf("more than %d shots", mostShots), "write several events")
	}
	for i, id := range ids {
		if len(id) != len(ShotID{}) {
			c.add(fmt.Sprintf("shot_ids[%d]", i), fmt.Sprintf("%x", id), fmt.Sprintf("%d bytes instead of 16", len(id)), "give the id as `fairlead tail` prints it")
		}
	}
}

// ValidateEvent returns what is wrong with a visit event, one fault for each
// refused field: missing ids and reasons, unknown words, values that are not
// finite or not plausible, pairs that can't both be true, times far off. now
// is the hub's clock. It judges the event alone, not whether the session or
// trial that it names exists, and does not change it. A good event gives none.
func ValidateEvent(ev *VisitEvent, now time.Time) []*Fault {
	c := &visitCheck{}
	if ev == nil {
		c.add("", "", "no event", "")
		return c.faults
	}
	if ev.Contract > Contract {
		c.add("contract", ev.Contract, "written by a later version", "update this program")
	}
	c.id("id", ev.Id, false)
	if err := CheckName("studio", ev.Studio); err != nil {
		c.add("studio", ev.Studio, err.Error(), "")
	}
	if err := CheckName("bay", ev.Bay); err != nil {
		c.add("bay", ev.Bay, err.Error(), "")
	}
	c.id("who", ev.Who, true)
	c.id("visit", ev.Visit, true)
	c.id("session", ev.Session, true)
	c.times(ev, now)
	if s := ev.LastSeen; s != nil && (s.Journal == "" || s.Seq == 0) {
		c.add("last_seen", fmt.Sprintf("%s/%d", s.Journal, s.Seq), "names no entry", "leave it out when no entry was on the screen")
	}
	c.body(ev)
	return c.faults
}

func (c *visitCheck) times(ev *VisitEvent, now time.Time) {
	effective, recorded := time.Unix(0, ev.EffectiveUnixNs), time.Unix(0, ev.RecordedUnixNs)
	show := func(t time.Time) string { return t.UTC().Format(time.RFC3339) }
	switch {
	case ev.RecordedUnixNs == 0:
		c.add("recorded_time", "", "missing", "give the time at which it was written down")
	case recorded.Before(earliest):
		c.add("recorded_time", show(recorded), "before 2000", "set the hub's clock")
	case recorded.After(now.Add(ahead)):
		c.add("recorded_time", show(recorded), "more than a day in the future", "set the hub's clock")
	}
	switch {
	case ev.EffectiveUnixNs == 0:
		c.add("effective_time", "", "missing", "give the time from which it holds")
	case effective.Before(earliest):
		c.add("effective_time", show(effective), "before 2000", "check the date")
	case effective.After(now.Add(ahead)):
		c.add("effective_time", show(effective), "more than a day in the future", "check the date")
	case ev.RecordedUnixNs == 0:
	case effective.After(recorded.Add(early)):
		c.add("effective_time", show(effective), "after it was recorded", "write it down when it has happened")
	case effective.Before(recorded.Add(-oldest)):
		c.add("effective_time", show(effective), "more than a year before it was recorded", "check the date")
	}
}
