package question

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/profile"
)

// DescribingShots is how many shots of the own club make a profile at least.
const DescribingShots = 5

// CheckedDays is for how many days a bay's check says what its device reads off.
const CheckedDays = 31

// resolution is the variance in m² of a place that is written to the millimetre.
var resolution = math.Pow(0.001, 2) / 12

// Profiles selects the profiles of a snapshot. where narrows the players: conditions
// of trials, each followed by AND.
func Profiles(snapshot uint64, where string) string { return profilesOf(snapshot, where, "") }

func profilesOf(snapshot uint64, where, player string) string {
	return text("profiles.sql", asked{
		Player: cmp.Or(player, "player"), Snapshot: snapshot, Where: where, LeastShots: profile.MinShots, Resolution: resolution,
		Describing: DescribingShots, Days: CheckedDays,
	})
}

// Trials selects trials as fleet_trials has them. where narrows the trials, as in
// Profiles; profiles is the select that their profiles come from.
func Trials(snapshot uint64, where, profiles string) string {
	return trialsOf(snapshot, where, profiles, "")
}

func trialsOf(snapshot uint64, where, profiles, player string) string {
	return text("fleet_trials.sql", asked{Player: cmp.Or(player, "player"), Snapshot: snapshot, Where: where, Profiles: profiles})
}

// Step is one statement of making a snapshot.
type Step struct{ What, SQL string }

// Snapshot lists the statements that make a snapshot of trials, in order. player is, as
// SQL, as whom a trial's player is told of; empty: as themselves.
func Snapshot(snapshot uint64, player string) []Step {
	kept := fmt.Sprintf("SELECT * FROM profiles WHERE snapshot = %d", snapshot)
	return []Step{
		{"profiles", "INSERT INTO profiles " + profilesOf(snapshot, "", player)},
		{"trials", "INSERT INTO fleet_trials " + trialsOf(snapshot, "", kept, player)},
		{"builds", text("fleet_builds.sql", asked{Snapshot: snapshot})},
		{"days", text("fleet_days.sql", asked{Snapshot: snapshot})},
	}
}

// BayChecks asks for the figures of all bays' checks, in time.
func BayChecks() string { return text("fleet_checks.sql", asked{}) }

// KeepJoins inserts whom a snapshot tells of as one.
func KeepJoins() string { return text("fleet_keep_joins.sql", asked{}) }

// JoinedAs asks as whom snapshots tell of a player (v).
func JoinedAs() string { return text("fleet_joined.sql", asked{}) }

// KeepBiases inserts what bays' devices read off, of a snapshot.
func KeepBiases() string { return text("fleet_keep_biases.sql", asked{}) }

// Errors asks for the mean variances of the errors of traits, of profiles, and of how
// many of them something was taken off for the bay's device; with measured as if
// nothing had been.
func Errors(where string, measured bool) string {
	return text("fleet_errors.sql", asked{Where: where, Measured: measured})
}

// Counts asks what a snapshot holds: profiles, trials, shots, players.
func Counts(snapshot uint64) string { return text("fleet_counts.sql", asked{Snapshot: snapshot}) }

// Older asks for the snapshots before one.
func Older(snapshot uint64) string { return text("fleet_older.sql", asked{Snapshot: snapshot}) }

// Repeats asks for the clubs of a snapshot that were hit in several runs: of a category
// (c), before an instant (b, unix milliseconds).
func Repeats(snapshot uint64) string { return text("fleet_repeats.sql", asked{Snapshot: snapshot}) }

// Latest asks for the newest finished snapshot.
func Latest() string { return text("fleet_latest.sql", asked{}) }

// OutdatedTrials asks of how many trials another flight model than the program's made
// something that a snapshot would take.
func OutdatedTrials() string { return text("fleet_outdated.sql", asked{}) }

// TrialsMark asks how far trials have come: the last insert, the highest version.
func TrialsMark() string { return text("trials_mark.sql", asked{}) }

// shift moves a mean to its category's reference build, as profile.Effects has it.
func shift(term string) (string, error) {
	moved, ok := terms[term]
	if !ok {
		return "", fmt.Errorf("no mean %q is moved by a build", term)
	}
	var cases []string
	for _, c := range []glossary.Category{glossary.Driver, glossary.Wood, glossary.Hybrid, glossary.Iron, glossary.Wedge} {
		ref := profile.Reference(c)
		at := map[string]float64{"length": ref.Length.V, "loft": ref.Loft.V, "lie": ref.Lie.V}
		sum := "0"
		for _, e := range profile.Effects(ref.Loft.V) {
			if e.Term != moved || e.Mean == 0 {
				continue
			}
			column := map[string]string{"length": "build_length_m", "loft": "build_loft_deg", "lie": "build_lie_deg"}[e.Attribute]
			sum += fmt.Sprintf(" + ifNull(%.9g * (%.9g - %s), 0)", e.Mean, at[e.Attribute], column)
		}
		cases = append(cases, fmt.Sprintf("category = '%s', %s", c, sum))
	}
	return "multiIf(" + strings.Join(cases, ", ") + ", 0)", nil
}

// terms are the means that a build may move.
var terms = map[string]profile.Term{
	"speed": profile.Speed, "attack": profile.Attack, "face_to_path": profile.FaceToPath, "dynamic_loft": profile.DynamicLoft,
}

// flex is fleet.FlexIndex in SQL.
func flex(column string) string {
	var from, to []string
	for _, letter := range []string{"L", "A", "M", "R", "S", "X"} {
		for _, sign := range []string{"", "+", "-"} {
			for _, l := range []string{letter, strings.ToLower(letter)} {
				x, _ := fleet.FlexIndex(l + sign)
				from, to = append(from, "'"+l+sign+"'"), append(to, fmt.Sprintf("%.9g", x))
			}
		}
	}
	return fmt.Sprintf("transform(%s, [%s], [%s], nan)", column, strings.Join(from, ", "), strings.Join(to, ", "))
}

// traits are those of a profile, nan where it has none.
func traits() string {
	var all []string
	for _, t := range fleet.TraitNames {
		all = append(all, fmt.Sprintf("ifNull(p.%[1]s, nan) AS %[1]s", t))
	}
	return strings.Join(all, ", ")
}

// attributes are those of a build, of any of its trials.
func attributes() string {
	var all []string
	for _, a := range fleet.AllAttributes() {
		all = append(all, "any("+a.Name()+")")
	}
	return strings.Join(all, ", ")
}
