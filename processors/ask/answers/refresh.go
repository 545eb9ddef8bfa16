package answers

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"
	"github.com/dustin/go-humanize"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/flight"
	"fairlead/processors/hub/store"
	"fairlead/processors/hub/store/question"
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
	Joins    string    `json:"joins,omitempty"` // who is told of as one; empty: nobody
	// Flight is the flight model that carries and directions which no device measured come
	// from; of so many trials what another made is left out.
	Flight   string `json:"flight_model,omitempty"`
	Outdated uint64 `json:"outdated,omitempty"`
}

// sameData says whether two marks are of the same data.
func (m Mark) sameData(o Mark) bool {
	return m.Inserted.Equal(o.Inserted) && m.Version == o.Version && m.Joins == o.Joins && m.Flight == o.Flight
}

// Age says to people how long ago the snapshot was made, after its time; empty of one
// that was made just now.
func (m Mark) Age(now time.Time) string {
	if m.Made.IsZero() || now.Sub(m.Made) < time.Minute {
		return ""
	}
	return " (" + humanize.RelTime(m.Made, now, "ago", "from now") + "; --fresh looks for newer)"
}

// OtherFlight says that the snapshot's flights are of another model than this program's;
// empty where they are not.
func (m Mark) OtherFlight() string {
	if m.Flight == flight.Stamp() {
		return ""
	}
	return "carries and directions that no device measured come from another flight model than this program's, and no bay judges by " +
		"this answer: ask again"
}

// doubts says where flights of two models come together, or would.
func (m Mark) doubts() []fleet.Warning {
	switch {
	case m.Flight != flight.Stamp():
		return []fleet.Warning{{Code: "flight_model", Text: "the snapshot is older than this program's flight model: its carries and " +
			"directions may be of two models where the device measured none; the next snapshot has one"}}
	case m.Outdated > 0:
		return []fleet.Warning{{Code: "flight_model", Text: fmt.Sprintf("carries and directions of %d trials come from an older flight model "+
			"and are left out until the hub has computed them anew, or `fairlead audit --repair`", m.Outdated)}}
	}
	return nil
}

// ErrNoSnapshot says that no snapshot was made yet.
var ErrNoSnapshot = fmt.Errorf("no snapshot of the fleet yet: run `fairlead fleet effects` once, or wait for the night's run")

// Latest is the newest finished snapshot, or ErrNoSnapshot.
func (f *Fleet) Latest(ctx context.Context) (Mark, error) {
	var m Mark
	rows, err := f.store.Conn().Query(ctx, question.Latest())
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
	if err := rows.Scan(&m.Snapshot, &m.Inserted, &m.Version, &m.Trials, &m.Shots, &m.Players, &m.Profiles, &m.Made, &m.Seconds,
		&m.Joins, &m.Flight, &m.Outdated); err != nil {
		return m, fmt.Errorf("fleet snapshots: %w", err)
	}
	return m, nil
}

// Current is the mark of trials as they are now.
func (f *Fleet) Current(ctx context.Context) (m Mark, err error) {
	m, _, err = f.current(ctx)
	return m, err
}

func (f *Fleet) current(ctx context.Context) (m Mark, joins map[string]string, err error) {
	if joins, err = f.joins(ctx); err != nil {
		return m, nil, err
	}
	m.Joins, m.Flight = signOf(joins), flight.Stamp()
	if err := f.store.Conn().QueryRow(ctx, question.TrialsMark()).Scan(&m.Inserted, &m.Version); err != nil {
		return m, nil, fmt.Errorf("mark of trials: %w", err)
	}
	return m, joins, nil
}

// Refresh makes a snapshot if trials changed since the last one, and returns
// the newest. Two at a time do no harm: the later one counts.
func (f *Fleet) Refresh(ctx context.Context) (Mark, error) {
	now, joins, err := f.current(ctx)
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
		"join_algorithm": "grace_hash,hash", "max_bytes_in_join": 1 << 28, "grace_hash_join_initial_buckets": 1,
		"max_insert_block_size": 1 << 17, "min_insert_block_size_rows": 1 << 17, "min_insert_block_size_bytes": 1 << 26,
		"max_execution_time": 1800, "max_threads": 2,
	}))
	conn := f.store.Conn()
	if err := f.keepBiases(ctx, now.Snapshot); err != nil {
		f.drop(context.WithoutCancel(ctx), now.Snapshot)
		return Mark{}, err
	}
	if err := f.keepJoins(ctx, now.Snapshot, joins); err != nil {
		f.drop(context.WithoutCancel(ctx), now.Snapshot)
		return Mark{}, err
	}
	for _, step := range question.Snapshot(now.Snapshot, toldAs(joins)) {
		if err := conn.Exec(ctx2, step.SQL); err != nil {
			f.drop(context.WithoutCancel(ctx), now.Snapshot)
			return Mark{}, fmt.Errorf("snapshot of the fleet, %s: %w", step.What, err)
		}
	}
	counted := conn.QueryRow(ctx, question.Counts(now.Snapshot))
	if err := counted.Scan(&now.Profiles, &now.Trials, &now.Shots, &now.Players); err != nil {
		return Mark{}, fmt.Errorf("snapshot of the fleet: %w", err)
	}
	if err := conn.QueryRow(ctx, question.OutdatedTrials()).Scan(&now.Outdated); err != nil {
		return Mark{}, fmt.Errorf("snapshot of the fleet: %w", err)
	}
	now.Made = f.now().UTC()
	now.Seconds = now.Made.Sub(begun).Seconds()
	err = f.put(ctx, "snapshot of the fleet", question.KeepSnapshot(), []any{now.Snapshot, now.Made, now.Seconds, now.Inserted, now.Version,
		now.Trials, now.Shots, now.Players, now.Profiles, now.Joins, now.Flight, now.Outdated})
	if err != nil {
		return Mark{}, err
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
	rows, err := f.store.Conn().Query(ctx, question.Older(keep))
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
var snapshotTables = []string{"fleet_trials", "profiles", "fleet_builds", "fleet_days", "fleet_biases", "fleet_joins"}

func (f *Fleet) drop(ctx context.Context, snapshot uint64) {
	for _, table := range snapshotTables {
		if err := f.store.Conn().Exec(ctx, question.Drop(table, snapshot)); err != nil {
			f.log.Warn("an old snapshot can't be dropped", "table", table, "snapshot", snapshot, "error", err)
		}
	}
}

// Forget removes a player from snapshots at once. Stored answers name no
// player and stay.
func (f *Fleet) Forget(ctx context.Context, player string) error {
	defer f.figures.clear()
	// Rows of who is told of as one with them can't be told from theirs; the next
	// snapshot has them again.
	as, err := f.joinedAs(ctx, player)
	if err != nil {
		return err
	}
	tables := []string{"fleet_trials", "profiles"}
	if len(as) > 0 {
		tables = append(tables, "fleet_joins") // last: by its rows the others are found
	}
	for _, table := range tables {
		for _, id := range append(as, player) {
			if err := f.store.Conn().Exec(ctx, question.Forget(table), id); err != nil {
				return fmt.Errorf("forget a player in %s: %w", table, err)
			}
		}
	}
	return nil
}
