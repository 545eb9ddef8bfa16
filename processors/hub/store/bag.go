package store

import (
	"context"
	"fmt"

	"fairlead/ingest/contract/event"
)

// Moments are those of one measured quantity: how many shots, their mean, and
// their sum of squares about it.
type Moments struct {
	N        uint32
	Mean, SS float64
}

// OwnShots are the shots of a trial's part with a player's own club.
type OwnShots struct {
	Name, Category, Class string
	LengthM               float64 // of carry that was meant in a partial shot, 0: not stated
	LoftDeg               float64 // 0: not known
	Carry, Landing, Spin  Moments // m, deg, rpm
}

// OwnShots reads what a player hit with own clubs since a time, oldest first.
func (s *Store) OwnShots(ctx context.Context, studio, player string, since int64) ([]OwnShots, error) {
	const question = `SELECT build_name, category, class, class_length_m, ifNull(build_loft_deg, 0), n_landing, carry_mean_m, scatter_cc_m2,
		toUInt32(fields.n[indexOf(fields.field, {landing:Int32})]), fields.mean[indexOf(fields.field, {landing:Int32})],
		fields.ss[indexOf(fields.field, {landing:Int32})],
		toUInt32(fields.n[indexOf(fields.field, {spin:Int32})]), fields.mean[indexOf(fields.field, {spin:Int32})],
		fields.ss[indexOf(fields.field, {spin:Int32})]
		FROM trials FINAL WHERE studio = {studio:String} AND player = {player:String} AND gamer AND n > 0 AND class IN ('full', 'partial')
		AND toUnixTimestamp64Nano(first_shot) >= {since:Int64} ORDER BY first_shot, part`
	rows, err := s.conn.Query(ctx, question, named{"studio": studio, "player": player, "since": fmt.Sprint(since),
		"landing": fmt.Sprint(int32(event.Field_FIELD_LANDING_ANGLE)), "spin": fmt.Sprint(int32(event.Field_FIELD_SPIN_RATE))}.args()...)
	if err != nil {
		return nil, fmt.Errorf("shots with own clubs: %w", err)
	}
	defer rows.Close()
	var out []OwnShots
	for rows.Next() {
		var o OwnShots
		if err := rows.Scan(&o.Name, &o.Category, &o.Class, &o.LengthM, &o.LoftDeg, &o.Carry.N, &o.Carry.Mean, &o.Carry.SS, &o.Landing.N,
			&o.Landing.Mean, &o.Landing.SS, &o.Spin.N, &o.Spin.Mean, &o.Spin.SS); err != nil {
			return nil, fmt.Errorf("shots with own clubs: %w", err)
		}
		out = append(out, o)
	}
	return out, rows.Err()
}

// Add puts the moments of other shots to these.
func (m Moments) Add(o Moments) Moments {
	n := float64(m.N + o.N)
	if o.N == 0 || n == 0 {
		return m
	}
	d := o.Mean - m.Mean
	return Moments{m.N + o.N, m.Mean + d*float64(o.N)/n, m.SS + o.SS + d*d*float64(m.N)*float64(o.N)/n}
}
