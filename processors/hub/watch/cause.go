package watch

import (
	"fmt"
	"slices"
	"time"

	"fairlead/processors/hub/health"
)

// Processes of the hub that others can't be judged without.
const (
	Engine  = "engine"
	Broker  = "broker"
	Process = "process"
	Console = "console"
	// Forward sends to a head office; a studio works without.
	Forward = "forward"
)

// Stuck is what a process is that does not answer or does not get on.
const Stuck = "stuck"

// Why the broker refuses a bay: it says too much, its key was taken back, or the time
// of its old secret is over.
const (
	Flooding = "flooding"
	Revoked  = "revoked"
	Expired  = "expired"
)

var cutsOff = map[string]bool{Flooding: true, Revoked: true, Expired: true}

// Seen is what one look found.
type Seen struct {
	At   time.Time
	Bays []health.Alarm // what bays say, and their silence
	Hub  []Alarm        // what processes of the hub say or fail to
	Open bool           // the studio is open: a bay that is switched off is missed
	// Opened is when the studio opened last, where it has hours.
	Opened time.Time
	// Expected is how many bays the studio has; 0: slowness has no common cause.
	Expected int
	Since    time.Time // this watch looks since then: silence before it says nothing
}

// Causes turns a look into alarms that name the cause rather than everything
// that follows from it: nobody is sent to a bay's PC while the broker hangs.
func (s Seen) Causes() []Alarm {
	out := slices.Clone(s.Hub)
	deaf := slices.ContainsFunc(s.Hub, func(a Alarm) bool { return a.Where == Broker && a.What == Stuck })
	slow := s.slowBroker()
	off := map[string]bool{} // bays that are switched off, as far as can be told
	for _, a := range s.Bays {
		off[a.Bay] = off[a.Bay] || a.What == "silent" && !deaf
	}
	if slow != nil && !deaf {
		out = append(out, *slow)
	}
	for _, a := range s.Bays {
		alarm := Alarm{Where: "bay " + a.Bay, What: a.What, Text: a.Text, Severity: SeverityOf(a.What)}
		if a.Bay == "console" {
			alarm.Where = Console
		}
		switch {
		case a.What == "silent" && deaf:
			continue // nobody can be heard
		case a.What == "silent" && slices.ContainsFunc(s.Hub, func(h Alarm) bool { return h.Where == alarm.Where && cutsOff[h.What] }):
			continue // the broker refuses it, which is said
		case a.What == "late" && (deaf || slow != nil):
			continue // what the bays' networks are not to be blamed for
		case a.What == "silent" && a.Bay == "console" &&
			slices.ContainsFunc(s.Hub, func(h Alarm) bool { return h.Where == Console && h.What == Stuck }):
			continue
		case a.What == "silent" && s.At.Sub(s.Since) < health.SilentAfter+comingTakes:
			continue
		case a.What == "silent" && !s.missed(a):
			continue
		case fleeting[a.What] && !s.Open && off[a.Bay]:
			continue // what it said when it was switched off
		}
		out = append(out, alarm)
	}
	return out
}

// comingTakes is how long after the watch began bays that run have surely been heard.
const comingTakes = 15 * time.Second

// openingTakes is how long after the studio opened its bays' PCs may be switched on.
const openingTakes = 15 * time.Minute

// fleeting are alarms that a bay which is switched off no longer has.
var fleeting = map[string]bool{"late": true, "skew": true, "step": true, "feed": true}

// missed says whether a silent bay is trouble: the studio is open, and the bay
// was heard since it opened or should be on by now.
func (s Seen) missed(a health.Alarm) bool {
	return s.Open && (s.Opened.IsZero() || s.At.Sub(s.Opened) >= openingTakes || a.Heard.After(s.Opened))
}

// slowBroker is the one cause where bays that are heard can all not bring their
// entries away: it lies where their ways meet.
func (s Seen) slowBroker() *Alarm {
	late, silent := map[string]bool{}, 0
	for _, a := range s.Bays {
		switch {
		case a.Bay == Console:
		case a.What == "late":
			late[a.Bay] = true
		case a.What == "silent":
			silent++
		}
	}
	if heard := s.Expected - silent; s.Expected == 0 || len(late) < 2 || len(late) < heard {
		return nil
	}
	return &Alarm{Where: Broker, What: "slow", Severity: Critical,
		Text: fmt.Sprintf("entries of all %d bays that are heard wait to be sent, though the broker answers: "+
			"its disk is full or slow, or its machine out of breath. Shots are safe in the bays' journals. See the hub's disk and `journalctl -u "+
			"fairlead`", len(late))}
}
