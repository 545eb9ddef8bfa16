package watch

import (
	"fmt"
	"io"
	"slices"
	"time"

	"fairlead/ingest/log/durable"
)

// goneFor is how long an alarm must be away before it counts as over: what
// comes and goes is one trouble, not many.
const goneFor = 30 * time.Second

// keptEnded is how long an ended alarm stays in the list of what happened.
const keptEnded = 7 * 24 * time.Hour

// mostKept bounds what the file holds.
const mostKept = 500

// State is what a watch knows; it is written to a file after each change.
type State struct {
	Studio string    `json:"studio"`
	Looked time.Time `json:"looked"` // when the watch last looked; old: it does not run
	Alarms []Known   `json:"alarms"` // lasting and ended ones
	// Heard is when each bay was heard last, for the next watch.
	Heard map[string]time.Time `json:"heard,omitempty"`
}

// Read reads the file of a watch. A file that is not there is an empty state; a
// spoiled one too, with the error: it only holds what can be seen again.
func Read(file string) (State, error) {
	s, err := durable.ReadJSON[State](file)
	if err != nil {
		return s, fmt.Errorf("%s: %w: what was wrong before is forgotten, and seen again if it lasts", file, err)
	}
	return s, nil
}

// stateRoom is what the file keeps on the disk: a full disk is one of the things
// that it has to tell of.
const stateRoom = 256 << 10

// Write writes the state in one piece, on a full disk too.
func (s State) Write(file string) error { return durable.WriteJSONInRoom(file, s, stateRoom) }

// Lasting lists what is wrong now, the worst first.
func (s State) Lasting() (out []Known) {
	for _, k := range s.Alarms {
		if k.lasts() {
			out = append(out, k)
		}
	}
	byTrouble(out)
	return out
}

// Take brings the state up to date with what is wrong at a time.
func (s *State) Take(alarms []Alarm, now time.Time) {
	s.Looked = now
	there := map[key]Alarm{}
	for _, a := range alarms {
		if b, twice := there[a.key()]; twice {
			a.Text = b.Text + "; " + a.Text
		}
		there[a.key()] = a
	}
	kept := s.Alarms[:0]
	for _, k := range s.Alarms {
		a, lasts := there[k.key()]
		switch {
		case lasts && (k.lasts() || now.Sub(k.Ended) < goneFor):
			k.Alarm, k.Ended = a, time.Time{}
			delete(there, k.key())
		case k.lasts():
			k.Ended = now
		case now.Sub(k.Ended) > keptEnded:
			continue
		}
		kept = append(kept, k)
	}
	s.Alarms = kept
	for _, a := range alarms {
		if a, fresh := there[a.key()]; fresh {
			s.Alarms = append(s.Alarms, Known{Alarm: a, Since: now})
			delete(there, a.key())
		}
	}
	for len(s.Alarms) > mostKept && !s.Alarms[0].lasts() {
		s.Alarms = s.Alarms[1:]
	}
}

// holds adds what lasted when an earlier watch looked last: one that has just begun
// has not heard the bays, and does not know yet that something is over.
func (s *State) holds(alarms []Alarm, before time.Time) []Alarm {
	out := slices.Clone(alarms)
	for _, k := range s.Lasting() {
		if k.Since.Before(before) && !slices.ContainsFunc(alarms, func(a Alarm) bool { return a.key() == k.key() }) {
			out = append(out, k.Alarm)
		}
	}
	return out
}

// staleAfter is how long ago a watch that runs may have looked last.
const staleAfter = 30 * time.Second

// Fresh says whether the watch that wrote the state runs.
func (s State) Fresh(now time.Time) bool { return now.Sub(s.Looked).Abs() < staleAfter }

// Print lists in words what is wrong, the worst first, or that nothing is.
func (s State) Print(w io.Writer, now time.Time) error {
	if !s.Fresh(now) {
		fmt.Fprintln(w, "the watch does not run (`fairlead up` starts it): what follows may be old")
	}
	for _, k := range s.Lasting() {
		fmt.Fprintf(w, "%-8s  %s, %s, for %s: %s\n", k.Severity, k.Where, k.What, now.Sub(k.Since).Round(time.Second), k.Text)
	}
	if len(s.Lasting()) == 0 {
		fmt.Fprintln(w, "nothing is wrong")
	}
	return nil
}
