package process

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/store"
)

const (
	// auditFirst and auditEvery are when all bays are audited without any sign.
	auditFirst = 15 * time.Minute
	auditEvery = 24 * time.Hour
	// auditShare bounds what audits take in the long run: after one, so many times as
	// long nothing.
	auditShare = 20
	// auditPause is the rest after the first of them. It doubles with each that finds
	// nothing to do, until it is that long: what is changed while an audit runs, which may
	// be past it, is looked into soon.
	auditPause = 10 * time.Second
)

// selfAudit audits the studio as `fairlead audit --repair` does: each day, when it begins
// where rows are of another flight model, and when somebody changed or deleted rows, which
// leaves a trace in the store, or a part of it was lost. What differs and has a copy is made right; rows that nobody else
// knows of are told, and left to a person: they may be the only copy.
type selfAudit struct {
	auditor audit.Auditor
	store   *store.Store
	gaps    *gap.Watch
	bays    []stream.Place
	lease   nightLease
	log     *slog.Logger
	poked   chan struct{}

	wrong  *prometheus.GaugeVec   // bay
	mended *prometheus.CounterVec // bay
	ended  prometheus.Gauge

	due, notBefore time.Time
	rests          rests
	changes        uint64 // of rows by statement, that were looked into
}

// rests says how long nothing is audited after an audit.
type rests struct {
	idle  int       // audits one soon after the other that had nothing to do
	until time.Time // an audit that begins later is the first again
}

// after is the rest after an audit that took so long and ended now.
func (r *rests) after(took time.Duration, now time.Time, idle bool) time.Duration {
	most := max(auditPause, auditShare*took)
	if now.Add(-took).After(r.until) || !idle {
		r.idle = 0
	}
	rest := auditPause
	for range r.idle {
		rest = min(2*rest, most)
	}
	if idle {
		r.idle++
	}
	r.until = now.Add(rest + most)
	return rest
}

func newSelfAudit(o Options, gaps *gap.Watch, owner string) (*selfAudit, error) {
	const space, system = "fairlead", "audit"
	s := &selfAudit{
		auditor: audit.Auditor{Conn: o.Conn, JS: o.JS, Store: o.Store, Wait: 3 * time.Second, Tags: true, Repair: true, KeepUnknown: true},
		store:   o.Store, gaps: gaps, bays: o.Bays, log: o.Logger, poked: make(chan struct{}, 1), due: time.Now().Add(auditFirst),
		lease: nightLease{js: o.JS, place: stream.Place{Studio: "fleet", Bay: "audit"}, owner: owner},
		wrong: prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: space, Subsystem: system, Name: "wrong_rows",
			Help: "What the last audit of a bay found wrong and could not make right; visits: of the studio's visit events."}, []string{"bay"}),
		mended: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: space, Subsystem: system, Name: "mended_rows_total",
			Help: "What audits found wrong and made right: somebody changed the store, or its disk did."}, []string{"bay"}),
		ended: prometheus.NewGauge(prometheus.GaugeOpts{Namespace: space, Subsystem: system, Name: "ended_timestamp_seconds",
			Help: "When all bays were last audited, Unix time; 0: not since this process began."}),
	}
	for _, c := range []prometheus.Collector{s.wrong, s.mended, s.ended} {
		if err := o.Registry.Register(c); err != nil {
			return nil, fmt.Errorf("audit metrics: %w", err)
		}
	}
	return s, nil
}

// poke has an audit made soon.
func (s *selfAudit) poke() {
	select {
	case s.poked <- struct{}{}:
	default: // one is due
	}
}

// run audits until ctx ends.
func (s *selfAudit) run(ctx context.Context) {
	first := true
	if o, err := s.store.Outdated(ctx); err != nil {
		s.log.Warn("rows of another flight model can't be counted; the first audit finds them", "error", err)
	} else if o.Shots+o.Trials > 0 {
		s.log.Info("stored rows come from another flight model: they are computed anew", "shots", o.Shots, "trials", o.Trials)
		s.due = time.Time{}
	}
	for {
		if n, err := s.store.Mutations(ctx); err == nil {
			if n != s.changes && !first {
				s.due = time.Time{}
			}
			s.changes, first = n, false
		}
		now := time.Now()
		if now.After(s.due) && now.After(s.notBefore) && s.whole() {
			s.audit(ctx)
		}
		select {
		case <-ctx.Done():
			return
		case <-s.poked:
			s.due = time.Time{}
		case <-time.After(signsEvery):
		}
	}
}

// whole says whether all that the bays hold is stored: of what is not whole
// nothing right can be computed.
func (s *selfAudit) whole() bool {
	for _, j := range s.gaps.Journals() {
		if len(j.Missing) > 0 {
			return false
		}
	}
	return true
}

func (s *selfAudit) audit(ctx context.Context) {
	held, release, ok := s.lease.Hold(ctx)
	if !ok {
		s.notBefore = time.Now().Add(auditPause) // another process is at it
		return
	}
	defer release()
	begun, idle := time.Now(), true
	defer func() {
		now := time.Now()
		s.notBefore = now.Add(s.rests.after(now.Sub(begun), now, idle))
	}()
	mended, renewed, moving, missing := uint64(0), uint64(0), false, uint64(0)
	for studio, bays := range byStudio(s.bays) {
		r, err := s.auditor.Run(held, studio, bays)
		if err != nil {
			if ctx.Err() == nil {
				s.log.Warn("the studio could not be audited; it is tried again", "error", err)
			}
			return
		}
		for _, b := range r.Bays {
			s.tell(b.Bay, b.Wrong(), b.Mended, b.Examples)
			mended, renewed = mended+b.Mended, renewed+b.Renewed
			moving, missing = moving || b.Missing+b.NotInLog > 0, missing+b.Missing
		}
		s.tell("visits", r.Visits.Wrong(), r.Visits.Mended, r.Visits.Examples)
		mended += r.Visits.Mended
	}
	if missing > 0 {
		s.gaps.Recount() // rows that were there and are gone, which are counted again in minutes only
	}
	s.ended.Set(float64(time.Now().Unix()))
	s.log.Info("all bays were audited", "mended", mended, "renewed", renewed, "missing", missing, "seconds", time.Since(begun).Seconds())
	if s.due = begun.Add(auditEvery); mended+renewed == 0 && !moving {
		return // what was changed meanwhile shows in the count of changes
	}
	// What is on its way comes first. And to mend is to change: whether somebody else did too is seen by another audit,
	// until one has nothing to do.
	s.due, idle = time.Time{}, false
	if n, err := s.store.Mutations(ctx); err == nil {
		s.changes = n
	}
}

func (s *selfAudit) tell(bay string, wrong, mended uint64, examples []string) {
	s.wrong.WithLabelValues(bay).Set(float64(wrong))
	s.mended.WithLabelValues(bay).Add(float64(mended))
	if wrong+mended > 0 {
		s.log.Error("the audit found rows that are not what journals and events say: who changed the store, or what did its disk do?",
			"bay", bay, "mended", mended, "left", wrong, "found", examples)
	}
}

func byStudio(bays []stream.Place) map[string][]stream.Place {
	out := map[string][]stream.Place{}
	for _, p := range bays {
		out[p.Studio] = append(out[p.Studio], p)
	}
	return out
}
