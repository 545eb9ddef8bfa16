package stream

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"time"
)

// FolderError says that the broker cannot write to its folder. That may pass: a file
// system that was just mounted, or one that is being repaired or filled, refuses
// writes for a while.
type FolderError struct {
	Dir string
	Err error
}

func (e *FolderError) Error() string {
	return fmt.Sprintf("broker: cannot write to %s: %v: check that its file system is mounted, has room and is not read-only", e.Dir, e.Err)
}

func (e *FolderError) Unwrap() error { return e.Err }

// writable makes the folder and writes to it. The server tries too, but does not say
// what went wrong.
func writable(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return &FolderError{dir, err}
	}
	f, err := os.CreateTemp(dir, "_try_")
	if err != nil {
		return &FolderError{dir, err}
	}
	if err := errors.Join(f.Close(), os.Remove(f.Name())); err != nil {
		return &FolderError{dir, err}
	}
	return nil
}

// Patience is how long a broker's folder may refuse writes at the start.
const Patience = time.Minute

// AwaitBroker is StartBroker for a folder that may not be ready yet: it says why, and
// tries again until ctx ends or the patience does. Any other error is returned at
// once.
func AwaitBroker(ctx context.Context, o BrokerOptions, patience time.Duration) (*Broker, error) {
	log := o.Logger
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	const between = 250 * time.Millisecond
	for began := time.Now(); ; {
		b, err := StartBroker(o)
		var folder *FolderError
		if err == nil || !errors.As(err, &folder) || time.Since(began) > patience {
			return b, err
		}
		log.Warn("the broker waits for its folder", "dir", folder.Dir, "error", folder.Err, "waited", time.Since(began).Round(time.Millisecond),
			"at_most", patience)
		select {
		case <-ctx.Done():
			return nil, errors.Join(ctx.Err(), err)
		case <-time.After(between):
		}
	}
}
