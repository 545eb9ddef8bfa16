package store

import (
	"context"
	"strings"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

var eventColumns = func() []column[*event.VisitEvent] {
	type R = *event.VisitEvent
	return []column[R]{
		collect("studio", func(r *R) string { return (*r).Studio }),
		collect("bay", func(r *R) string { return (*r).Bay }),
		collect("id", func(r *R) string { return (*r).Id }),
		collect("journal", func(r *R) string { return (*r).Journal }),
		collect("seq", func(r *R) uint64 { return (*r).Seq }),
		collect("who", func(r *R) string { return (*r).Who }),
		collect("effective", func(r *R) time.Time { return unixTime((*r).EffectiveUnixNs) }),
		collect("recorded", func(r *R) time.Time { return unixTime((*r).RecordedUnixNs) }),
		collect("visit", func(r *R) string { return (*r).Visit }),
		collect("session", func(r *R) string { return (*r).Session }),
		collect("kind", func(r *R) string { return event.KindOf(*r) }),
		collect("body", func(r *R) string { return messageText(*r) }),
		collect("event", func(r *R) []byte {
			data, err := proto.MarshalOptions{Deterministic: true}.Marshal(*r)
			if err != nil {
				return nil
			}
			return data
		}),
	}
}()

// InsertEvents stores visit events as they were written; a repeat changes nothing.
func (s *Store) InsertEvents(ctx context.Context, events []*event.VisitEvent) error {
	return insert(ctx, s, "visit_events", eventColumns, events)
}

// VerdictRow is a verdict with its promises, and whether it was checked since.
type VerdictRow struct {
	Place      stream.Place
	ID         string
	Version    uint64
	Visit      string
	Session    string
	Player     string
	Category   string
	At         int64 // Unix ns
	Given      *event.VerdictGiven
	CheckTrial string // trial of the hit check; empty: not checked
	Live       bool   // false: the verdict was taken back
}

// Kind is the word for what was decided, as the store has it.
func (r *VerdictRow) Kind() string {
	return strings.TrimPrefix(strings.ToLower(r.Given.GetKind().String()), "verdict_")
}

var verdictColumns = func() []column[VerdictRow] {
	type R = VerdictRow
	promised := func(name string, value func(p *event.Promise) float64) column[R] {
		return collect("`promised."+name+"`", func(r *R) []float64 {
			out := make([]float64, 0, len(r.Given.GetPromises()))
			for _, p := range r.Given.GetPromises() {
				out = append(out, value(p))
			}
			return out
		})
	}
	return []column[R]{
		collect("studio", func(r *R) string { return r.Place.Studio }),
		collect("bay", func(r *R) string { return r.Place.Bay }),
		collect("id", func(r *R) string { return r.ID }),
		collect("version", func(r *R) uint64 { return r.Version }),
		collect("visit", func(r *R) string { return r.Visit }),
		collect("session", func(r *R) string { return r.Session }),
		collect("player", func(r *R) string { return r.Player }),
		collect("category", func(r *R) string { return r.Category }),
		collect("kind", func(r *R) string { return r.Kind() }),
		collect("trial", func(r *R) string { return r.Given.GetTrial() }),
		collect("baseline", func(r *R) string { return r.Given.GetBaseline() }),
		collect("build", func(r *R) string { return event.BuildKey(r.Given.GetBuild()) }),
		collect("words", func(r *R) string { return r.Given.GetWords() }),
		collect("at", func(r *R) time.Time { return unixTime(r.At) }),
		collect("`promised.outcome`", func(r *R) []string {
			out := make([]string, 0, len(r.Given.GetPromises()))
			for _, p := range r.Given.GetPromises() {
				out = append(out, p.Outcome)
			}
			return out
		}),
		promised("change", func(p *event.Promise) float64 { return p.Change }),
		promised("low", func(p *event.Promise) float64 { return p.Low }),
		promised("high", func(p *event.Promise) float64 { return p.High }),
		promised("probability_better", func(p *event.Promise) float64 { return p.ProbabilityBetter }),
		collect("checked", func(r *R) bool { return r.CheckTrial != "" }),
		collect("check_trial", func(r *R) string { return r.CheckTrial }),
		collect("live", func(r *R) bool { return r.Live }),
	}
}()

// InsertVerdicts stores verdicts; of several with one id the highest version counts.
func (s *Store) InsertVerdicts(ctx context.Context, rows []VerdictRow) error {
	return insert(ctx, s, "verdicts", verdictColumns, rows)
}
