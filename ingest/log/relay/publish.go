package relay

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/stream"
	"github.com/nats-io/nats.go/jetstream"
)

// batchSize bounds what is in flight to the broker: with syncing on, larger
// windows stall.
const batchSize = 256

// Publisher carries the journals of a folder to the log, in order, each entry
// at least once.
type Publisher struct {
	journal *journal.Journal
	js      jetstream.JetStream
	form    Form
	hint    string // file that remembers what was sent; losing it costs repeats only
	metrics Metrics
	// Lost hears of records that were damaged before they could be sent; nil: nobody does.
	Lost func(journal string, from, to uint64)
	// Pace keeps below what the broker lets one bay say; nil: as fast as it goes.
	Pace *stream.Pace

	mu    sync.Mutex
	trail *trail
	lives uint64    // of the connection, that what is in doubt was sent again for
	since time.Time // when the oldest unsent entry was appended; zero: none
}

// NewPublisher makes a publisher of the journals in dir.
func NewPublisher(j *journal.Journal, js jetstream.JetStream, form Form, dir string, m Metrics) *Publisher {
	p := &Publisher{journal: j, js: js, form: form, hint: filepath.Join(dir, "published.json"), metrics: m}
	kept := map[string]uint64{}
	if text, err := os.ReadFile(p.hint); err == nil && json.Unmarshal(text, &kept) != nil {
		kept = nil
	}
	p.trail = newTrail(kept)
	return p
}

// Run publishes until ctx ends.
func (p *Publisher) Run(ctx context.Context) {
	defer p.remember()
	saved := time.Now()
	for ctx.Err() == nil {
		round, end := p.round(ctx)
		id, from := p.next()
		err := p.carry(round, id, from, &saved)
		renewed := round.Err() != nil
		end()
		if err != nil && ctx.Err() == nil && !renewed {
			p.metrics.Errors.Inc()
			for again := true; again && ctx.Err() == nil; {
				again = stream.Unanswered(err) && !p.seek(ctx)
				select {
				case <-ctx.Done():
				case <-time.After(200 * time.Millisecond):
				}
			}
		}
	}
}

// seek finds the node of a cluster that takes what is to be sent next.
func (p *Publisher) seek(ctx context.Context) bool {
	r := p.journal.Read(p.next())
	defer r.Close()
	e, ok, err := r.TryNext()
	if !ok || err != nil {
		return true // it is looked into where it is sent
	}
	return stream.Seek(ctx, p.js.Conn(), stream.Takes(p.form.message(e, "")))
}

// next is the oldest journal with something unsent, else the active one.
func (p *Publisher) next() (id string, from uint64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, info := range p.journal.Journals() {
		id, from = info.ID, max(p.trail.from(info.ID, info.Floor), info.First)
		if p.trail.sent[info.ID] > info.Last {
			from = info.Last + 1 // a hint from another life of the disk
		}
		if from <= info.Last {
			return id, from
		}
	}
	return id, from
}

// carry publishes one journal from a seq on until it ends or a publish fails.
// While a batch is on its way the next is read and sent, so that neither disk
// nor network waits for the other.
func (p *Publisher) carry(ctx context.Context, id string, from uint64, saved *time.Time) error {
	r := p.journal.Read(id, from)
	defer r.Close()
	var before *underway
	expected := from
	for {
		entries, err := p.nextBatch(ctx, r, before != nil)
		if len(entries) == 0 && before == nil {
			if errors.Is(err, io.EOF) {
				p.passedEnd(id, expected)
				return nil
			}
			return err
		}
		for _, e := range entries {
			if e.Seq > expected {
				p.lost(id, expected, e.Seq-1)
			}
			expected = e.Seq + 1
		}
		var now *underway
		if len(entries) > 0 {
			if now, err = p.send(ctx, entries); err != nil {
				return err
			}
		}
		if before != nil {
			if err := p.landed(ctx, id, before, saved); err != nil {
				return err // what was sent after it is sent again, and swallowed
			}
		}
		before = now
	}
}

// lost tells of records that nobody can send any more, and nobody sent.
func (p *Publisher) lost(id string, from, to uint64) {
	if from = max(from, p.sent(id)+1); p.Lost != nil && from <= to {
		p.Lost(id, from, to)
	}
}

// passedEnd notes that the last records of a journal that is not appended to any
// more can't be read: what follows it is to be sent.
func (p *Publisher) passedEnd(id string, expected uint64) {
	for _, info := range p.journal.Journals() {
		if info.ID == id && !info.Active && expected <= info.Last {
			p.lost(id, expected, info.Last)
			p.mark(id, info.Last)
		}
	}
}

// underway is a batch that was sent.
type underway struct {
	entries []journal.Entry
	sent    *stream.Sent
}

func (p *Publisher) send(ctx context.Context, entries []journal.Entry) (*underway, error) {
	if sent := p.sent(entries[0].Journal); entries[len(entries)-1].Seq > sent {
		i := slices.IndexFunc(entries, func(e journal.Entry) bool { return e.Seq > sent })
		p.waiting(entries[i].At)
	}
	batch := make([]stream.Message, len(entries))
	for i, e := range entries {
		batch[i] = p.form.message(e, "")
	}
	if err := p.Pace.Wait(ctx, batch); err != nil {
		return nil, err
	}
	return &underway{entries, stream.Send(p.js, batch)}, nil
}

// landed waits for a batch and notes how far the log has it.
func (p *Publisher) landed(ctx context.Context, id string, u *underway, saved *time.Time) error {
	done, err := u.sent.Wait(ctx)
	if done > 0 {
		p.metrics.Published.Add(float64(done))
		p.mark(id, u.entries[done-1].Seq)
	}
	if err != nil {
		return err
	}
	p.waiting(time.Time{})
	if time.Since(*saved) > time.Second {
		p.remember()
		*saved = time.Now()
	}
	return nil
}

// nextBatch takes what there is, at most batchSize entries. Unless a batch is
// on its way, which wants to be waited for, it waits for the first.
func (p *Publisher) nextBatch(ctx context.Context, r *journal.Reader, busy bool) (entries []journal.Entry, err error) {
	if !busy {
		first, err := r.Next(ctx)
		if err != nil {
			return nil, err
		}
		entries = append(entries, first)
	}
	for len(entries) < batchSize {
		e, ok, err := r.TryNext()
		if !ok || err != nil {
			return entries, err
		}
		entries = append(entries, e)
	}
	return entries, nil
}

func (p *Publisher) mark(id string, seq uint64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.trail.mark(id, seq, time.Now())
}

// sent is how far the log acknowledged a journal.
func (p *Publisher) sent(id string) uint64 {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.trail.sent[id]
}

func (p *Publisher) waiting(since time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.since = since
}

// Unsent counts what the log has not acknowledged yet, and its age.
func (p *Publisher) Unsent(now time.Time) (n uint64, oldest time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, info := range p.journal.Journals() {
		if mark := max(p.trail.sent[info.ID]+1, info.First); mark <= info.Last {
			n += info.Last - mark + 1
		}
	}
	if n > 0 && !p.since.IsZero() {
		oldest = now.Sub(p.since)
	}
	return n, max(oldest, 0)
}

// remember writes the marks; a torn or missing file only costs repeats.
func (p *Publisher) remember() {
	p.mu.Lock()
	var journals []string
	for _, info := range p.journal.Journals() {
		journals = append(journals, info.ID)
	}
	text, err := json.Marshal(p.trail.kept(journals))
	p.mu.Unlock()
	if err != nil {
		return
	}
	temporary := p.hint + ".tmp"
	if os.WriteFile(temporary, text, 0o600) == nil {
		os.Rename(temporary, p.hint)
	}
}
