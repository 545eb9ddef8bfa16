package stream

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// Rewritten is what became of a stream that was gone through.
type Rewritten struct {
	Changed int
	// LastSeq and LastTime are of its last message: who remembers when the log took
	// that has to remember anew, for the messages were taken anew.
	LastSeq  uint64
	LastTime time.Time
}

// rewriteDir is beside the streams, on their disk: what is there is put in their
// place by renaming.
const rewriteDir = "rewrite"

// RewriteVisits gives each message of the VISITS stream of a broker that does not
// run to change, and where it gave back another puts a stream in the place of the
// old one: the same messages under their subjects and numbers, what the log lost
// included, taken now. The folder holds the old stream, or the new one, or, where
// the power went between two renamings, both under names that the next call knows.
// It may be said again; a stream in which nothing changes is not touched.
func RewriteVisits(ctx context.Context, dir string, change func(Message) (Message, error)) (r Rewritten, err error) {
	w := rewriting{dir: dir, at: filepath.Join(dir, rewriteDir)}
	if w.from, err = w.find(); err != nil || w.from == "" {
		return r, err
	}
	if err := w.build(ctx, change, &r); err != nil || r.Changed == 0 {
		return r, errors.Join(err, os.RemoveAll(w.at))
	}
	return r, w.swap()
}

// LookAtVisits gives each message of the VISITS stream of a broker that does not run.
func LookAtVisits(ctx context.Context, dir string, each func(Message) error) error {
	w := rewriting{dir: dir, at: filepath.Join(dir, rewriteDir)}
	var err error
	if w.from, err = w.find(); err != nil || w.from == "" {
		return err
	}
	err = w.build(ctx, func(m Message) (Message, error) { return m, each(m) }, &Rewritten{})
	return errors.Join(err, os.RemoveAll(w.at))
}

type rewriting struct{ dir, at, from string }

func (w rewriting) was() string { return filepath.Join(w.at, "was") } // a copy to read from
func (w rewriting) is() string  { return filepath.Join(w.at, "is") }
func (w rewriting) old() string { return filepath.Join(w.at, "old") }

// placed is where a broker without accounts keeps the stream.
func placed(dir string) string {
	return filepath.Join(dir, server.JetStreamStoreDir, server.DEFAULT_GLOBAL_ACCOUNT, "streams", Visits)
}

// whole says that all of the new stream is on the disk.
func (w rewriting) whole() string { return filepath.Join(w.at, "whole") }

// find says where the stream is, after it finished what a cut left between two
// renamings; empty: there is none.
func (w rewriting) find() (string, error) {
	if to, err := os.ReadFile(w.whole()); err == nil {
		if _, err := os.Stat(string(to)); errors.Is(err, fs.ErrNotExist) && len(to) > 0 {
			w.from = string(to)
			if err := w.place(); err != nil {
				return "", err
			}
		}
	}
	if err := os.RemoveAll(w.at); err != nil {
		return "", fmt.Errorf("rewrite %s: %w", Visits, err)
	}
	for _, account := range []string{HubAccount, server.DEFAULT_GLOBAL_ACCOUNT} {
		at := filepath.Join(w.dir, server.JetStreamStoreDir, account, "streams", Visits)
		if _, err := os.Stat(at); err == nil {
			return at, nil
		}
	}
	return "", nil
}

// swap moves the old stream away and the new one into its place.
func (w rewriting) swap() error {
	if err := syncTree(w.is()); err != nil {
		return fmt.Errorf("rewrite %s: %w", Visits, err)
	}
	err := os.WriteFile(w.whole(), []byte(w.from), 0o600)
	if err == nil {
		err = syncTree(w.at)
	}
	if err == nil {
		err = os.Rename(w.from, w.old())
	}
	if err != nil {
		return fmt.Errorf("rewrite %s: %w", Visits, err)
	}
	return w.place()
}

func (w rewriting) place() error {
	err := os.Rename(placed(w.is()), w.from)
	if err == nil {
		err = errors.Join(syncTree(filepath.Dir(w.from)), syncTree(w.dir))
	}
	if err == nil {
		err = os.RemoveAll(w.at)
	}
	if err != nil {
		return fmt.Errorf("rewrite %s: %w", Visits, err)
	}
	return nil
}

// syncTree makes a folder durable with all below it.
func syncTree(dir string) error {
	return filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() && !d.Type().IsRegular() {
			return err
		}
		f, err := os.Open(path)
		if err != nil {
			return err
		}
		return errors.Join(f.Sync(), f.Close())
	})
}

// build reads a copy of the stream and writes the new one, by brokers that nobody
// can connect to but this process. Without a change nothing is written.
func (w rewriting) build(ctx context.Context, change func(Message) (Message, error), r *Rewritten) error {
	err := os.MkdirAll(filepath.Dir(placed(w.was())), 0o700)
	if err == nil {
		err = copyStream(w.from, placed(w.was()))
	}
	if err != nil {
		return fmt.Errorf("rewrite %s: %w", Visits, err)
	}
	from, stop, err := inside(w.was())
	if err != nil {
		return fmt.Errorf("read %s: %w", Visits, err)
	}
	defer stop()
	s, err := from.Stream(ctx, Visits)
	if err != nil {
		return fmt.Errorf("read %s: %w", Visits, err)
	}
	info := s.CachedInfo()
	r.LastSeq, r.LastTime = info.State.LastSeq, info.State.LastTime
	err = eachMessage(ctx, s, info.State, func(m Message, raw *jetstream.RawStreamMsg) error {
		said, err := change(m)
		if err == nil && (said.ID != m.ID || string(said.Data) != string(m.Data)) {
			r.Changed++
		}
		return err
	})
	if err != nil || r.Changed == 0 {
		return err
	}
	to, end, err := inside(w.is())
	if err != nil {
		return fmt.Errorf("write %s: %w", Visits, err)
	}
	defer end()
	if err := w.write(ctx, s, to, change, r); err != nil {
		return fmt.Errorf("write %s: %w", Visits, err)
	}
	return nil
}

// copyStream copies a stream's folder, without its consumers.
func copyStream(from, to string) error {
	if err := os.Mkdir(to, 0o700); err != nil {
		return err
	}
	return filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		if err != nil || path == from {
			return err
		}
		rel, err := filepath.Rel(from, path)
		switch {
		case err != nil:
			return err
		case d.IsDir() && rel == "obs":
			return fs.SkipDir
		case d.IsDir():
			return os.Mkdir(filepath.Join(to, rel), 0o700)
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(to, rel), text, 0o600)
	})
}

// inside runs a broker on a folder that listens nowhere.
func inside(dir string) (js jetstream.JetStream, stop func(), err error) {
	s, err := server.NewServer(&server.Options{ServerName: "fairlead", DontListen: true, JetStream: true, StoreDir: dir, NoSigs: true,
		NoLog: true, JetStreamMaxStore: 1 << 40, JetStreamMaxMemory: 16 << 20, MaxPayload: 8 << 20})
	if err != nil {
		return nil, nil, err
	}
	s.Start()
	end := func() { s.Shutdown(); s.WaitForShutdown() }
	if !s.ReadyForConnections(30*time.Second) || !s.JetStreamEnabled() {
		end()
		return nil, nil, fmt.Errorf("no broker runs in %s within 30 s: is there room on the disk?", dir)
	}
	nc, err := nats.Connect("", nats.InProcessServer(s), nats.Timeout(10*time.Second))
	if err == nil {
		js, err = jetstream.New(nc, jetstream.WithDefaultTimeout(time.Minute))
	}
	if err != nil {
		end()
		return nil, nil, err
	}
	return js, func() { nc.Close(); end() }, nil
}

// eachMessage gives the messages of a stream in their order; nil for one that is lost.
func eachMessage(ctx context.Context, s jetstream.Stream, state jetstream.StreamState,
	take func(Message, *jetstream.RawStreamMsg) error) error {
	for seq := max(state.FirstSeq, 1); seq <= state.LastSeq; seq++ {
		raw, err := s.GetMsg(ctx, seq)
		if errors.Is(err, jetstream.ErrMsgNotFound) {
			continue
		}
		if err != nil {
			return fmt.Errorf("message %d: %w", seq, err)
		}
		if err := take(Message{raw.Subject, raw.Header.Get(jetstream.MsgIDHeader), raw.Data}, raw); err != nil {
			return fmt.Errorf("message %d: %w", seq, err)
		}
	}
	return nil
}

// leastWindow is the shortest that a stream may know ids again for: one that was
// said again after the window of its time stands there twice, and shall again.
const leastWindow = 100 * time.Millisecond

// write puts the messages into a new stream, each under the number that it had.
func (w rewriting) write(ctx context.Context, from jetstream.Stream, to jetstream.JetStream, change func(Message) (Message, error),
	r *Rewritten) error {
	state, config := from.CachedInfo().State, from.CachedInfo().Config
	open := config
	open.Duplicates, open.DenyDelete, open.DenyPurge, open.MaxBytes = leastWindow, false, false, -1
	if state.FirstSeq > 1 {
		open.FirstSeq = state.FirstSeq
	}
	s, err := to.CreateStream(ctx, open)
	if err != nil {
		return err
	}
	next := max(state.FirstSeq, 1)
	lostUpTo := func(seq uint64) error { // the number of a message that is lost is nobody else's
		for ; next < seq; next++ {
			if err := published(ctx, to, &nats.Msg{Subject: "visits.lost.lost"}, next); err != nil {
				return err
			}
			if err := s.DeleteMsg(ctx, next); err != nil {
				return err
			}
		}
		return nil
	}
	err = eachMessage(ctx, from, state, func(m Message, raw *jetstream.RawStreamMsg) error {
		if err := lostUpTo(raw.Sequence); err != nil {
			return err
		}
		said, err := change(m)
		if err != nil {
			return err
		}
		msg := &nats.Msg{Subject: raw.Subject, Header: own(raw.Header), Data: said.Data}
		if said.ID != "" {
			msg.Header.Set(jetstream.MsgIDHeader, said.ID)
		}
		next++
		return published(ctx, to, msg, raw.Sequence)
	})
	if err == nil {
		err = lostUpTo(state.LastSeq + 1)
	}
	if err != nil {
		return err
	}
	open.Duplicates, open.DenyDelete, open.DenyPurge, open.MaxBytes = config.Duplicates, config.DenyDelete, config.DenyPurge, config.MaxBytes
	if s, err = to.UpdateStream(ctx, open); err != nil {
		return err
	}
	is := s.CachedInfo().State
	if is.Msgs != state.Msgs || is.FirstSeq != state.FirstSeq || is.LastSeq != state.LastSeq {
		return fmt.Errorf("%d messages, %d to %d, and there were %d, %d to %d", is.Msgs, is.FirstSeq, is.LastSeq, state.Msgs, state.FirstSeq,
			state.LastSeq)
	}
	r.LastTime = is.LastTime
	return nil
}

// own are the headers that a message came with, without those that the log adds to
// what it is asked for: they would be taken for the new message's.
func own(h nats.Header) nats.Header {
	out := nats.Header{}
	for name, values := range h {
		switch name {
		case nats.JSStream, nats.JSSequence, nats.JSTimeStamp, nats.JSSubject, nats.JSLastSequence, "Nats-Num-Pending":
		default:
			out[name] = values
		}
	}
	return out
}

// published sends a message that has to get a number.
func published(ctx context.Context, js jetstream.JetStream, m *nats.Msg, seq uint64) error {
	for {
		ack, err := js.PublishMsg(ctx, m)
		switch {
		case err != nil:
			return err
		case ack.Duplicate:
			select {
			case <-ctx.Done():
				return ctx.Err()
			case <-time.After(leastWindow):
			}
		case ack.Sequence != seq:
			return fmt.Errorf("message %d got the number %d", seq, ack.Sequence)
		default:
			return nil
		}
	}
}
