package audit

import (
	"context"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/sink"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

// again is how long a row that is being written may take.
func (a Auditor) again() time.Duration {
	if a.Again > 0 {
		return a.Again
	}
	return lookAgain
}

func pause(ctx context.Context, d time.Duration) error {
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(d):
		return nil
	}
}

// mend makes right what can be: entries that are not their records come from
// journal or log, rows that are computed are computed anew, notes are written
// again. What is missing the hub fetches by itself.
func (a Auditor) mend(ctx context.Context, place stream.Place, b *Bay, suspects []suspect, unnoted []string) error {
	var gone []store.Kept
	var right []store.EntryRow
	for _, s := range suspects {
		if s.forged && a.KeepUnknown {
			continue
		}
		gone = append(gone, s.Kept)
		if s.record == nil {
			continue
		}
		if l, err := sink.AsStored(s.record); err == nil {
			right = append(right, asRead(l))
		}
	}
	if len(gone) > 0 {
		if err := a.Store.RemoveEntries(ctx, place, gone); err != nil {
			return err
		}
		if err := a.Store.InsertEntries(ctx, right); err != nil {
			return err
		}
	}
	var notes []store.Aside
	for _, key := range unnoted {
		notes = append(notes, store.Aside{Place: place, Of: "entries", Key: key, Reason: "the store refused it; the note of why was lost"})
	}
	if err := a.Store.NoteAsides(ctx, notes); err != nil {
		return err
	}
	if b.Missing > 0 {
		return nil // of what is not whole nothing right can be computed
	}
	_, err := Rows(ctx, a.Store, place, true, a.again())
	return err
}

// asRead is the row of an entry before anything was computed: it gives way to
// whatever knows more.
func asRead(l event.Line) store.EntryRow {
	e := l.Entry
	return store.EntryRow{Entry: e, Payload: l.Bytes, Values: &shot.Values{},
		Tag: &tag.Tag{Situation: &tag.Situation{}, Status: tag.Nobody, At: e.EffectiveUnixNs}}
}
