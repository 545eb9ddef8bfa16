package copies

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fairlead/deploy/release"
	"fairlead/deploy/studio"
	"fairlead/processors/hub/store"
)

// frozen is the name under which the engine links its parts for a copy: letters
// only, others stand otherwise in the name of the folder.
const frozen = "backup"

// storeWithin is how long a hub that was only just started may take to its store
// and the schema of that.
const storeWithin = time.Minute

// awaitStore connects once the store answers and has the schema of this program.
func awaitStore(ctx context.Context, c *studio.Config) (*store.Store, error) {
	for begun := time.Now(); ; {
		s, err := c.OpenAnswering(ctx)
		if err == nil {
			if err = ready(ctx, s); err == nil {
				return s, nil
			}
			s.Close()
		}
		if errors.Is(err, errLater) || time.Since(begun) > storeWithin {
			return nil, err
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(200 * time.Millisecond):
		}
	}
}

var errLater = errors.New("update this program first")

func ready(ctx context.Context, s *store.Store) error {
	want := release.Of().Schema
	step, err := s.Step(ctx)
	switch {
	case err != nil:
		return fmt.Errorf("the store has no schema yet: %w: does `fairlead process` run?", err)
	case int(step) > want:
		return fmt.Errorf("the store's schema is at step %d, this program knows up to %d: %w", step, want, errLater)
	case int(step) < want:
		return fmt.Errorf("the store's schema is at step %d of %d: `fairlead process` of this version brings it forward", step, want)
	}
	return nil
}

// freeze lists the parts of all tables as they are now, with what describes the
// tables; done gives the engine's links to them back.
func freeze(ctx context.Context, c *studio.Config, s *store.Store) (out []source, done func(), err error) {
	shadow := filepath.Join(c.EngineDir(), "shadow", frozen)
	done = func() { os.RemoveAll(shadow) }
	done() // what a copy left that was cut short
	ids, err := s.Freeze(ctx, frozen)
	if err != nil {
		return nil, done, err
	}
	if out, err = schemaFiles(c.EngineDir(), ids); err != nil {
		return nil, done, err
	}
	parts, err := walk(shadow, inData+"engine/", func(string, fs.DirEntry) bool { return true })
	if err != nil {
		return nil, done, err
	}
	if len(parts) == 0 {
		return nil, done, fmt.Errorf("the engine froze its tables, and left nothing in %s: is it another engine's folder?", shadow)
	}
	return append(out, parts...), done, nil
}

// schemaFiles lists what describes the database and its tables: their statements,
// the links by which the engine finds them, and the format of the tables' folders.
func schemaFiles(engine string, tables []string) (out []source, err error) {
	add := func(path string) {
		rel, _ := filepath.Rel(engine, path)
		out = append(out, source{inData + "engine/" + filepath.ToSlash(rel), path})
	}
	link := filepath.Join(engine, "metadata", studio.EngineDatabase)
	database, err := filepath.EvalSymlinks(link)
	if err != nil {
		return nil, fmt.Errorf("the engine's folder: %w", err)
	}
	add(link)
	add(link + ".sql")
	statements, err := filepath.Glob(filepath.Join(database, "*.sql"))
	if err != nil {
		return nil, err
	}
	real, err := filepath.EvalSymlinks(engine)
	if err != nil {
		return nil, err
	}
	for _, path := range statements {
		add(strings.Replace(path, real, engine, 1))
	}
	for _, id := range tables {
		add(filepath.Join(engine, "store", id[:3], id, "format_version.txt"))
	}
	return out, nil
}
