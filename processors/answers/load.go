package answers

import (
	"context"
	"fmt"
	"strings"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/processors/fleet"
)

// row is a fleet_trials row as it is scanned.
type row struct {
	t         fleet.Trial
	number    uint16
	level     uint16
	first     uint32
	n, x      uint32
	directed  uint32
	launched  uint32
	launch    launched
	describes bool
}

// leanColumns are what a model needs; wideColumns what diagnostics look at
// besides.
func (r *row) columns(want reading) (names []string, to []any) {
	add := func(name string, p any) { names, to = append(names, name), append(to, p) }
	t := &r.t
	add("player", &t.Player)
	add("session", &t.Session)
	add("number", &r.number)
	add("level", &r.level)
	add("first_order", &r.first)
	add("gamer", &t.Gamer)
	for a := range t.Attributes {
		add(fleet.Attribute(a).Name(), &t.Attributes[a])
	}
	for i, name := range fleet.TraitNames {
		add(name, &t.Traits[i])
	}
	s := &t.Shots
	add("n_landing", &r.n)
	add("n_directed", &r.directed)
	add("carry_m", &s.Carry)
	add("carry_ss", &s.CarrySS)
	add("carry_s4", &s.CarryS4)
	add("carry_offline", &s.CarryOffline)
	add("offline_ss", &s.OfflineSS)
	add("direction_ss", &s.DirectionSS)
	add("direction_s4", &s.DirectionS4)
	if want.windows != nil {
		l := &r.launch
		add("launched", &r.launched)
		add("ball_speed_mps", &l.ball)
		add("attack_now_deg", &l.attack)
		add("launch_deg", &l.launch)
		add("launch_ss", &l.launchSS)
		add("spin_rpm", &l.spin)
		add("spin_ss", &l.spinSS)
	}
	if want.wide {
		add("n_excluded", &r.x)
		add("studio", &t.Studio)
		add("bay", &t.Bay)
		add("device", &t.Device)
		add("fitter", &t.Fitter)
		add("category", &t.Category)
		add("build", &t.Build)
		add("ball", &t.Ball)
		add("surface", &t.Surface)
		add("instruction", &t.Instruction)
		add("left_handed", &t.LeftHanded)
		add("direction_deg", &s.Direction)
		add("describes", &r.describes)
	}
	return names, to
}

func (r *row) trial(want reading) *fleet.Trial {
	t := &r.t
	t.Number, t.Level, t.FirstShot = int(r.number), int(r.level), int(r.first)
	t.Shots.N, t.Shots.Directed, t.Shots.Excluded = int(r.n), int(r.directed), int(r.x)
	t.Shots.Window, t.Shots.WindowSS, t.Shots.WindowN = want.windows.distance(&r.launch, int(r.launched))
	t.Mirrored = true // profiles are handed
	t.TraitsFrom = fleet.OtherShots
	if r.describes {
		t.TraitsFrom = fleet.SameShots
	}
	return t
}

// reading says what of a trial is wanted, and which.
type reading struct {
	wide       bool // what only diagnostics look at, too
	describing bool // the trials that describe their players, too
	// The distance to the launch window, for the outcome that asks for it.
	windows *windows
}

func (r reading) and() string {
	if r.describing {
		return ""
	}
	return " AND NOT describes"
}

// each gives every trial of the filter, a player after the other. The trial is
// valid during the call only.
func (f *Fleet) each(ctx context.Context, snapshot uint64, filter Filter, want reading, do func(*fleet.Trial) error) error {
	from := "fleet_trials WHERE " + filter.where(snapshot) + want.and()
	return f.trials(ctx, from, "player, category, session, number, part", want, do)
}

// trials reads what from names, which has the columns of fleet_trials.
func (f *Fleet) trials(ctx context.Context, from, order string, want reading, do func(*fleet.Trial) error) error {
	var r row
	names, to := r.columns(want)
	sql := fmt.Sprintf("SELECT %s FROM %s ORDER BY %s", strings.Join(names, ", "), from, order)
	// The table stands in this order, so that nothing is sorted or kept.
	ctx = clickhouse.Context(ctx, clickhouse.WithSettings(clickhouse.Settings{
		"optimize_read_in_order": 1, "max_block_size": 16384, "max_execution_time": 3600, "max_threads": 2,
	}))
	rows, err := f.store.Conn().Query(ctx, sql)
	if err != nil {
		return fmt.Errorf("read trials of the fleet: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		if err := rows.Scan(to...); err != nil {
			return fmt.Errorf("read trials of the fleet: %w", err)
		}
		if err := do(r.trial(want)); err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("read trials of the fleet: %w", err)
	}
	return nil
}

// counts is how many trials, players and sessions a filter leaves.
type counts struct{ trials, players, sessions uint64 }

func (f *Fleet) count(ctx context.Context, snapshot uint64, filter Filter) (c counts, err error) {
	err = f.store.Conn().QueryRow(ctx, "SELECT count(), uniqExact(player), uniqExact(session, level) FROM fleet_trials WHERE "+filter.where(snapshot)+" AND NOT describes").
		Scan(&c.trials, &c.players, &c.sessions)
	if err != nil {
		return c, fmt.Errorf("count trials of the fleet: %w", err)
	}
	return c, nil
}

// mostTrials is how many trials stand in memory at once, where a question
// needs to look at them more than once: about 500 bytes each.
const mostTrials = 300_000

// sample loads trials whole; of more than mostTrials only those of one player
// in so many, and says so.
func (f *Fleet) sample(ctx context.Context, snapshot uint64, filter Filter, want reading, most int) ([]fleet.Trial, *fleet.Warning, error) {
	c, err := f.count(ctx, snapshot, filter)
	if err != nil {
		return nil, nil, err
	}
	want.wide = true
	var note *fleet.Warning
	if n := int(c.trials); n > most && filter.OneIn <= 1 {
		filter.OneIn = (n + most - 1) / most
		note = &fleet.Warning{Code: "sample", Text: fmt.Sprintf("looked at one player in %d, drawn by name: %d trials are more than are held at once", filter.OneIn, n)}
	}
	var out []fleet.Trial
	err = f.each(ctx, snapshot, filter, want, func(t *fleet.Trial) error {
		out = append(out, *t)
		return nil
	})
	return out, note, err
}
