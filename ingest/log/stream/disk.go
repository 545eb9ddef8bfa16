package stream

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"fairlead/ingest/log/sparing"
)

// ErrDisk says that the broker's disk refused a write.
var ErrDisk = errors.New("the broker's disk refused a write")

// Run serves until ctx ends, and applies changes of the keyring. It returns
// ErrDisk when the disk refused a write, as a full one does, and takes writes
// again: from such an error on the server takes nothing more for that stream
// until it is started anew. Until there is room it goes on, for who reads.
func (b *Broker) Run(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var keys sync.WaitGroup
	keys.Go(func() { b.WatchKeys(ctx) })
	defer keys.Wait()
	defer cancel()
	select {
	case <-ctx.Done():
		return nil
	case <-b.failed:
	}
	b.log.Error("the log takes nothing more until its disk can be written: free space, or see the disk's health", "folder", b.Dir())
	for {
		err := probe(b.Dir())
		if err == nil {
			return fmt.Errorf("%w, and can be written again: the broker begins anew", ErrDisk)
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(500 * time.Millisecond):
		}
	}
}

// probe says whether a disk takes what some hundred shots need.
func probe(dir string) error {
	path := filepath.Join(dir, ".probe")
	defer os.Remove(path)
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	if _, err := f.Write(bytes.Repeat([]byte("fairlead"), 128<<10)); err != nil {
		return err
	}
	return f.Sync()
}

// slogAdapter hands the server's messages to slog. The server formats its own
// messages, so they can't be constant; they are marked by their source. It also
// tells of a write that failed for good, which the server only logs.
type slogAdapter struct {
	log    *slog.Logger
	failed func()
	often  *sparing.Limit[string]
}

// seldom lets a line of a kind through once a minute: who is refused comes again every
// other second, for as long as nobody does anything about it.
func seldom() *sparing.Limit[string] {
	return sparing.NewLimit(1, time.Minute, 256, func(string) string { return "" })
}

func (a *slogAdapter) say(level slog.Level, format string, v ...any) {
	text := fmt.Sprintf(format, v...)
	var more []any
	if _, who, refused := strings.Cut(text, "authentication error"); refused { // before it stand address and number
		left, ok := a.often.Take(who, time.Now())
		if !ok {
			return
		}
		more = []any{sparing.LeftOut, left}
	}
	a.log.Log(context.Background(), level, "nats-server", append([]any{"text", text}, more...)...)
}

func (a *slogAdapter) Noticef(f string, v ...any) { a.say(slog.LevelDebug, f, v...) }
func (a *slogAdapter) Warnf(f string, v ...any)   { a.say(slog.LevelWarn, f, v...) }
func (a *slogAdapter) Fatalf(f string, v ...any)  { a.say(slog.LevelError, f, v...) }
func (a *slogAdapter) Debugf(f string, v ...any)  {}
func (a *slogAdapter) Tracef(f string, v ...any)  {}

func (a *slogAdapter) Errorf(f string, v ...any) {
	a.say(slog.LevelError, f, v...)
	if strings.Contains(strings.ToLower(f), "critical write error") {
		a.failed()
	}
}
