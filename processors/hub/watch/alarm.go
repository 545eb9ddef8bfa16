package watch

import (
	"cmp"
	"slices"
	"time"
)

// Severity says how soon somebody should look.
type Severity string

// Severities: critical means that shots or entries are not taken or not seen now.
const (
	Critical Severity = "critical"
	Warning  Severity = "warning"
)

// Alarm is one thing that is wrong: where (a bay, or a process of the hub), what
// (one word), and in words what it means and what to try.
type Alarm struct {
	Where    string   `json:"where"`
	What     string   `json:"what"`
	Text     string   `json:"text"`
	Severity Severity `json:"severity"`
}

// key tells alarms apart: the words of one may change while it lasts.
type key struct{ where, what string }

func (a Alarm) key() key { return key{a.Where, a.What} }

// severities of what a bay's heartbeats say (health.Alarm.What); others warn.
var severities = map[string]Severity{"silent": Critical, "full": Critical, "feed": Critical, "damaged": Critical}

// SeverityOf is the severity of a bay's alarm of that name.
func SeverityOf(what string) Severity { return cmp.Or(severities[what], Warning) }

// Known is an alarm and its history.
type Known struct {
	Alarm
	Since time.Time `json:"since"`
	// Ended is when it was first seen to be gone; zero while it lasts.
	Ended time.Time `json:"ended,omitzero"`
	// Told is when each sender told people that it began.
	Told map[string]time.Time `json:"told,omitempty"`
}

// lasts says that the alarm was there at the last look.
func (k *Known) lasts() bool { return k.Ended.IsZero() }

// byTrouble orders alarms: critical ones first, then the longest.
func byTrouble(list []Known) {
	slices.SortFunc(list, func(a, b Known) int {
		return cmp.Or(cmp.Compare(a.Severity, b.Severity), a.Since.Compare(b.Since), cmp.Compare(a.Where, b.Where), cmp.Compare(a.What, b.What))
	})
}
