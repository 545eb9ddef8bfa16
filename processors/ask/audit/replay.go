package audit

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/sink"
	"fairlead/processors/hub/store"
)

// Replay rebuilds what the log holds in a database of its own.
type Replay struct {
	JS       jetstream.JetStream
	Live     *store.Store
	DSN      string // of the live store
	Database string // to rebuild in; must not exist
	Keep     bool   // do not drop it afterwards
	Places   []stream.Place
	Logger   *slog.Logger
}

// Replayed is what a replay gave, beside what is live.
type Replayed struct {
	Database string     `json:"database"`
	Entries  int        `json:"entries"`
	Equal    bool       `json:"equal"`
	Live     []Checksum `json:"live"`
	Replayed []Checksum `json:"replayed"`
}

// DatabaseThereError says that the database to rebuild in is there already.
type DatabaseThereError struct{ Database string }

func (e *DatabaseThereError) Error() string {
	return fmt.Sprintf("database %s exists already: drop it, or name another with --database", e.Database)
}

// WrongUse marks what another command line mends.
func (*DatabaseThereError) WrongUse() {}

// Run rebuilds and compares. The live database is only read.
func (r *Replay) Run(ctx context.Context) (*Replayed, error) {
	fresh, err := r.fresh(ctx)
	if err != nil {
		return nil, err
	}
	defer fresh.Close()
	out := &Replayed{Database: r.Database, Equal: true}
	for _, place := range r.Places {
		n, err := sink.Replay(ctx, r.JS, fresh, place, r.Logger)
		if err != nil {
			return nil, err
		}
		out.Entries += n
	}
	if out.Live, err = Checksums(ctx, r.Live); err != nil {
		return nil, err
	}
	if out.Replayed, err = Checksums(ctx, fresh); err != nil {
		return nil, err
	}
	for i := range out.Live {
		out.Equal = out.Equal && out.Live[i] == out.Replayed[i]
	}
	if !r.Keep {
		if err := r.Live.DropDatabase(ctx, r.Database); err != nil {
			return nil, fmt.Errorf("drop database %s: %w", r.Database, err)
		}
	}
	return out, nil
}

// fresh makes the database and opens it.
func (r *Replay) fresh(ctx context.Context) (*store.Store, error) {
	switch exists, err := r.Live.HasDatabase(ctx, r.Database); {
	case err != nil:
		return nil, err
	case exists:
		return nil, &DatabaseThereError{r.Database}
	}
	if err := r.Live.MakeDatabase(ctx, r.Database); err != nil {
		return nil, err
	}
	dsn, err := store.WithDatabase(r.DSN, r.Database)
	if err != nil {
		return nil, err
	}
	fresh, err := store.Open(dsn)
	if err != nil {
		return nil, err
	}
	if err := fresh.Migrate(ctx); err != nil {
		return nil, errors.Join(err, fresh.Close())
	}
	return fresh, nil
}

// WriteText writes a line for each table.
func (r *Replayed) WriteText(w io.Writer) error {
	for i, l := range r.Live {
		word := "equal"
		if l != r.Replayed[i] {
			word = "DIFFERENT"
		}
		if _, err := fmt.Fprintf(w, "%-13s live %d rows, %016x; replayed %d rows, %016x: %s\n", l.Table, l.Rows, l.Sum, r.Replayed[i].Rows,
			r.Replayed[i].Sum, word); err != nil {
			return err
		}
	}
	return nil
}
