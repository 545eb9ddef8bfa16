package question

import (
	"strings"

	"fairlead/ingest/contract/event"
)

// What is asked for a paper that leaves the studio.

// HitCheck asks for the trial in which a verdict's delivered club was hit.
func HitCheck() string { return text("paper_hit_check.sql", asked{}) }

// PromisesKept asks of each verdict of a studio how many promises were kept.
func PromisesKept() string { return text("studio_kept.sql", asked{}) }

// EarlierVisit asks for the last visit before one in which the own club was hit.
func EarlierVisit() string { return text("paper_earlier.sql", asked{}) }

// Returns asks for the own clubs of players who hit one before, to learn how days differ.
func Returns() string { return text("paper_returns.sql", asked{}) }

// SessionShots asks for the shots of a session with every measured field.
func SessionShots() string { return text("paper_shots.sql", asked{}) }

// VisitEvents asks for the events of a bay that bear on a visit.
func VisitEvents() string { return text("paper_events.sql", asked{}) }

// Verdict asks for the event of a verdict in each bay that has it.
func Verdict() string { return text("paper_verdict.sql", asked{}) }

// VisitBays asks for the bays of a visit.
func VisitBays() string { return text("paper_bays.sql", asked{}) }

// OwnShots asks what a player hit with own clubs since a time.
func OwnShots() string { return text("own_shots.sql", asked{}) }

// Verdicts asks for the newest verdicts of a studio.
func Verdicts() string { return text("paper_verdicts.sql", asked{}) }

// measures are the columns of the measured fields, in the order of event.Fields.
func measures() string {
	var all []string
	for _, f := range event.Fields() {
		all = append(all, f.Column)
	}
	return strings.Join(all, ", ")
}
