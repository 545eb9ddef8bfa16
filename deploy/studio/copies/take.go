package copies

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"github.com/gofrs/flock"

	"fairlead/deploy/backup"
	"fairlead/deploy/release"
	"fairlead/deploy/studio"
)

// Keeper takes copies of a studio, tries them and lets old ones go.
type Keeper struct {
	Config *studio.Config
	// Program is the fairlead that a try runs.
	Program string
	Now     func() time.Time
	Log     *slog.Logger
}

// Repository opens the place of the copies. The first call makes the key, and
// says where.
func (k Keeper) Repository(ctx context.Context) (*backup.Repository, error) {
	target, err := k.Config.BackupTarget()
	if err != nil {
		return nil, err
	}
	key, fresh, err := backup.EnsureKey(k.Config.BackupKeyFile())
	if err != nil {
		return nil, err
	}
	if fresh {
		k.Log.Warn("this key opens the backups: keep a copy of it away from this machine, nothing can be restored without it", "file",
			k.Config.BackupKeyFile())
	}
	r, err := backup.Open(ctx, target, key)
	if err == nil {
		r.Since = k.Config.SealedAt()
	}
	return r, err
}

// Take takes a copy, lets old ones go, and notes what became of it.
func (k Keeper) Take(ctx context.Context) (m *backup.Manifest, err error) {
	unlock, err := k.lock(ctx)
	if err != nil {
		return nil, err
	}
	defer unlock()
	defer func() {
		k.note(err, func(s *backup.State) { s.Taken, s.Bytes, s.New = m.Taken, m.Bytes, m.New })
	}()
	r, err := k.Repository(ctx)
	if err != nil {
		return nil, err
	}
	if m, err = k.take(ctx, r); err != nil {
		return nil, err
	}
	if gone, err := r.Prune(ctx, k.Now().Add(-time.Duration(k.Config.Backup.Keep))); err != nil {
		k.Log.Warn("old backups could not be removed", "error", err)
	} else if gone > 0 {
		k.Log.Info("old backups were removed", "copies", gone)
	}
	return m, nil
}

// lock waits until no other backup is taken or tried.
func (k Keeper) lock(ctx context.Context) (unlock func(), err error) {
	l := flock.New(k.Config.DataPath("backup.lock"))
	got, err := l.TryLock()
	if err == nil && !got {
		k.Log.Warn("another backup is being taken or tried: waiting for it")
		_, err = l.TryLockContext(ctx, 100*time.Millisecond)
	}
	if err != nil {
		return nil, fmt.Errorf("backup: %w", err)
	}
	return func() { l.Unlock() }, nil
}

// about is what a copy says of itself.
func (k Keeper) about() map[string]string {
	of := release.Of()
	return map[string]string{"studio": k.Config.Studio, "config": filepath.Base(k.Config.File()),
		"version": of.Short(), "schema": fmt.Sprint(of.Schema), "contract": fmt.Sprint(of.Contract)}
}

func (k Keeper) take(ctx context.Context, r *backup.Repository) (*backup.Manifest, error) {
	dir := k.Config.DataPath(work)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	about := k.about()
	var first []source
	if k.Config.Store.DSN == "" {
		s, err := awaitStore(ctx, k.Config)
		if err != nil {
			return nil, err
		}
		defer s.Close()
		parts, done, err := freeze(ctx, k.Config, s)
		defer done()
		if err != nil {
			return nil, err
		}
		first = parts
	} else {
		about["store"] = "a server of its own, which is not in this copy"
		k.Log.Warn("the store is a server of its own and is not in this copy: back it up by its own means")
	}
	t, err := r.Take(ctx, k.Now(), about, dir)
	if err != nil {
		return nil, err
	}
	defer t.Abandon()
	if err := add(ctx, t, first); err != nil {
		return nil, err
	}
	// Listed only once what goes before them is copied.
	for _, list := range []func() ([]source, error){
		func() ([]source, error) {
			if k.Config.Broker.URL != "" {
				about["log"] = "a broker of its own, which is not in this copy"
				k.Log.Warn("the broker is a server of its own and its streams are not in this copy: back them up by its own means")
				return nil, nil
			}
			return logFiles(k.Config)
		},
		func() ([]source, error) { return kept(k.Config) },
		func() ([]source, error) { return configured(k.Config), nil },
	} {
		sources, err := list()
		if err != nil {
			return nil, err
		}
		if err := add(ctx, t, sources); err != nil {
			return nil, err
		}
	}
	// Last, so that the keys of all that is in the copy are there before it is one.
	if data, sum, err := k.keys(); err != nil {
		return nil, err
	} else if data != nil {
		if err := k.putKeys(ctx, r, data, sum); err != nil {
			return nil, err
		}
	}
	return t.Finish(ctx)
}

// add takes files into a copy; one that went away meanwhile was not needed any more.
func add(ctx context.Context, t *backup.Taking, sources []source) error {
	for _, s := range sources {
		if err := t.Add(ctx, s.name, s.path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("backup of %s: %w", s.path, err)
		}
	}
	return nil
}

// note writes down what became of an attempt.
func (k Keeper) note(failed error, well func(*backup.State)) {
	s, err := backup.ReadState(k.Config.BackupStateFile())
	if err != nil {
		k.Log.Warn("what was known of earlier backups is forgotten", "error", err)
	}
	if s.Began.IsZero() {
		s.Began = k.Now().UTC()
	}
	if failed != nil {
		s.Failed, s.Failure = k.Now().UTC(), failed.Error()
	} else {
		s.Failed, s.Failure = time.Time{}, ""
		well(&s)
	}
	if err := s.Write(k.Config.BackupStateFile()); err != nil {
		k.Log.Warn("it could not be noted what became of the backup", "error", err)
	}
}
