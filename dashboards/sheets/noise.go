package sheets

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/profile"
	"fairlead/processors/hub/store/question"
)

// swung are the fields that a swing is described by.
var swung = map[event.Field]profile.Term{
	event.Field_FIELD_CLUBHEAD_SPEED: profile.Speed, event.Field_FIELD_ATTACK_ANGLE: profile.Attack, event.Field_FIELD_CLUB_PATH: profile.Path,
	event.Field_FIELD_FACE_ANGLE: profile.Face, event.Field_FIELD_FACE_TO_PATH: profile.FaceToPath,
	event.Field_FIELD_DYNAMIC_LOFT: profile.DynamicLoft, event.Field_FIELD_STRIKE_X: profile.StrikeX,
	event.Field_FIELD_STRIKE_Y: profile.StrikeY, event.Field_FIELD_TEMPO: profile.Tempo,
}

// run is what one trial with the own club left of a swing.
type run struct {
	player, visit, session, hand, circumstances string
	at                                          time.Time
	moments                                     map[profile.Term]profile.Moment
}

// noise learns from the studio's players who came back before an instant how much one day
// differs from another; empty where too few did.
func (s *Source) noise(ctx context.Context, category glossary.Category, before int64) (profile.Noise, error) {
	runs, err := s.returns(ctx, category, before)
	if err != nil {
		return nil, fmt.Errorf("players who came back: %w", err)
	}
	visits, halves := returned(runs, category)
	return profile.LearnNoise(visits, halves), nil
}

// returned pairs runs, in the order of time, with the next of the same visit (halves), and
// each visit with the player's next (visits), where nothing but the day differs. What no
// swing can be described by pairs with nothing.
func returned(runs []run, category glossary.Category) (visits, halves []profile.Return) {
	type player struct{ before, day, last *run } // the day before, the day so far, and its last run
	met := map[string]*player{}
	pair := func(to *[]profile.Return, a, b *run) {
		if a == nil || a.circumstances != b.circumstances || a.hand != b.hand {
			return
		}
		was, err1 := a.profile(category)
		is, err2 := b.profile(category)
		if err1 == nil && err2 == nil {
			*to = append(*to, profile.Return{Player: a.player, Between: b.at.Sub(a.at), Before: was, After: is})
		}
	}
	var players []*player
	for i := range runs {
		r := &runs[i]
		p := met[r.player]
		if p == nil {
			p = &player{}
			met[r.player], players = p, append(players, p)
		}
		if p.day != nil && p.day.visit == r.visit {
			if p.last.session == r.session {
				pair(&halves, p.last, r)
			}
			if p.day.circumstances == r.circumstances && p.day.hand == r.hand {
				for term, m := range r.moments {
					p.day.moments[term] = p.day.moments[term].With(m)
				}
			}
			p.last = r
			continue
		}
		if p.day != nil {
			pair(&visits, p.before, p.day)
		}
		whole := *r
		whole.moments = maps.Clone(r.moments)
		p.before, p.day, p.last = p.day, &whole, r
	}
	for _, p := range players {
		pair(&visits, p.before, p.day)
	}
	return visits, halves
}

func (r *run) profile(category glossary.Category) (profile.Profile, error) {
	return profile.FromMoments(r.moments, profile.Options{Category: category, Left: r.hand == "left"})
}

// returns reads the runs with own clubs of players who hit one before, in the order of time.
func (s *Source) returns(ctx context.Context, category glossary.Category, before int64) ([]run, error) {
	rows, err := s.Store.Conn().Query(ctx, question.Returns(), clickhouse.Named("s", s.Studio), clickhouse.Named("c", string(category)),
		clickhouse.Named("n", fmt.Sprint(profile.MinShots)), clickhouse.Named("b", fmt.Sprint(before)))
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []run
	for rows.Next() {
		r := run{moments: map[profile.Term]profile.Moment{}}
		var fields []uint8
		var counts []uint32
		var means, squares []float64
		if err := rows.Scan(&r.player, &r.visit, &r.session, &r.hand, &r.at, &r.circumstances, &fields, &counts, &means, &squares); err != nil {
			return nil, err
		}
		for i, f := range fields {
			if term, is := swung[event.Field(f)]; is {
				r.moments[term] = profile.Moment{N: counts[i], Mean: means[i], SS: squares[i]}
			}
		}
		out = append(out, r)
	}
	slices.Reverse(out)
	return out, rows.Err()
}
