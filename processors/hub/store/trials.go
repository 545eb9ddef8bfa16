package store

import (
	"context"
	"fmt"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
	"fairlead/processors/visit/trial"
)

// TrialRow is a part of a trial as it is stored: what it was, under what, and
// what its shots amount to.
type TrialRow struct {
	Studio, Bay  string
	Visit        string
	Session      string
	Trial        string
	Part         int
	Version      uint64
	Player       string
	Fitter       string
	Hand         event.Hand
	Category     string
	Consent      bool
	Minor        bool
	Class        event.ShotClass // of the shots that count
	ClassLength  float64
	Intent       event.Intent
	Build        *event.Build
	Setting      visit.Setting
	Instruction  string
	Instructions int // noted in the session before the part's shots
	Kind         event.InstructionKind
	Choice       *event.Choice // why the part's club was hit; nil: nobody said
	Level        int           // see trial.Levels
	Number       int           // order of the trial in the session
	Row          trial.Row
}

var trialColumns = func() []column[TrialRow] {
	type R = TrialRow
	columns := []column[R]{
		collect("studio", func(r *R) string { return r.Studio }),
		collect("bay", func(r *R) string { return r.Bay }),
		collect("session", func(r *R) string { return r.Session }),
		collect("trial", func(r *R) string { return r.Trial }),
		collect("part", func(r *R) uint16 { return uint16(r.Part) }),
		collect("version", func(r *R) uint64 { return r.Version }),
		collect("visit", func(r *R) string { return r.Visit }),
		collect("player", func(r *R) string { return r.Player }),
		collect("fitter", func(r *R) string { return r.Fitter }),
		collect("hand", func(r *R) string { return handWord(r.Hand) }),
		collect("category", func(r *R) string { return r.Category }),
		collect("consent", func(r *R) bool { return r.Consent }),
		collect("minor", func(r *R) bool { return r.Minor }),
		collect("class", func(r *R) string { return classWord(r.Class) }),
		collect("class_length_m", func(r *R) float64 { return r.ClassLength }),
		collect("intent", func(r *R) string { return intentWord(r.Intent) }),
		collect("build", func(r *R) string { return event.BuildKey(r.Build) }),
		collect("build_name", func(r *R) string { return r.Build.Plain() }),
		collect("gamer", func(r *R) bool { return r.Build.GetGamer() }),
	}
	for _, info := range event.BuildFields() {
		if info.Text {
			columns = append(columns, collect("build_"+info.Column, func(r *R) string { return r.Build.Spec(info.Field).GetText() }))
			continue
		}
		columns = append(columns, optional("build_"+info.Column, func(r *R) (float64, bool) { return r.Build.Number(info.Field) }))
	}
	return append(columns,
		collect("device", func(r *R) string { return r.Row.Device }),
		collect("firmware", func(r *R) string { return r.Row.Firmware }),
		collect("place", func(r *R) string { return r.Setting.Place }),
		collect("surface", func(r *R) string { return r.Setting.Surface }),
		collect("ball_model", func(r *R) string { return r.Setting.BallModel }),
		collect("ball_class", func(r *R) string { return r.Setting.BallClass }),
		settingIDs("setting", func(r *R) visit.Setting { return r.Setting }),
		collect("instruction", func(r *R) string { return r.Instruction }),
		collect("instruction_kind", func(r *R) string { return instructionWord(r.Kind) }),
		collect("choice", func(r *R) string { return strings.TrimPrefix(whyWord(r.Choice.GetWhy()), "unsaid") }),
		collect("chance", func(r *R) float64 { return r.Choice.GetChance() }),
		collect("offered", func(r *R) uint8 { return uint8(len(r.Choice.GetOffered())) }),
		collect("level", func(r *R) uint16 { return uint16(r.Level) }),
		collect("order_session", func(r *R) uint16 { return uint16(r.Number) }),
		collect("first_shot_order", func(r *R) uint32 { return uint32(r.Row.Order) }),
		collect("first_shot", func(r *R) time.Time { return unixTime(r.Row.First) }),
		collect("last_shot", func(r *R) time.Time { return unixTime(r.Row.Last) }),
		collect("n", func(r *R) uint32 { return uint32(r.Row.N) }),
		collect("n_excluded", func(r *R) uint32 { return uint32(r.Row.Excluded) }),
		collect("n_set_aside", func(r *R) uint32 { return uint32(r.Row.SetAside) }),
		collect("n_landing", func(r *R) uint32 { return uint32(r.Row.Landing) }),
		collect("n_directed", func(r *R) uint32 { return uint32(r.Row.Directed) }),
		collect("carry_mean_m", func(r *R) float64 { return r.Row.CarryMean }),
		collect("offline_mean_m", func(r *R) float64 { return r.Row.OfflineMean }),
		collect("scatter_cc_m2", func(r *R) float64 { return r.Row.CarryCarry }),
		collect("scatter_co_m2", func(r *R) float64 { return r.Row.CarryOffline }),
		collect("scatter_oo_m2", func(r *R) float64 { return r.Row.OfflineOffline }),
		collect("direction_mean_deg", func(r *R) float64 { return r.Row.DirectionMean }),
		collect("direction_ss_deg2", func(r *R) float64 { return r.Row.DirectionSS }),
		collect("direction_s4_deg4", func(r *R) float64 { return r.Row.DirectionFourth }),
		collect("carry_s4_m4", func(r *R) float64 { return r.Row.CarryFourth }),
		collect("flight_model", func(r *R) string { return modelOf(r.Row.Modelled) }),
		collect("`fields.field`", func(r *R) []uint8 { return moments(r, func(m trial.Moment) uint8 { return uint8(m.Field) }) }),
		collect("`fields.n`", func(r *R) []uint32 { return moments(r, func(m trial.Moment) uint32 { return uint32(m.N) }) }),
		collect("`fields.mean`", func(r *R) []float64 { return moments(r, func(m trial.Moment) float64 { return m.Mean }) }),
		collect("`fields.ss`", func(r *R) []float64 { return moments(r, func(m trial.Moment) float64 { return m.SS }) }),
	)
}()

func moments[T any](r *TrialRow, value func(trial.Moment) T) []T {
	out := make([]T, len(r.Row.Fields))
	for i, m := range r.Row.Fields {
		out[i] = value(m)
	}
	return out
}

// InsertTrials stores trial rows; of several with one key the highest version counts.
func (s *Store) InsertTrials(ctx context.Context, rows []TrialRow) error {
	return insert(ctx, s, "trials", trialColumns, rows)
}

// TrialKey names the row of a part of a trial within its bay.
type TrialKey struct {
	Session, Trial string
	Part           int
}

// TrialKeys lists the rows of a session that have shots, so that a row which
// lost its last one can be written with n = 0.
func (s *Store) TrialKeys(ctx context.Context, studio, bay, session string) ([]TrialKey, error) {
	rows, err := s.conn.Query(ctx, "SELECT trial, part FROM trials FINAL WHERE studio = ? AND bay = ? AND session = ? AND n + n_excluded + "+
		"n_set_aside > 0",
		studio, bay, session)
	if err != nil {
		return nil, fmt.Errorf("trial rows of session %s: %w", session, err)
	}
	defer rows.Close()
	var out []TrialKey
	for rows.Next() {
		k := TrialKey{Session: session}
		var part uint16
		if err := rows.Scan(&k.Trial, &part); err != nil {
			return nil, fmt.Errorf("trial rows of session %s: %w", session, err)
		}
		k.Part = int(part)
		out = append(out, k)
	}
	return out, rows.Err()
}
