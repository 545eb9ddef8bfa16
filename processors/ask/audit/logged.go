package audit

import (
	"context"
	"errors"
	"fmt"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
)

// logged counts what is in a journal and stored, and not in the log. What was on
// its way when the log was read is looked for once more.
func (a Auditor) logged(ctx context.Context, place stream.Place, journals []Journal, log map[string]gap.Ranges) error {
	trimmed, err := a.logTrimmed(ctx)
	if err != nil {
		return err
	}
	count := func() (n uint64) {
		for i := range journals {
			if j := &journals[i]; !j.Elsewhere {
				j.NotInLog = j.notIn(log[j.Journal], trimmed)
				n += j.NotInLog
			}
		}
		return n
	}
	if count() == 0 {
		return nil
	}
	if log, err = gap.InLog(ctx, a.JS, stream.Shots, place.ShotsSubject()); err != nil {
		return err
	}
	for i := range journals {
		journals[i].InLog = log[journals[i].Journal].Count()
	}
	count()
	return nil
}

// notIn counts what of a journal is stored and not in the log, but for what the
// journal can't send again. Where the log has dropped what was old, what comes
// before all that it holds is not missed.
func (j *Journal) notIn(log gap.Ranges, trimmed bool) (n uint64) {
	from := j.First
	if trimmed {
		if len(log) == 0 {
			return 0
		}
		from = max(from, log[0].From)
	}
	for _, r := range j.held {
		missing := log.Missing(max(r.From, from), min(r.To, j.Last))
		for _, q := range j.Quarantined {
			missing.Remove(q.From, q.To)
		}
		n += missing.Count()
	}
	return n
}

// logTrimmed says whether the log no longer begins with its first message.
func (a Auditor) logTrimmed(ctx context.Context) (bool, error) {
	s, err := a.JS.Stream(ctx, stream.Shots)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("read the log: %w", err)
	}
	return s.CachedInfo().State.FirstSeq > 1, nil
}
