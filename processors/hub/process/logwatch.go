package process

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/store"
)

const (
	lookEvery = 2 * time.Second
	markEvery = 10 * time.Second
)

// logWatch notices when the log is not what it was: a stream that a power cut
// took away, a folder restored from an older copy, messages lost to a damaged
// block. It makes the streams anew, says so, and has the journals fill in what
// the log held and holds no more, so that a replay finds it. The store needs
// none of that: it keeps its rows, and what it lacks the gap watch asks for.
//
// What it saw last it remembers in the store, because a copy may be restored
// while nothing runs. And whenever the broker comes back it compares the log
// with the rows, for a message that was lost may leave its number to another.
type logWatch struct {
	nc     *nats.Conn
	js     jetstream.JetStream
	layout stream.Layout
	store  *store.Store
	gaps   *gap.Watch
	studio string
	bays   []stream.Place
	log    *slog.Logger
	renew  chan<- struct{} // makes the bays be taken over anew

	alarms   *prometheus.CounterVec // stream
	unfilled *prometheus.GaugeVec   // stream

	marks   map[string]store.LogMark
	saved   map[string]store.LogMark
	savedAt time.Time
	deleted map[string]int
	doubted map[string]time.Time // streams of a cluster that seem set back, and since when
	// due are the owners of journals that have yet to be compared with a stream.
	due     map[string]map[stream.Place]due
	lives   uint64 // of the connection, that were compared
	started bool
}

func newLogWatch(o Options, gaps *gap.Watch, renew chan<- struct{}) (*logWatch, error) {
	w := &logWatch{
		nc: o.Conn, js: o.JS, layout: o.Layout, store: o.Store, gaps: gaps, bays: o.Bays, log: o.Logger, renew: renew,
		alarms: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "fairlead", Subsystem: "log", Name: "set_back_total",
			Help: "Times that a stream of the log was gone, damaged, or in an earlier state than it had been."}, []string{"stream"}),
		unfilled: prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "log", Name: "unfilled_journals",
			Help: "Bays whose journals have yet to fill in what a stream of the log lost."}, []string{"stream"}),
		marks: map[string]store.LogMark{}, saved: map[string]store.LogMark{}, deleted: map[string]int{}, doubted: map[string]time.Time{},
		due: map[string]map[stream.Place]due{},
	}
	if len(o.Bays) > 0 {
		w.studio = o.Bays[0].Studio
	}
	for _, c := range []prometheus.Collector{w.alarms, w.unfilled} {
		if err := o.Registry.Register(c); err != nil {
			return nil, fmt.Errorf("log watch metrics: %w", err)
		}
	}
	return w, nil
}

// run watches until ctx ends. The buckets have a watch of their own: no bay is
// tagged without them, and to fill in a stream may take minutes.
func (w *logWatch) run(ctx context.Context) {
	var beside sync.WaitGroup
	defer beside.Wait()
	beside.Go(func() {
		for ctx.Err() == nil {
			if err := w.buckets(ctx); err != nil && ctx.Err() == nil {
				w.log.Debug("the buckets can't be looked at", "error", err)
			}
			select {
			case <-ctx.Done():
			case <-time.After(lookEvery):
			}
		}
	})
	remembered := false
	for {
		if !remembered {
			marks, err := w.store.LogMarks(ctx, w.studio)
			if err == nil {
				remembered = true
				for name, m := range marks {
					w.marks[name], w.saved[name] = m, m
				}
			}
		}
		if remembered {
			w.compareAfterBreaks()
			for _, name := range []string{stream.Shots, stream.Visits} {
				if err := w.look(ctx, name); err != nil && ctx.Err() == nil {
					w.log.Debug("the log can't be looked at", "stream", name, "error", err)
				}
			}
			w.save(ctx)
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(lookEvery):
		}
	}
}

// look compares a stream with what it was.
func (w *logWatch) look(ctx context.Context, name string) error {
	short, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	s, err := w.js.Stream(short, name)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		w.alarm(name, "the stream is gone")
		return stream.Declare(short, w.js, w.layout)
	}
	if err != nil {
		return err
	}
	info := s.CachedInfo()
	if !stream.Agreed(info) {
		return fmt.Errorf("stream %s: the node that answers has no majority beside it", name)
	}
	now := info.State
	deleted, known := w.deleted[name]
	if !known {
		deleted = now.NumDeleted // the comparison at the start sees to what is missing
	}
	why, err := w.changed(short, s, w.marks[name], now, deleted)
	if err != nil {
		return err
	}
	if why != "" && replicated(info) && !w.sure(name) {
		return nil
	}
	delete(w.doubted, name)
	w.marks[name] = store.LogMark{Stream: name, Seq: now.LastSeq, Sent: now.LastTime}
	w.deleted[name] = now.NumDeleted
	if why != "" {
		w.alarm(name, why)
	}
	long, stop := context.WithTimeout(ctx, 2*time.Minute)
	defer stop()
	return w.fill(long, name)
}

// doubtFor is how long a replicated stream has to seem set back before that is
// believed: a leader that lost its peers, or a new one that catches up, answers
// for a while with what was.
const doubtFor = 15 * time.Second

// sure says whether a stream has seemed set back for long enough.
func (w *logWatch) sure(name string) bool {
	since, doubted := w.doubted[name]
	if !doubted {
		w.doubted[name] = time.Now()
	}
	return doubted && time.Since(since) >= doubtFor
}

func replicated(info *jetstream.StreamInfo) bool { return info.Config.Replicas > 1 }

// buckets makes anew what a power cut took of them: nothing in them is needed
// for longer than a lease.
func (w *logWatch) buckets(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	for _, name := range []string{stream.Leases, stream.People} {
		_, err := w.js.KeyValue(ctx, name)
		if errors.Is(err, jetstream.ErrBucketNotFound) {
			w.log.Warn("a bucket of the log is gone and is made anew", "bucket", name)
			return stream.Declare(ctx, w.js, w.layout)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// changed says in words what is not as it was; nothing when all is.
func (w *logWatch) changed(ctx context.Context, s jetstream.Stream, was store.LogMark, now jetstream.StreamState, deleted int) (string,
	error) {
	switch {
	case now.NumDeleted > deleted:
		return fmt.Sprintf("%d messages in its middle can't be read any more", now.NumDeleted-deleted), nil
	case was.Seq == 0 || was.Seq < now.FirstSeq && now.Msgs > 0 && now.LastSeq >= was.Seq:
		return "", nil // nothing was seen, or it has grown too old to be kept
	case now.LastSeq < was.Seq:
		return fmt.Sprintf("it ends at message %d and had %d", now.LastSeq, was.Seq), nil
	case now.Msgs == 0:
		return "", nil
	}
	m, err := s.GetMsg(ctx, was.Seq)
	if errors.Is(err, jetstream.ErrMsgNotFound) {
		return fmt.Sprintf("message %d can't be read any more", was.Seq), nil
	}
	if err != nil {
		return "", err
	}
	if !m.Time.Equal(was.Sent) {
		return fmt.Sprintf("message %d is of %s and had been of %s", was.Seq, m.Time.UTC().Format(time.RFC3339), was.Sent.Format(time.RFC3339)),
			nil
	}
	return "", nil
}

func (w *logWatch) alarm(name, why string) {
	w.log.Error("the log is not what it was: its disk lost power, is damaged or was restored; the journals fill it in", "stream", name,
		"found", why)
	w.alarms.WithLabelValues(name).Inc()
	w.compare(name, true)
	select {
	case w.renew <- struct{}{}:
	default: // one is on its way
	}
}

// save remembers the marks in the store. While a stream is not filled in, its
// old mark stays, so that the next hub finds the trouble too.
func (w *logWatch) save(ctx context.Context) {
	if time.Since(w.savedAt) < markEvery {
		return
	}
	for name, m := range w.marks {
		if w.lost(name) > 0 || m == w.saved[name] || m.Seq == 0 {
			continue
		}
		if err := w.store.SetLogMark(ctx, w.studio, m); err != nil {
			w.log.Debug("the log's mark was not kept", "error", err)
			continue
		}
		w.saved[name] = m
	}
	w.savedAt = time.Now()
}
