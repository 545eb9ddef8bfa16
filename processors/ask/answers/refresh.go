package answers

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"strings"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/profile"
	"fairlead/processors/hub/store"
)

// Fleet asks the fleet in one store. Its methods may be called from several
// goroutines.
type Fleet struct {
	store   *store.Store
	log     *slog.Logger
	now     func() time.Time
	workers int
	cache   answerCache
	figures figureCache
	choices choiceCache
}

// Options of a Fleet. The zero value works.
type Options struct {
	Logger  *slog.Logger
	Now     func() time.Time // the clock; nil: time.Now
	Workers int              // cores of a fit; 0: all
}

// New asks the fleet that a store holds. The store must be migrated.
func New(s *store.Store, o Options) *Fleet {
	if o.Logger == nil {
		o.Logger = slog.New(slog.DiscardHandler)
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	return &Fleet{store: s, log: o.Logger, now: o.Now, workers: o.Workers}
}

// Mark is how far the data had come: the time of the last insert into trials
// and the highest version, with what the snapshot holds.
type Mark struct {
	Snapshot uint64    `json:"snapshot"`
	Inserted time.Time `json:"inserted"`
	Version  uint64    `json:"version"`
	Trials   uint64    `json:"trials"`
	Shots    uint64    `json:"shots"`
	Players  uint64    `json:"players"`
	Profiles uint64    `json:"profiles"`
	Made     time.Time `json:"made"`
	Seconds  float64   `json:"seconds"`
}

// sameData says whether two marks are of the same data.
func (m Mark) sameData(o Mark) bool {
	return m.Inserted.Equal(o.Inserted) && m.Version == o.Version
}

// ErrNoSnapshot says that no snapshot was made yet.
var ErrNoSnapshot = fmt.Errorf("no snapshot of the fleet yet: run `fairlead fleet effects` once, or wait for the night's run")

// Latest is the newest finished snapshot, or ErrNoSnapshot.
func (f *Fleet) Latest(ctx context.Context) (Mark, error) {
	var m Mark
	rows, err := f.store.Conn().Query(ctx, `SELECT snapshot, mark_inserted, mark_version, trials, shots, players, profiles, made, seconds
		FROM fleet_snapshots FINAL ORDER BY snapshot DESC LIMIT 1`)
	if err != nil {
		return m, fmt.Errorf("fleet snapshots: %w", err)
	}
	defer rows.Close()
	if !rows.Next() {
		if err := rows.Err(); err != nil {
			return m, fmt.Errorf("fleet snapshots: %w", err)
		}
		return m, ErrNoSnapshot
	}
	if err := rows.Scan(&m.Snapshot, &m.Inserted, &m.Version, &m.Trials, &m.Shots, &m.Players, &m.Profiles, &m.Made, &m.Seconds); err != nil {
		return m, fmt.Errorf("fleet snapshots: %w", err)
	}
	return m, nil
}

// Current is the mark of trials as they are now.
func (f *Fleet) Current(ctx context.Context) (m Mark, err error) {
	if err := f.store.Conn().QueryRow(ctx, "SELECT max(inserted), max(version) FROM trials").Scan(&m.Inserted, &m.Version); err != nil {
		return m, fmt.Errorf("mark of trials: %w", err)
	}
	return m, nil
}

// Refresh makes a snapshot if trials changed since the last one, and returns
// the newest. Two at a time do no harm: the later one counts.
func (f *Fleet) Refresh(ctx context.Context) (Mark, error) {
	now, err := f.Current(ctx)
	if err != nil {
		return Mark{}, err
	}
	last, err := f.Latest(ctx)
	if err == nil && last.sameData(now) {
		return last, nil
	}
	if err != nil && err != ErrNoSnapshot {
		return Mark{}, err
	}
	begun := f.now()
	now.Snapshot = max(uint64(begun.UnixMilli()), last.Snapshot+1)
	// Sorting, grouping and joining spill to disk, so that the engine's memory is
	// bounded whatever the number of trials and players.
	ctx2 := clickhouse.Context(ctx, clickhouse.WithSettings(clickhouse.Settings{
		"max_bytes_before_external_group_by": 1 << 28, "max_bytes_before_external_sort": 1 << 28,
		"join_algorithm": "grace_hash", "max_bytes_in_join": 1 << 28, "grace_hash_join_initial_buckets": 1,
		"max_insert_block_size": 1 << 17, "min_insert_block_size_rows": 1 << 17, "min_insert_block_size_bytes": 1 << 26,
		"max_execution_time": 1800, "max_threads": 2,
	}))
	conn := f.store.Conn()
	for _, step := range []struct{ what, sql string }{
		{"profiles", "INSERT INTO profiles " + profilesSelect(now.Snapshot, "")},
		{"trials", trialsSQL(now.Snapshot)},
		{"builds", buildsSQL(now.Snapshot)},
		{"days", daysSQL(now.Snapshot)},
	} {
		if err := conn.Exec(ctx2, step.sql); err != nil {
			f.drop(context.WithoutCancel(ctx), now.Snapshot)
			return Mark{}, fmt.Errorf("snapshot of the fleet, %s: %w", step.what, err)
		}
	}
	const count = `SELECT (SELECT count() FROM profiles WHERE snapshot = {s:UInt64}), count(), sum(n), uniqExact(player) FROM fleet_trials WHERE snapshot = {s:UInt64}`
	if err := conn.QueryRow(ctx, count, clickhouse.Named("s", fmt.Sprint(now.Snapshot))).Scan(&now.Profiles, &now.Trials, &now.Shots, &now.Players); err != nil {
		return Mark{}, fmt.Errorf("snapshot of the fleet: %w", err)
	}
	now.Made = f.now().UTC()
	now.Seconds = now.Made.Sub(begun).Seconds()
	// A batch keeps milliseconds, which a bound time would lose.
	batch, err := conn.PrepareBatch(ctx, "INSERT INTO fleet_snapshots (snapshot, made, seconds, mark_inserted, mark_version, trials, shots, players, profiles)")
	if err != nil {
		return Mark{}, fmt.Errorf("snapshot of the fleet: %w", err)
	}
	if err := batch.Append(now.Snapshot, now.Made, now.Seconds, now.Inserted, now.Version, now.Trials, now.Shots, now.Players, now.Profiles); err != nil {
		return Mark{}, fmt.Errorf("snapshot of the fleet: %w", errors.Join(err, batch.Abort()))
	}
	if err := batch.Send(); err != nil {
		return Mark{}, fmt.Errorf("snapshot of the fleet: %w", err)
	}
	if err := f.keepFigures(ctx, now); err != nil {
		f.log.Warn("the figures of a snapshot are counted by the first page instead", "error", err)
	}
	f.log.Info("snapshot of the fleet", "snapshot", now.Snapshot, "trials", now.Trials, "players", now.Players, "seconds", now.Seconds)
	// The one before stays for questions that are being asked of it.
	f.sweep(ctx, last.Snapshot)
	return now, nil
}

// sweep removes snapshots older than the given one.
func (f *Fleet) sweep(ctx context.Context, keep uint64) {
	rows, err := f.store.Conn().Query(ctx, "SELECT DISTINCT snapshot FROM (SELECT snapshot FROM fleet_trials WHERE snapshot < {k:UInt64} GROUP BY snapshot UNION ALL SELECT snapshot FROM profiles WHERE snapshot < {k:UInt64} GROUP BY snapshot)", clickhouse.Named("k", fmt.Sprint(keep)))
	if err != nil {
		f.log.Warn("old snapshots can't be listed", "error", err)
		return
	}
	var old []uint64
	for rows.Next() {
		var s uint64
		if rows.Scan(&s) == nil {
			old = append(old, s)
		}
	}
	rows.Close()
	for _, s := range old {
		f.drop(ctx, s)
	}
}

// snapshotTables hold a partition for each snapshot.
var snapshotTables = []string{"fleet_trials", "profiles", "fleet_builds", "fleet_days"}

func (f *Fleet) drop(ctx context.Context, snapshot uint64) {
	for _, table := range snapshotTables {
		if err := f.store.Conn().Exec(ctx, fmt.Sprintf("ALTER TABLE %s DROP PARTITION %d", table, snapshot)); err != nil {
			f.log.Warn("an old snapshot can't be dropped", "table", table, "snapshot", snapshot, "error", err)
		}
	}
}

// Forget removes a player from snapshots at once. Stored answers name no
// player and stay.
func (f *Fleet) Forget(ctx context.Context, player string) error {
	defer f.figures.clear()
	for _, table := range []string{"fleet_trials", "profiles"} {
		if err := f.store.Conn().Exec(ctx, "DELETE FROM "+table+" WHERE player = ?", player); err != nil {
			return fmt.Errorf("forget a player in %s: %w", table, err)
		}
	}
	return nil
}

// fieldOf is the number of a field in trials.fields.
func fieldOf(f event.Field) int { return int(f) }

// profilesSelect computes profiles as package profile does, from the moments of
// one trial a player and category: means of at least profile.MinShots shots,
// handed, moved to the category's reference build by profile.Effects. The
// strike's scatter is taken as round or not by its two axes alone, since moments
// hold no covariance; ψ and ψ′ enter by their asymptotic series, good to 1e-4
// from three degrees on. where narrows the players.
func profilesSelect(snapshot uint64, where string) string {
	mean := func(f event.Field) string { return fmt.Sprintf("mean_of(%d)", fieldOf(f)) }
	shift := func(t profile.Term) string {
		var cases []string
		for _, c := range []glossary.Category{glossary.Driver, glossary.Wood, glossary.Hybrid, glossary.Iron, glossary.Wedge} {
			ref := profile.Reference(c)
			at := map[string]float64{"length": ref.Length.V, "loft": ref.Loft.V, "lie": ref.Lie.V}
			sum := "0"
			for _, e := range profile.Effects(ref.Loft.V) {
				if e.Term == t && e.Mean != 0 {
					column := map[string]string{"length": "build_length_m", "loft": "build_loft_deg", "lie": "build_lie_deg"}[e.Attribute]
					sum += fmt.Sprintf(" + ifNull(%.9g * (%.9g - %s), 0)", e.Mean, at[e.Attribute], column)
				}
			}
			cases = append(cases, fmt.Sprintf("category = '%s', %s", c, sum))
		}
		return "multiIf(" + strings.Join(cases, ", ") + ", 0)"
	}
	resolution := math.Pow(0.001, 2) / 12
	return fmt.Sprintf(`
WITH
	f -> indexOf(fields.field, f) AS place_of,
	f -> if(fields.n[place_of(f)] >= %[3]d, arrayElementOrNull(fields.mean, place_of(f)), NULL) AS mean_of,
	f -> if(fields.n[place_of(f)] >= %[3]d, greatest(arrayElementOrNull(fields.ss, place_of(f)) / (fields.n[place_of(f)] - 1), %[4]g), NULL) AS variance_of,
	x -> multiIf(hand = 'left', -x, hand = 'right', x, NULL) AS handed,
	variance_of(%[5]d) AS vx, variance_of(%[6]d) AS vy, toFloat64(least(fields.n[place_of(%[5]d)], fields.n[place_of(%[6]d)])) - 1 AS m,
	pow(vx + vy, 2) AS trace2, ((vx * vx + vy * vy) - trace2 / m) / (1 + 1 / m - 2 / (m * m)) AS q, trace2 - 2 * q / m AS r,
	if(q <= r / 2, m, m * greatest(1, r / q) / 2) AS h
SELECT toUInt64(%[1]d) AS snapshot, player, category, studio, bay, session, trial, part, toDateTime64(first_shot, 3, 'UTC') AS measured, n AS shots, hand,
	%[7]s + %[8]s AS speed_mps,
	%[9]s + %[10]s AS attack_deg,
	handed(%[11]s) AS path_deg,
	handed(coalesce(%[12]s, %[13]s - %[11]s)) + %[14]s AS face_to_path_deg,
	%[15]s + %[16]s AS dynamic_loft_deg,
	mean_of(%[5]d) AS strike_x_m,
	mean_of(%[6]d) AS strike_y_m,
	log((vx + vy) / 2) / 2 + (1 / (2 * h) + 1 / (12 * h * h) - 1 / (120 * pow(h, 4))) / 2 AS strike_scatter_ln,
	%[17]s AS tempo_ratio
FROM
(
	SELECT player, category, studio, bay, session, trial, part, first_shot, n, hand, build_length_m, build_loft_deg, build_lie_deg, fields.field, fields.n, fields.mean, fields.ss
	FROM trials FINAL
	WHERE %[2]s gamer AND n >= %[18]d AND consent AND NOT minor AND player != ''
	ORDER BY first_shot, part, trial
	LIMIT 1 BY player, category
)`,
		snapshot, where, profile.MinShots, resolution,
		fieldOf(event.Field_FIELD_STRIKE_X), fieldOf(event.Field_FIELD_STRIKE_Y),
		mean(event.Field_FIELD_CLUBHEAD_SPEED), shift(profile.Speed),
		mean(event.Field_FIELD_ATTACK_ANGLE), shift(profile.Attack),
		mean(event.Field_FIELD_CLUB_PATH),
		mean(event.Field_FIELD_FACE_TO_PATH), mean(event.Field_FIELD_FACE_ANGLE), shift(profile.FaceToPath),
		mean(event.Field_FIELD_DYNAMIC_LOFT), shift(profile.DynamicLoft),
		mean(event.Field_FIELD_TEMPO), describingShots)
}

// describingShots is how many shots of the own club make a profile at least.
const describingShots = 5

// flexSQL is fleet.FlexIndex in SQL.
func flexSQL(column string) string {
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

// trialsSQL copies the rows that count, each with its player's profile.
func trialsSQL(snapshot uint64) string {
	return "INSERT INTO fleet_trials " + trialsSelect(snapshot, "", fmt.Sprintf("SELECT * FROM profiles WHERE snapshot = %d", snapshot))
}

// trialsSelect is rows of trials as fleet_trials has them. where narrows the
// trials; profiles is the select that their profiles come from.
func trialsSelect(snapshot uint64, where, profiles string) string {
	var traits []string
	for _, t := range fleet.TraitNames {
		traits = append(traits, fmt.Sprintf("ifNull(p.%[1]s, nan) AS %[1]s", t))
	}
	return fmt.Sprintf(`WITH
	f -> indexOf(t.fields.field, f) AS place_of,
	f -> arrayElementOrNull(t.fields.mean, place_of(f)) AS mean_of,
	f -> t.fields.ss[place_of(f)] AS ss_of
SELECT toUInt64(%[1]d) AS snapshot, t.player AS player, t.category AS category, t.session AS session, t.order_session AS number, t.part AS part,
	t.trial AS trial, t.studio AS studio, t.bay AS bay, t.device AS device, t.fitter AS fitter,
	t.build AS build, t.build_name AS build_name, t.ball_model AS ball, t.surface AS surface, t.instruction AS instruction, t.gamer AS gamer, t.hand = 'left' AS left_handed,
	t.studio = p.studio AND t.session = p.session AND t.trial = p.trial AND t.part = p.part AS describes,
	t.level AS level, t.first_shot_order AS first_order, toDateTime64(t.first_shot, 3, 'UTC') AS at,
	ifNull(t.build_length_m, nan) AS length, ifNull(t.build_loft_deg, nan) AS loft, ifNull(t.build_lie_deg, nan) AS lie, ifNull(t.build_shaft_weight_kg, nan) AS shaft_weight,
	%[2]s AS flex, ifNull(t.build_torque_deg, nan) AS torque, ifNull(t.build_head_weight_kg, nan) AS head_weight, ifNull(t.build_swing_weight_kgm, nan) AS swing_weight,
	t.n AS n, t.n_excluded AS n_excluded, t.n_landing AS n_landing, t.carry_mean_m AS carry_m, t.scatter_cc_m2 AS carry_ss, t.carry_s4_m4 AS carry_s4,
	t.scatter_co_m2 AS carry_offline, t.scatter_oo_m2 AS offline_ss,
	t.n_directed AS n_directed, t.direction_mean_deg AS direction_deg, t.direction_ss_deg2 AS direction_ss, t.direction_s4_deg4 AS direction_s4,
	toUInt32(least(t.fields.n[place_of(%[6]d)], t.fields.n[place_of(%[7]d)])) AS launched,
	ifNull(mean_of(%[8]d), nan) AS ball_speed_mps, ifNull(mean_of(%[9]d), nan) AS attack_now_deg,
	ifNull(mean_of(%[6]d), nan) AS launch_deg, ss_of(%[6]d) AS launch_ss, ifNull(mean_of(%[7]d), nan) AS spin_rpm, ss_of(%[7]d) AS spin_ss,
	%[3]s
FROM
(
	SELECT * FROM trials FINAL WHERE %[4]s n > 0 AND consent AND NOT minor AND player != ''
) AS t
LEFT JOIN (%[5]s) AS p ON p.player = t.player AND p.category = t.category`,
		snapshot, flexSQL("t.build_flex"), strings.Join(traits, ", "), where, profiles,
		fieldOf(event.Field_FIELD_LAUNCH_ANGLE), fieldOf(event.Field_FIELD_SPIN_RATE), fieldOf(event.Field_FIELD_BALL_SPEED), fieldOf(event.Field_FIELD_ATTACK_ANGLE))
}

// buildsSQL lists the builds of a snapshot, as Builds reads them.
func buildsSQL(snapshot uint64) string {
	var columns []string
	for _, a := range fleet.AllAttributes() {
		columns = append(columns, "any("+a.Name()+")")
	}
	return fmt.Sprintf(`INSERT INTO fleet_builds
SELECT snapshot, category, build, any(build_name), uniq(player), count(), %s FROM fleet_trials WHERE snapshot = %d AND NOT gamer GROUP BY snapshot, category, build`,
		strings.Join(columns, ", "), snapshot)
}

// daysSQL sums a snapshot up by day, as Describe reads it.
func daysSQL(snapshot uint64) string {
	return fmt.Sprintf(`INSERT INTO fleet_days
SELECT snapshot, category, studio, toDate(at), count(), sum(n), sum(n_excluded), uniqState(player), uniqState(session), min(at), max(at),
	sumIf(direction_ss, n_directed > 1), sumIf(n_directed - 1, n_directed > 1), sum(carry_m * n_landing), sum(n_landing)
FROM fleet_trials WHERE snapshot = %d GROUP BY snapshot, category, studio, toDate(at)`, snapshot)
}
