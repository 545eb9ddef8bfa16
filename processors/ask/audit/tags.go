package audit

import (
	"context"
	"fmt"

	"github.com/google/uuid"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
	"fairlead/processors/hub/store/question"
	"fairlead/processors/visit"
	"fairlead/processors/visit/tag"
)

// Tags computes every tag of a bay anew from the visit events and entries
// stored, all at once, and returns a sentence for each entry whose row says
// something else.
func Tags(ctx context.Context, s *store.Store, place stream.Place) ([]string, error) {
	events, err := s.Events(ctx, place)
	if err != nil {
		return nil, err
	}
	log := &visit.Log{}
	for _, ev := range events {
		log.Add(ev)
	}
	entries, err := s.All(ctx, place)
	if err != nil {
		return nil, err
	}
	facts := make([]tag.Fact, 0, len(entries))
	for _, e := range entries {
		facts = append(facts, tag.FactOf(e.Entry))
	}
	want := tag.Compute(log, facts)
	rows, err := s.Conn().Query(ctx, question.BayTags(), place.Studio, place.Bay)
	if err != nil {
		return nil, fmt.Errorf("read tags: %w", err)
	}
	defer rows.Close()
	var wrong []string
	for rows.Next() {
		var k tag.Key
		var id uuid.UUID
		var got row
		if err := rows.Scan(&k.Journal, &k.Seq, &id, &got.status, &got.session, &got.trial, &got.part, &got.build, &got.player,
			&got.order); err != nil {
			return nil, fmt.Errorf("read tags: %w", err)
		}
		k.ID = event.ShotID(id)
		w, ok := want[k]
		if !ok {
			wrong = append(wrong, fmt.Sprintf("%s: a row without an entry", k))
			continue
		}
		delete(want, k)
		if expected := rowOf(w); expected != got {
			wrong = append(wrong, fmt.Sprintf("%s: stored as %+v, the visit events say %+v", k, got, expected))
		}
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read tags: %w", err)
	}
	for k := range want {
		wrong = append(wrong, fmt.Sprintf("%s: an entry without a row", k))
	}
	return wrong, nil
}

type row struct {
	status, session, trial string
	part                   uint16
	build, player          string
	order                  uint32
}

func rowOf(t tag.Tag) row {
	return row{t.Status.String(), t.Session, t.Trial, uint16(t.Part), t.BuildKey, t.Player, uint32(t.OrderInTrial)}
}
