package stream

import "strings"

// Names of streams and buckets.
const (
	Shots  = "SHOTS"  // every entry of every bay, as its journal gave it
	Visits = "VISITS" // every visit event, for ever
	Leases = "LEASES" // who tags which bay (keys studio.bay), and which taggers are there
	People = "PEOPLE" // cache of the hub's people store; never the only home
)

// Place names one bay of one studio.
type Place struct{ Studio, Bay string }

func (p Place) String() string { return p.Studio + "." + p.Bay }

// ShotsSubject carries the entries of one bay.
func (p Place) ShotsSubject() string { return "shots." + p.String() }

// VisitsSubject carries the visit events of one bay.
func (p Place) VisitsSubject() string { return "visits." + p.String() }

// HealthSubject carries the bay's heartbeats (not stored).
func (p Place) HealthSubject() string { return "health." + p.String() }

// RepairSubject is answered by the bay's collector: it publishes again what a
// RepairRequest names.
func (p Place) RepairSubject() string { return "repair." + p.String() }

// AskSubject is answered by the bay's collector with a fresh heartbeat.
func (p Place) AskSubject() string { return "ask." + p.String() }

// DeskSubject is answered by the bay's collector: its feeds, samples of what its
// devices write, and their maps. The studio's console alone may ask there.
func (p Place) DeskSubject() string { return "desk." + p.String() }

// LiveSubject carries what the live page shows, as it changes (not stored).
// kind is a word such as shot, trial or alarm.
func (p Place) LiveSubject(kind string) string { return "live." + p.String() + "." + kind }

// MarksSubject is answered by the hub with what the store holds of a bay's journals.
func (p Place) MarksSubject() string { return "hub.marks." + p.String() }

// StateSubject is answered by the hub with a bay's latest state.
func (p Place) StateSubject() string { return "hub.state." + p.String() }

// GroupSubject is answered by the hub of a head office for a studio that sends to
// it: what is a word such as sums.
func GroupSubject(studio, what string) string { return "hub.group." + studio + "." + what }

// In is what a bay is called in a hub: by its name at home, with its studio where
// it is one of another studio's, which may have bays of the same names.
func (p Place) In(home string) string {
	if home == "" || p.Studio == home {
		return p.Bay
	}
	return p.String()
}

// ConsoleBay is the name under which the console's journal of visit events
// reports and is repaired, as if it were a bay.
const ConsoleBay = "console"

// ClockSubject is answered by the hub with its own time.
const ClockSubject = "hub.clock"

// PlaceOf reads studio and bay from a subject made by Place.
func PlaceOf(subject string) (p Place, ok bool) {
	parts := strings.Split(subject, ".")
	if len(parts) > 2 && parts[0] == "hub" {
		parts = parts[1:]
	}
	if len(parts) < 3 || parts[1] == "" || parts[2] == "" {
		return Place{}, false
	}
	return Place{parts[1], parts[2]}, true
}
