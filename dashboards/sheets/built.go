package sheets

import (
	"context"
	"fmt"
	"math"
	"strings"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"fairlead/processors/visit"
)

// asBuilt is the club of a verdict as the bench and its hit checks measured it, in
// whatever bay they were entered: of a part that was measured twice, the last
// word. Nil where nothing was measured.
func (s *Source) asBuilt(ctx context.Context, verdict string, bench *event.Build) (*event.Build, error) {
	events, err := s.Store.EventsOfKinds(ctx, s.Studio, []string{"hit_checked", "voided"})
	if err != nil {
		return nil, fmt.Errorf("hit check of %s: %w", verdict, err)
	}
	checks := &visit.Checks{}
	whole := map[string]*event.VisitEvent{}
	for _, ev := range events {
		checks.Add(ev)
		whole[ev.Bay+"/"+ev.Id] = ev
	}
	made := proto.CloneOf(bench)
	for _, ev := range checks.Live(verdict) {
		b := whole[ev.Bay+"/"+ev.Id].GetHitChecked().GetBuild()
		if b == nil {
			continue
		}
		if made == nil {
			made = &event.Build{}
		}
		made.ClubId = b.ClubId
		for _, one := range b.Specs {
			if one.Knowledge == event.Knowledge_KNOWLEDGE_MEASURED {
				if known := made.Spec(one.Field); known != nil {
					*known = event.Spec{Field: one.Field, Knowledge: one.Knowledge, Number: one.Number, Text: one.Text}
				} else {
					made.Specs = append(made.Specs, one)
				}
			}
		}
	}
	return made, nil
}

// built puts what was measured of the delivered club beside what was ordered.
func (s *Sheet) built(made *event.Build, u Units) {
	var off []string
	for i := range s.Groups {
		for j := range s.Groups[i].Parts {
			p := &s.Groups[i].Parts[j]
			info, _ := event.BuildFieldNamed(p.Field)
			x := made.Spec(info.Field)
			if x == nil {
				continue
			}
			p.Built = specText(u, x, info)
			if info.Text {
				continue
			}
			n := x.Number
			p.BuiltNumber = &n
			if p.Number == nil || p.Plus == nil {
				continue
			}
			away := math.Abs(n - *p.Number)
			if info.Quantity == unit.Moment {
				away = math.Abs(float64(club.SwingWeightOf(n) - club.SwingWeightOf(*p.Number)))
			}
			if p.BuiltOff = away > *p.Plus*(1+1e-9); p.BuiltOff {
				off = append(off, fmt.Sprintf("%s %s instead of %s (%s)", strings.ToLower(p.Label), p.Built, p.Value, p.Tolerance))
			}
		}
	}
	if len(off) > 0 {
		s.note("The delivered club is beyond the tolerance: " + strings.Join(off, "; ") + ".")
	}
}
