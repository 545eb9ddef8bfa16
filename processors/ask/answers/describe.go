package answers

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
)

// Figures are live counts of what a filter leaves, by SQL.
type Figures struct {
	Trials   uint64      `json:"trials"`
	Shots    uint64      `json:"shots"`
	Players  uint64      `json:"players"`
	Sessions uint64      `json:"sessions"`
	Excluded uint64      `json:"shots_excluded"`
	First    time.Time   `json:"first"`
	Last     time.Time   `json:"last"`
	Studios  []StudioRow `json:"studios"`
}

// StudioRow is one studio's share.
type StudioRow struct {
	Studio    string  `json:"studio"`
	Trials    uint64  `json:"trials"`
	Shots     uint64  `json:"shots"`
	Players   uint64  `json:"players"`
	Direction float64 `json:"direction_sd_deg"`
	Carry     float64 `json:"carry_m"`
}

// Describe counts, live. Spreads are pooled within trials. Players and sessions
// are counted by sketches, exact up to some ten
// thousand and to about a percent beyond. What is returned is shared: it must
// not be changed.
func (f *Fleet) Describe(ctx context.Context, m Mark, filter Filter, mostStudios int) (*Figures, error) {
	if err := filter.Check(); err != nil {
		return nil, err
	}
	key := figureKey(filter, mostStudios)
	if kept := f.figures.get(m.Snapshot, key); kept != nil {
		return kept, nil
	}
	var out *Figures
	var err error
	if filter.bySums() && len(filter.Studios) == 0 && filter.From == "" && filter.To == "" {
		if out, err = f.keptFigures(ctx, m.Snapshot, filter.Category, mostStudios); err != nil {
			return nil, err
		}
	}
	if out == nil {
		if out, err = f.describe(ctx, m, filter, mostStudios); err != nil {
			return nil, err
		}
	}
	f.figures.put(m.Snapshot, key, out)
	return out, nil
}

// describe counts.
func (f *Fleet) describe(ctx context.Context, m Mark, filter Filter, mostStudios int) (*Figures, error) {
	sql := question.Figures(filter.where(m.Snapshot), mostStudios+1)
	if filter.bySums() {
		sql = question.FiguresByDay(filter.whereDays(m.Snapshot), mostStudios+1)
	}
	rows, err := f.store.Conn().Query(ctx, sql)
	if err != nil {
		return nil, fmt.Errorf("figures of the fleet: %w", err)
	}
	defer rows.Close()
	out := &Figures{Studios: []StudioRow{}}
	for rows.Next() {
		var s StudioRow
		var excluded, sessions uint64
		var first, last time.Time
		if err := rows.Scan(&s.Studio, &s.Trials, &s.Shots, &s.Players, &excluded, &first, &last, &sessions, &s.Direction, &s.Carry); err != nil {
			return nil, fmt.Errorf("figures of the fleet: %w", err)
		}
		// The roll-up has no studio and comes first.
		if s.Studio == "" {
			out.Trials, out.Shots, out.Players, out.Excluded, out.Sessions, out.First, out.Last = s.Trials, s.Shots, s.Players, excluded, sessions,
				first, last
			continue
		}
		out.Studios = append(out.Studios, s)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("figures of the fleet: %w", err)
	}
	return out, nil
}

// Behind is one trial behind a number.
type Behind struct {
	Studio    string    `json:"studio"`
	Bay       string    `json:"bay"`
	Player    string    `json:"player"`
	Session   string    `json:"session"`
	Level     int       `json:"level"`
	Trial     string    `json:"trial"`
	Part      int       `json:"part"`
	Number    int       `json:"number"`
	Build     string    `json:"build"`
	BuildName string    `json:"build_name"`
	Gamer     bool      `json:"gamer"`
	Describes bool      `json:"describes"`
	At        time.Time `json:"at"`
	Shots     int       `json:"shots"`
	Value     *float64  `json:"value"` // of the attribute, in its unit
	Direction *float64  `json:"direction_sd_deg"`
	CarrySD   *float64  `json:"carry_sd_percent"`
	Carry     *float64  `json:"carry_m"`
}

// Behind lists trials behind an attribute's effect: those of the levels in which
// it was hit at two values, as the answer counts them (Varied). It goes player by
// player: from those after the given one, until there are about most levels.
// next continues; it is empty at the end.
func (f *Fleet) Behind(ctx context.Context, m Mark, filter Filter, attribute, after string, most int) (out []Behind, next string,
	err error) {
	out = []Behind{}
	if err := filter.Check(); err != nil {
		return nil, "", err
	}
	a, ok := fleet.ParseAttribute(attribute)
	if !ok {
		return nil, "", Question{Outcome: "direction", Attributes: []string{attribute}}.Check()
	}
	// The table is sorted by player and read in that order, so that a page costs
	// the same in a large fleet; whoever varied the attribute is picked here.
	levels := 0
	for chunk := 2000; levels < most; chunk *= 2 {
		rows, err := f.behind(ctx, question.Page(behindColumns(a), filter.where(m.Snapshot), quote(after), chunk))
		if err != nil {
			return nil, "", err
		}
		whole := len(rows) < chunk
		for len(rows) > 0 && levels < most {
			n := 1
			for n < len(rows) && rows[n].Player == rows[0].Player {
				n++
			}
			if n == len(rows) && !whole {
				break // the rest of this player comes with the next chunk
			}
			kept, k := varied(rows[:n])
			out, levels, after = append(out, kept...), levels+k, rows[0].Player
			rows = rows[n:]
		}
		if whole && len(rows) == 0 {
			return out, "", nil
		}
	}
	return out, after, nil
}

// varied keeps one player's trials of the levels that hit the attribute at two
// values, and counts those levels.
func varied(trials []Behind) (out []Behind, levels int) {
	type key struct {
		session string
		level   int
	}
	low, high := map[key]float64{}, map[key]float64{}
	for _, t := range trials {
		if t.Value == nil {
			continue
		}
		k := key{t.Session, t.Level}
		if _, seen := low[k]; !seen {
			low[k], high[k] = *t.Value, *t.Value
		}
		low[k], high[k] = min(low[k], *t.Value), max(high[k], *t.Value)
	}
	for k := range low {
		if high[k]-low[k] > 1e-9 {
			levels++
		}
	}
	for _, t := range trials {
		if k := (key{t.Session, t.Level}); high[k]-low[k] > 1e-9 {
			out = append(out, t)
		}
	}
	return out, levels
}

func behindColumns(a fleet.Attribute) string {
	return strings.Join([]string{
		"studio, bay, player, session, level, trial, part, number, build, build_name, gamer, describes, at, n",
		"if(isNaN(" + a.Name() + "), NULL, " + a.Name() + ")",
		"if(n_directed > 1, sqrt(direction_ss / (n_directed - 1)), NULL)",
		"if(n_landing > 1 AND carry_m > 0, 100 * sqrt(carry_ss / (n_landing - 1)) / carry_m, NULL)",
		"if(n_landing > 0, carry_m, NULL)",
	}, ", ")
}

func (f *Fleet) behind(ctx context.Context, sql string) ([]Behind, error) {
	ctx = clickhouse.Context(ctx, clickhouse.WithSettings(clickhouse.Settings{"optimize_read_in_order": 1, "max_block_size": 8192,
		"max_threads": 1}))
	rows, err := f.store.Conn().Query(ctx, sql)
	if err != nil {
		return nil, fmt.Errorf("trials behind a number: %w", err)
	}
	defer rows.Close()
	out := []Behind{}
	for rows.Next() {
		var b Behind
		var level, part, number uint16
		var n uint32
		if err := rows.Scan(&b.Studio, &b.Bay, &b.Player, &b.Session, &level, &b.Trial, &part, &number, &b.Build, &b.BuildName, &b.Gamer,
			&b.Describes, &b.At, &n,
			&b.Value, &b.Direction, &b.CarrySD, &b.Carry); err != nil {
			return nil, fmt.Errorf("trials behind a number: %w", err)
		}
		b.Level, b.Part, b.Number, b.Shots = int(level), int(part), int(number), int(n)
		out = append(out, b)
	}
	return out, rows.Err()
}

// Shot is one shot of a trial, as drill-down shows it.
type Shot struct {
	ID        string    `json:"shot_id"`
	Order     uint32    `json:"order_session"`
	At        time.Time `json:"at"`
	Status    string    `json:"status"`
	Reason    string    `json:"reason,omitempty"`
	Speed     *float64  `json:"clubhead_speed_mps"`
	Ball      *float64  `json:"ball_speed_mps"`
	Launch    *float64  `json:"launch_angle_deg"`
	Spin      *float64  `json:"spin_rate_rpm"`
	Carry     *float64  `json:"carry_m"`
	Offline   *float64  `json:"offline_m"`
	Direction *float64  `json:"direction_deg"`
}

// TrialShots is a trial of the newest data with its shots, those left out too.
func (f *Fleet) TrialShots(ctx context.Context, studio, session, trial string) ([]Shot, error) {
	// The bay and the trial's time narrow the read to a few granules.
	var bay string
	var first, last time.Time
	named := []any{clickhouse.Named("studio", studio), clickhouse.Named("session", session), clickhouse.Named("trial", trial)}
	err := f.store.Conn().QueryRow(ctx, question.TrialWhen(), named...).Scan(&bay, &first, &last)
	if err != nil {
		return nil, fmt.Errorf("shots of trial %s: %w", trial, err)
	}
	const second = "2006-01-02 15:04:05"
	named = append(named, clickhouse.Named("bay", bay), clickhouse.Named("from", first.UTC().Format(second)),
		clickhouse.Named("to", last.UTC().Format(second)))
	rows, err := f.store.Conn().Query(ctx, question.TrialShots(), named...)
	if err != nil {
		return nil, fmt.Errorf("shots of trial %s: %w", trial, err)
	}
	defer rows.Close()
	out := []Shot{}
	for rows.Next() {
		var s Shot
		if err := rows.Scan(&s.ID, &s.Order, &s.At, &s.Status, &s.Reason, &s.Speed, &s.Ball, &s.Launch, &s.Spin, &s.Carry, &s.Offline,
			&s.Direction); err != nil {
			return nil, fmt.Errorf("shots of trial %s: %w", trial, err)
		}
		out = append(out, s)
	}
	return out, rows.Err()
}
