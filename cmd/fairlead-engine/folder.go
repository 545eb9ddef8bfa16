package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/gofrs/flock"
)

// folder is the data folder, held by this process alone.
type folder struct {
	path string
	lock *flock.Flock
}

// openFolder makes and locks the folder. Its path is made absolute: with a relative one the engine joins it
// twice when it syncs a part's directory, and every insert fails.
func openFolder(path string) (*folder, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("data folder %s: %w", path, err)
	}
	if err := os.MkdirAll(abs, 0o700); err != nil {
		return nil, fmt.Errorf("data folder: %w; name another one by --data", err)
	}
	// The engine locks the folder as well, but only says that it did not open.
	lock := flock.New(filepath.Join(abs, "engine.lock"))
	held, err := lock.TryLock()
	if err != nil {
		return nil, fmt.Errorf("lock the data folder: %w; is it read-only?", err)
	}
	if !held {
		return nil, fmt.Errorf("another engine works on the data folder %s%s; stop it, or name another folder by --data",
			abs, owner(abs))
	}
	pid := fmt.Sprintln(os.Getpid())
	if err := os.WriteFile(filepath.Join(abs, "engine.pid"), []byte(pid), 0o600); err != nil {
		_ = lock.Unlock()
		return nil, fmt.Errorf("data folder: %w; is the disk full or read-only?", err)
	}
	return &folder{path: abs, lock: lock}, nil
}

func owner(dir string) string {
	b, err := os.ReadFile(filepath.Join(dir, "engine.pid"))
	if err != nil {
		return ""
	}
	return " (process " + strings.TrimSpace(string(b)) + ")"
}

func (f *folder) close() { _ = f.lock.Unlock() }
