package question

import (
	"fmt"
	"strings"

	"fairlead/processors/golf/fleet"
)

// What is asked of a snapshot's trials. where is a condition over fleet_trials, or of
// the table that is named.

// Figures asks what the trials of each studio say, and of all, the largest first.
func Figures(where string, most int) string {
	return text("fleet_figures.sql", asked{Where: where, Most: most})
}

// FiguresByDay is Figures from sums by studio and day; where is over fleet_days.
func FiguresByDay(where string, most int) string {
	return text("fleet_figures_by_day.sql", asked{Where: where, Most: most})
}

// Page asks for trials that are judged, of players after one (a literal).
func Page(columns, where, after string, most int) string {
	return text("fleet_page.sql", asked{Columns: columns, Where: where, After: after, Most: most})
}

// Rows asks for columns of rows as fleet_trials has them, from what from says.
func Rows(columns []string, from, order string) string {
	return text("fleet_rows.sql", asked{Columns: strings.Join(columns, ", "), From: from, Order: order})
}

// Count asks how many trials there are.
func Count(where string) string { return text("fleet_count.sql", asked{Where: where}) }

// StudioCount asks of how many studios trials are.
func StudioCount(where string) string { return text("fleet_studio_count.sql", asked{Where: where}) }

// Players asks of how many players they are.
func Players(where string) string { return text("fleet_players.sql", asked{Where: where}) }

// Holding asks how many trials of how many players there are, from when to when.
func Holding(where string) string { return text("fleet_holding.sql", asked{Where: where}) }

// Speeds asks for thirds of the clubhead speeds; where is over profiles.
func Speeds(where string) string { return text("fleet_speeds.sql", asked{Where: where}) }

// Studios asks for those with players enough.
func Studios(where string, players int) string {
	return text("fleet_studios.sql", asked{Where: where, Least: players})
}

// Choices asks for studios and their players; where is over fleet_days.
func Choices(where string) string { return text("fleet_choices.sql", asked{Where: where}) }

// Spans asks for low, middle, high and number of each trait; where is over profiles.
func Spans(where string) string { return text("fleet_spans.sql", asked{Where: where}) }

// Stock asks for the builds that were tried; where is over fleet_builds.
func Stock(where string, most int) string {
	return text("fleet_stock.sql", asked{Where: where, Most: most})
}

// With is the condition that a session hit one of some builds, literals with commas.
func With(snapshot uint64, builds string) string {
	return text("fleet_with.sql", asked{Snapshot: snapshot, Builds: builds})
}

// Between is the condition that a trial is of one of two builds, in a session of both.
func Between(snapshot uint64, builds string) string {
	return text("fleet_between.sql", asked{Snapshot: snapshot, Builds: builds})
}

// KeepSnapshot inserts a finished snapshot.
func KeepSnapshot() string { return text("fleet_keep.sql", asked{}) }

// Drop takes a snapshot out of a table.
func Drop(table string, snapshot uint64) string {
	return text("fleet_drop.sql", asked{Table: table, Snapshot: snapshot})
}

// Forget takes a player out of a table.
func Forget(table string) string { return text("fleet_forget.sql", asked{Table: table}) }

// Swing asks for the traits of the profile that a select gives.
func Swing(profiles string) string { return text("fleet_swing.sql", asked{Profiles: profiles}) }

// Hit asks how many trials, none or one, a condition holds for that ends with AND.
func Hit(where string) string { return text("known_hit.sql", asked{Where: where + "true"}) }

// TrialWhen asks where and when a trial was hit, an hour wider.
func TrialWhen() string { return text("trial_when.sql", asked{}) }

// TrialShots asks for the shots of a trial.
func TrialShots() string { return text("trial_shots.sql", asked{}) }

// names are those of a build's attributes.
func names() string {
	var all []string
	for _, a := range fleet.AllAttributes() {
		all = append(all, a.Name())
	}
	return strings.Join(all, ", ")
}

// spans are low, middle and high of each trait, 0 where nobody's is known, and of how
// many players it is.
func spans() string {
	var all []string
	for _, t := range fleet.TraitNames {
		for _, q := range []string{"0.01", "0.5", "0.99"} {
			all = append(all, fmt.Sprintf("ifNotFinite(quantileIf(%[1]s)(assumeNotNull(%[2]s), isNotNull(%[2]s)), 0)", q, t))
		}
		all = append(all, "count("+t+")")
	}
	return strings.Join(all, ", ")
}

// floats are the traits of a profile, nan where it has none.
func floats() string {
	var all []string
	for _, t := range fleet.TraitNames {
		all = append(all, "toFloat64(ifNull("+t+", nan))")
	}
	return strings.Join(all, ", ")
}
