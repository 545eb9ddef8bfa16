package answers

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
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
	// Of putts: ball speed, whose scatter in percent is their distance control.
	rollN        uint32
	roll, rollSS float64
	// How the club met the ball.
	struck, swung, faced, went uint32
}

// columns are what is to be read, and where it goes.
func (r *row) columns(want reading) (names []string, to []any) {
	add := func(name string, p any) { names, to = append(names, name), append(to, p) }
	t := &r.t
	add("player", &t.Player)
	add("session", &t.Session)
	add("number", &r.number)
	add("level", &r.level)
	add("first_order", &r.first)
	for a := range t.Attributes {
		if d := want.only; d == nil || slices.Contains(d.Attributes, fleet.Attribute(a)) || slices.Contains(d.Curved, fleet.Attribute(a)) {
			add(fleet.Attribute(a).Name(), &t.Attributes[a])
		}
	}
	for i, name := range fleet.TraitNames {
		if want.only == nil || slices.Contains(want.only.Traits, name) {
			if want.measured {
				name += fmt.Sprintf(" + taken_off[%d]", i+1)
			}
			add(name, &t.Traits[i])
		}
	}
	s, l := &t.Shots, &r.launch
	add("n_landing", &r.n)
	// What tells mishits apart is read where there are any, and both axes of an area
	// where one of them has noise that is taken out.
	k, directed, tails := want.noise, "direction", [2]string{}
	if k.DirectionMishits != k.CarryMishits || len(k.Devices) > 0 {
		directed = "direction area"
	}
	if k.DirectionMishits != (fleet.Mishits{}) {
		tails[0] = directed
	}
	if k.CarryMishits != (fleet.Mishits{}) {
		tails[1] = "carry_control area"
	}
	for _, c := range []struct {
		name     string
		to       any
		outcomes string // that need it
	}{
		{"n_directed", &r.directed, directed}, {"direction_ss", &s.DirectionSS, directed}, {"direction_s4", &s.DirectionS4, tails[0]},
		{"carry_m", &s.Carry, "carry carry_control direction area"}, {"carry_ss", &s.CarrySS, "carry_control area"},
		{"carry_s4", &s.CarryS4, tails[1]},
		{"carry_offline", &s.CarryOffline, "area"}, {"offline_ss", &s.OfflineSS, "area"},
		{"launched", &r.launched, "window"}, {"ball_speed_mps", &l.ball, "window"}, {"attack_now_deg", &l.attack, "window"},
		{"launch_deg", &l.launch, "window"}, {"launch_ss", &l.launchSS, "window"}, {"spin_rpm", &l.spin, "window"},
		{"spin_ss", &l.spinSS, "window"},
	} {
		switch {
		case c.outcomes == "window" && want.windows == nil:
		case want.only == nil || slices.Contains(strings.Fields(c.outcomes), want.outcome):
			add(c.name, c.to)
		}
	}
	want.shared(t, add)
	if want.wide || want.only == nil {
		add("gamer", &t.Gamer)
	}
	if want.wide {
		add("n_excluded", &r.x)
		add("CAST(fitter AS String)", &t.Fitter)
		add("CAST(category AS String)", &t.Category)
		add("CAST(ball AS String)", &t.Ball)
		add("CAST(surface AS String)", &t.Surface)
		add("CAST(instruction AS String)", &t.Instruction)
		add("left_handed", &t.LeftHanded)
		add("direction_deg", &s.Direction)
		add("describes", &r.describes)
		add("formatDateTime(at, '%Y-%m')", &t.Month)
		add("CAST(grip AS String)", &t.Grip)
		add("CAST(choice AS String)", &t.Why)
		i := &t.Impact
		add("strike_n", &r.struck)
		add("strike_ss", &i.StrikeSS)
		add("speed_n", &r.swung)
		add("speed_now_mps", &i.Speed)
		add("speed_ss", &i.SpeedSS)
		add("face_n", &r.faced)
		add("face_ss", &i.FaceSS)
		add("path_n", &r.went)
		add("path_ss", &i.PathSS)
		add("roll_n", &r.rollN)
		add("roll_mps", &r.roll)
		add("roll_ss", &r.rollSS)
	}
	return names, to
}

func (r *row) trial(want reading) *fleet.Trial {
	t := &r.t
	t.Number, t.Level, t.FirstShot = int(r.number), int(r.level), int(r.first)
	t.Shots.N, t.Shots.Directed, t.Shots.Excluded = int(r.n), int(r.directed), int(r.x)
	i := &t.Impact
	i.StrikeN, i.SpeedN, i.FaceN, i.PathN = int(r.struck), int(r.swung), int(r.faced), int(r.went)
	if want.wide && r.rollN > 0 {
		t.Shots.N, t.Shots.Carry, t.Shots.CarrySS, t.Shots.CarryS4 = int(r.rollN), r.roll, r.rollSS, 0
	}
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
	blocks     bool // may come in blocks: the types are those of fleet_trials
	// Only what the rows of this design need for this outcome; nil: everything.
	only    *fleet.Design
	outcome string
	// What is known of the shots' noise by then.
	noise fleet.Noise
	// The distance to the launch window, for the outcome that asks for it.
	windows *windows
	// The mean variances of the traits' errors.
	errors [fleet.TraitCount]float64
	// Traits as the bays' devices read them.
	measured bool
	// Of how many players something was taken off for what a bay's device reads off.
	unbiased uint64
}

// know fills in the mean variances of the errors of a snapshot's profiles.
func (r *reading) know(ctx context.Context, f *Fleet, snapshot uint64, q Question) error {
	var mean []*float64
	category := q.Filter.Category
	r.measured = q.AsMeasured
	where := fmt.Sprintf("snapshot = %d", snapshot)
	if category != "" {
		where += " AND category = " + quote(category)
	}
	if err := f.store.Conn().QueryRow(ctx, question.Errors(where, q.AsMeasured)).Scan(&mean, &r.unbiased); err != nil {
		return fmt.Errorf("errors of profiles: %w", err)
	}
	for i, v := range mean {
		if i < len(r.errors) && v != nil && *v > 0 {
			r.errors[i] = *v
		}
	}
	return nil
}

// shared adds what many players' trials have in common, as texts: blocks would bring
// their dictionaries otherwise. Once the design is known, only what has levels there.
func (r reading) shared(t *fleet.Trial, add func(name string, p any)) {
	for _, c := range []struct {
		name string
		to   *string
	}{{"studio", &t.Studio}, {"build", &t.Build}, {"head", &t.Head}, {"shaft", &t.Shaft}} {
		has := func(s fleet.SharedFactor) bool { return s.Name == c.name }
		wide := r.wide && (c.name == "studio" || c.name == "build") || c.name == "studio" && len(r.noise.Devices) > 0
		if wide || r.only == nil || slices.ContainsFunc(r.only.Shared, has) {
			add("CAST("+c.name+" AS String)", c.to)
		}
	}
	if r.wide || r.only == nil || len(r.noise.Devices) > 0 {
		add("CAST(bay AS String)", &t.Bay)
		add("CAST(device AS String)", &t.Device)
	}
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
	want.blocks = true
	return f.trials(ctx, from, "player, category, session, number, part", want, do)
}

// trials reads what from names, which has the columns of fleet_trials.
func (f *Fleet) trials(ctx context.Context, from, order string, want reading, do func(*fleet.Trial) error) error {
	r := row{t: fleet.Trial{Attributes: fleet.NoAttributes(), Traits: fleet.NoTraits(), TraitErrors: want.errors}}
	names, to := r.columns(want)
	sql := question.Rows(names, from, order)
	// The table stands in this order, so that nothing is sorted or kept.
	ctx = clickhouse.Context(ctx, clickhouse.WithSettings(clickhouse.Settings{
		"optimize_read_in_order": 1, "max_block_size": 16384, "max_execution_time": 3600, "max_threads": 2,
	}))
	var stopped error
	one := func() error {
		stopped = do(r.trial(want))
		return stopped
	}
	done, err := false, error(nil)
	if want.blocks {
		done, err = f.native(ctx, sql, names, to, one)
	}
	if !done {
		err = f.scanned(ctx, sql, to, one)
	}
	switch {
	case stopped != nil:
		return stopped
	case err != nil:
		return fmt.Errorf("read trials of the fleet: %w", err)
	}
	return nil
}

// scanned is native for connections that send no blocks: the driver scans row by
// row.
func (f *Fleet) scanned(ctx context.Context, sql string, to []any, do func() error) error {
	rows, err := f.store.Conn().Query(ctx, sql)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := rows.Scan(to...); err != nil {
			return err
		}
		if err := do(); err != nil {
			return err
		}
	}
	return rows.Err()
}

// count is how many trials a filter leaves to be judged.
func (f *Fleet) count(ctx context.Context, snapshot uint64, filter Filter) (trials uint64, err error) {
	err = f.store.Conn().QueryRow(ctx, question.Count(filter.where(snapshot)+" AND NOT describes")).Scan(&trials)
	if err != nil {
		return 0, fmt.Errorf("count trials of the fleet: %w", err)
	}
	return trials, nil
}

// countPlayers is of how many players they are.
func (f *Fleet) countPlayers(ctx context.Context, snapshot uint64, filter Filter) (players uint64, err error) {
	err = f.store.Conn().QueryRow(ctx, question.Players(filter.where(snapshot)+" AND NOT describes")).Scan(&players)
	if err != nil {
		return 0, fmt.Errorf("count players of the fleet: %w", err)
	}
	return players, nil
}

// countStudios is of how many studios they are.
func (f *Fleet) countStudios(ctx context.Context, snapshot uint64, filter Filter) (studios uint64, err error) {
	err = f.store.Conn().QueryRow(ctx, question.StudioCount(filter.where(snapshot)+" AND NOT describes")).Scan(&studios)
	if err != nil {
		return 0, fmt.Errorf("count studios of the fleet: %w", err)
	}
	return studios, nil
}

// mostTrials is how many trials stand in memory at once, where a question
// needs to look at them more than once: about 500 bytes each.
const mostTrials = 300_000

// sample loads trials whole; of more than mostTrials only those of one player
// in so many, and says so.
func (f *Fleet) sample(ctx context.Context, snapshot uint64, filter Filter, want reading, most int) ([]fleet.Trial, *fleet.Warning,
	error) {
	c, err := f.count(ctx, snapshot, filter)
	if err != nil {
		return nil, nil, err
	}
	want.wide = true
	var note *fleet.Warning
	n := int(c)
	if n > most && filter.OneIn <= 1 {
		filter.OneIn = (n + most - 1) / most
		note = &fleet.Warning{Code: "sample", Text: fmt.Sprintf("looked at one player in %d, drawn by name: %d trials are more than are held "+
			"at once", filter.OneIn, n)}
	}
	// Those that describe players come on top.
	out := make([]fleet.Trial, 0, min(n, most)*5/4)
	err = f.each(ctx, snapshot, filter, want, func(t *fleet.Trial) error {
		out = append(out, *t)
		return nil
	})
	return out, note, err
}
