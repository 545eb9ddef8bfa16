package sealing

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/gofrs/flock"
	"google.golang.org/protobuf/proto"

	"fairlead/deploy/engine"
	"fairlead/deploy/studio"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/copies"
	"fairlead/ingest/log/durable"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/relay"
	"fairlead/ingest/log/stream"
	"fairlead/ingest/log/vault"
	"fairlead/processors/ask/erase"
	"fairlead/processors/hub/sink"
	"fairlead/processors/hub/store"
)

// Sealing says which studio's texts are sealed.
type Sealing struct {
	Config *studio.Config
	// Names seals the file of names, which the console does too when it starts.
	Names func(keys *vault.Ring) error
	Now   func() time.Time
	Log   *slog.Logger
}

// run is one going through of all places.
type run struct {
	Sealing
	keys  *vault.Ring
	store *store.Store // nil: nothing was ever stored here
	facts *facts
}

// Run seals. The studio must not run.
func (o Sealing) Run(ctx context.Context) (r *Report, err error) {
	c := o.Config
	if c.Broker.URL != "" {
		return nil, errors.New("the log is a broker of its own (broker.url): what it holds in clear can't be written anew from here. " +
			"Seal where the broker's folder stands, or start a new log and have the journals fill it")
	}
	if err := c.OwnsData(); err != nil {
		return nil, err
	}
	if at := c.Listens(); at != "" {
		return nil, fmt.Errorf("the studio runs (something listens on %s): stop it first, such as by `systemctl stop fairlead`; "+
			"shots wait in the bays' journals meanwhile", at)
	}
	free, err := o.hold()
	defer free()
	if err != nil {
		return nil, err
	}
	s := &run{Sealing: o}
	if s.keys, err = vault.Open(vault.Beside(c.PeopleFile())); err != nil {
		return nil, err
	}
	stop, err := s.openStore(ctx)
	defer stop()
	if err != nil {
		return nil, err
	}
	if err := s.gather(ctx); err != nil {
		return nil, err
	}
	again := c.RefuseHalfSealed() != nil
	if s.facts.clear == 0 && !again {
		return &Report{Already: true, Events: len(s.facts.seen)}, o.Names(s.keys)
	}
	o.Log.Info("sealing what people wrote", "events", len(s.facts.seen), "in clear", s.facts.clear, "goes on", again)
	// First the keys, whole and on the disk: what is sealed without them is lost.
	if err := s.keys.Prepare(s.facts.owners(), s.facts.erased, o.Now()); err != nil {
		return nil, err
	}
	if err := durable.WriteJSON(c.SealingFile(), map[string]time.Time{"began": o.Now().UTC()}); err != nil {
		return nil, err
	}
	return s.all(ctx)
}

// hold keeps backups and collectors of this machine away.
func (o Sealing) hold() (free func(), err error) {
	var held []func()
	free = func() {
		for _, f := range held {
			f()
		}
	}
	l := flock.New(o.Config.DataPath("backup.lock"))
	got, err := l.TryLock()
	if err == nil && !got {
		err = errors.New("a backup is being taken or tried: wait for it, or end it")
	}
	if err != nil {
		return free, err
	}
	held = append(held, func() { l.Unlock() })
	for _, b := range o.Config.Bays {
		f, err := journal.Hold(o.Config.JournalDir(b.Name))
		if errors.Is(err, os.ErrNotExist) {
			continue
		}
		if err != nil {
			return free, fmt.Errorf("bay %s: %w: stop its collector first", b.Name, err)
		}
		held = append(held, f)
	}
	return free, nil
}

// openStore opens the store of the studio; the embedded engine is started for it.
func (s *run) openStore(ctx context.Context) (stop func(), err error) {
	c, stop := s.Config, func() {}
	dsn := c.Store.DSN
	if dsn == "" {
		if _, err := os.Stat(filepath.Join(c.EngineDir(), "store")); errors.Is(err, os.ErrNotExist) {
			return stop, nil
		}
		memory, err := c.EngineMemory()
		if err != nil {
			return stop, err
		}
		p, err := startEngine(ctx, engine.Options{DataDir: c.EngineDir(), TokenFile: c.EngineTokenFile(), Database: studio.EngineDatabase,
			Memory: fmt.Sprint(memory), StartTimeout: 10 * time.Minute})
		if err != nil {
			return stop, err
		}
		stop = func() { p.Stop() }
		dsn = p.DSN()
	}
	if s.store, err = store.Open(dsn); err != nil {
		return stop, err
	}
	end := stop
	stop = func() { s.store.Close(); end() }
	if err := studio.Answering(ctx, s.store); err != nil {
		return stop, err
	}
	if err := s.store.Migrate(ctx); err != nil {
		return stop, err
	}
	return stop, s.store.Unsealing(ctx)
}

// startEngine waits for an engine that a killed sealing left, which ends by itself.
func startEngine(ctx context.Context, o engine.Options) (*engine.Process, error) {
	for begun := time.Now(); ; {
		p, err := engine.Start(ctx, o)
		if err == nil || time.Since(begun) > time.Minute || !strings.Contains(err.Error(), "another engine works") {
			return p, err
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(200 * time.Millisecond):
		}
	}
}

// all goes through the places, one after another.
func (s *run) all(ctx context.Context) (r *Report, err error) {
	c := s.Config
	r = &Report{Events: len(s.facts.seen)}
	if err := s.Names(s.keys); err != nil {
		return nil, err
	}
	if r.Journal, err = journal.Rewrite(c.ConsoleJournalDir(), s.sealed); err != nil {
		return nil, err
	}
	form := relay.Events()
	log, err := stream.RewriteVisits(ctx, c.BrokerDir(), func(m stream.Message) (stream.Message, error) { return form.Rewritten(m, s.sealed) })
	if err != nil {
		return nil, err
	}
	r.Log = log.Changed
	for _, file := range c.CopiesFiles() {
		n, err := copies.Rewrite(file, s.sealed)
		if err != nil {
			return nil, err
		}
		r.Copies += n
	}
	known, err := s.words(ctx)
	if err != nil {
		return nil, err
	}
	if s.store != nil {
		if err := s.rows(ctx, r, log, known.told()); err != nil {
			return nil, err
		}
	}
	// Links of backups that were cut short hold parts of before.
	for _, left := range []string{filepath.Join(c.EngineDir(), "shadow"), c.DataPath(".backup")} {
		if err := os.RemoveAll(left); err != nil {
			return nil, err
		}
	}
	if err := s.look(ctx, r, known.told()); err != nil {
		return nil, err
	}
	if err := durable.WriteJSON(c.SealedFile(), studio.Sealed{At: s.Now().UTC(), Events: r.Events}); err != nil {
		return nil, err
	}
	if err := os.Remove(c.SealingFile()); err != nil {
		return nil, err
	}
	return r, nil
}

// words are those of all events that their keys still open.
func (s *run) words(ctx context.Context) (*words, error) {
	w := newWords()
	take := func(data []byte) error {
		said, err := s.sealed(data)
		if err != nil {
			return err
		}
		ev := &event.VisitEvent{}
		if proto.Unmarshal(said, ev) == nil && ev.Studio == s.Config.Studio {
			w.add(ev, s.keys.Open)
		}
		return nil
	}
	if err := journal.Look(s.Config.ConsoleJournalDir(), take); err != nil {
		return nil, err
	}
	for _, l := range s.facts.logs { // those of the log and the store that the journal has no more
		for _, ev := range l.All() {
			data, err := proto.Marshal(ev)
			if err == nil {
				err = take(data)
			}
			if err != nil {
				return nil, err
			}
		}
	}
	return w, nil
}

// rows fills the store's tables anew.
func (s *run) rows(ctx context.Context, r *Report, log stream.Rewritten, told []store.Word) error {
	var events []*event.VisitEvent
	err := s.store.EachEvent(ctx, s.Config.Studio, func(data []byte) error {
		said, err := s.sealed(data)
		if err != nil {
			return err
		}
		ev := &event.VisitEvent{}
		switch {
		case proto.Unmarshal(said, ev) != nil:
			r.Unread++
		case !bytes.Equal(said, data):
			events = append(events, ev)
		}
		return nil
	})
	if err != nil {
		return err
	}
	r.Rows = len(events)
	if err := s.store.SealEvents(ctx, events); err != nil {
		return err
	}
	places, err := erase.Places(ctx, s.store, s.Config.Studio, s.Config.Places())
	if err != nil {
		return err
	}
	scratch, err := s.store.NewScratch(ctx, strings.ToLower(event.NewID(s.Now())))
	if err != nil {
		return err
	}
	defer scratch.Close(context.WithoutCancel(ctx))
	for _, place := range places {
		err := sink.Recompute(ctx, s.store, place, slog.New(slog.DiscardHandler), func(rows sink.Rows) error {
			return scratch.Insert(ctx, rows.Entries, rows.Trials, rows.Verdicts)
		})
		if err != nil {
			return err
		}
	}
	if err := s.store.SealComputed(ctx, scratch); err != nil {
		return err
	}
	if err := s.store.SealFleet(ctx, told); err != nil {
		return err
	}
	return s.mark(ctx, log)
}

// mark remembers when the log took its last message, for it took it anew. A mark that
// is beyond the log's end says that the log was set back, and stays.
func (s *run) mark(ctx context.Context, log stream.Rewritten) error {
	marks, err := s.store.LogMarks(ctx, s.Config.Studio)
	if err != nil || log.LastSeq == 0 || marks[stream.Visits].Seq == 0 || marks[stream.Visits].Seq > log.LastSeq {
		return err
	}
	return s.store.SetLogMark(ctx, s.Config.Studio, store.LogMark{Stream: stream.Visits, Seq: log.LastSeq, Sent: log.LastTime})
}

// look looks for the words in all that stands below the data folder.
func (s *run) look(ctx context.Context, r *Report, told []store.Word) error {
	files, err := newFinder(told).files(s.Config.DataPath())
	if err != nil {
		return err
	}
	for _, file := range files {
		r.Left = append(r.Left, "the file "+file)
	}
	if s.store == nil {
		return nil
	}
	list := make([]string, len(told))
	for i, w := range told {
		list[i] = w.Clear
	}
	held, err := s.store.Holding(ctx, list)
	if err != nil {
		return err
	}
	for column, n := range held {
		r.Left = append(r.Left, fmt.Sprintf("%d rows of %s", n, column))
	}
	return nil
}
