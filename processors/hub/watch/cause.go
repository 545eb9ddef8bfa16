package watch

import (
	"fmt"
	"slices"
	"strings"
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
	// Since is since when bays can be heard: the watch runs and the broker answers.
	// Silence before that says nothing.
	Since time.Time
	// Here are the bays, and the console, whose journals lie on the hub's disk.
	Here []string
	// Tight says that little or no room is left on that, or was when they last spoke.
	Tight bool
}

// Causes turns a look into alarms that name the cause rather than everything
// that follows from it: nobody is sent to a bay's PC while the broker hangs.
func (s Seen) Causes() []Alarm {
	out := slices.DeleteFunc(slices.Clone(s.Hub), s.follows)
	deaf := slices.ContainsFunc(s.Hub, Alarm.Deafens)
	slow := s.slowBroker()
	off := map[string]bool{} // bays that are switched off, as far as can be told
	for _, a := range s.Bays {
		off[a.Bay] = off[a.Bay] || a.What == "silent" && !deaf
	}
	if slow != nil && !deaf && !s.full(Broker) {
		out = append(out, *slow)
	}
	for _, a := range s.Bays {
		alarm := Alarm{Where: OfBay(a.Bay), What: a.What, Text: a.Text, Severity: SeverityOf(a.What)}
		if a.Bay == "console" {
			alarm.Where = Console
		}
		switch {
		case a.What == "silent" && deaf:
			continue // nobody can be heard
		case a.What == "silent" && slices.ContainsFunc(s.Hub, func(h Alarm) bool { return h.Where == alarm.Where && cutsOff[h.What] }):
			continue // the broker refuses it, which is said
		case a.What == "late" && (deaf || slow != nil || s.full(Broker)):
			continue // what the bays' networks are not to be blamed for
		case (a.What == "full" || a.What == "low") && s.Tight && slices.Contains(s.Here, a.Bay):
			continue // it is the hub's disk, which is said
		case a.What == "silent" && a.Bay == "console" && s.has(Console, Stuck):
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

// Deafens says that bays can't be heard while the alarm lasts.
func (a Alarm) Deafens() bool { return a.Where == Broker && a.What == Stuck }

// Tightens says that little or no room is left on the hub's disk.
func (a Alarm) Tightens() bool { return a.Where == "hub" && (a.What == "full" || a.What == "low") }

// has says whether one of the hub's alarms is of a place, and of one of some names.
func (s Seen) has(where string, what ...string) bool {
	return slices.ContainsFunc(s.Hub, func(a Alarm) bool { return a.Where == where && slices.Contains(what, a.What) })
}

// full says whether a part of the hub has no disk to write to.
func (s Seen) full(part string) bool { return s.has("hub", "full") || s.has(part, "full") }

// follows says whether an alarm of the hub is only what another one does. A process
// that does not answer is not excused by anything: it is looked at itself.
func (s Seen) follows(a Alarm) bool {
	store, log := s.has(Engine, Stuck) || s.full(Engine), s.has(Broker, Stuck) || s.full(Broker)
	switch {
	case a.What == Stuck && (a.Where == Process || a.Where == Forward):
		return strings.HasPrefix(a.Text, idle) && (store || log)
	case a.What == "behind" || a.What == "gap":
		return store || log || s.has(Process, Stuck)
	}
	return false
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
