package audit

import (
	"context"
	"fmt"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
)

// judged is what a verdict's row says.
type judged struct {
	session, kind, trial, player string
	check                        string // trial of the hit check
	live                         bool
}

// Verdicts computes every verdict of a bay anew from the visit events stored of
// the whole studio, and returns a sentence for each whose row says something
// else: one that was taken back or hit-checked since, here or in another bay.
func Verdicts(ctx context.Context, s *store.Store, place stream.Place) ([]string, error) {
	events, err := s.Events(ctx, place)
	if err != nil {
		return nil, err
	}
	log, checks := &visit.Log{}, &visit.Checks{}
	for _, ev := range events {
		log.Add(ev)
	}
	var kinds []string
	for _, k := range visit.Kinds() {
		if k.Abroad {
			kinds = append(kinds, k.Name)
		}
	}
	abroad, err := s.EventsOfKinds(ctx, place.Studio, kinds)
	if err != nil {
		return nil, err
	}
	for _, ev := range abroad {
		checks.Add(ev)
	}
	want := map[string]judged{}
	for _, v := range visit.Verdicts(log, "", checks.Trials()) {
		row := store.VerdictRow{Given: v.Given}
		want[v.Event] = judged{v.Session, row.Kind(), v.Given.GetTrial(), v.Player, v.CheckTrial, v.Live}
	}
	rows, err := s.Conn().Query(ctx, "SELECT id, session, kind, trial, player, check_trial, live FROM verdicts FINAL WHERE studio = ? AND bay = ? ORDER BY id", place.Studio, place.Bay)
	if err != nil {
		return nil, fmt.Errorf("read verdicts: %w", err)
	}
	defer rows.Close()
	var wrong []string
	for rows.Next() {
		var id string
		var got judged
		if err := rows.Scan(&id, &got.session, &got.kind, &got.trial, &got.player, &got.check, &got.live); err != nil {
			return nil, fmt.Errorf("read verdicts: %w", err)
		}
		w, ok := want[id]
		delete(want, id)
		if !ok {
			wrong = append(wrong, fmt.Sprintf("verdict %s: a row without an event", id))
		} else if w != got {
			wrong = append(wrong, fmt.Sprintf("verdict %s: stored as %+v, the visit events say %+v", id, got, w))
		}
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read verdicts: %w", err)
	}
	for id := range want {
		wrong = append(wrong, fmt.Sprintf("verdict %s: an event without a row", id))
	}
	return wrong, nil
}
