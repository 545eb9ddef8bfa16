package backup

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// Folder is a target in the file system: a disk of its own, or a share.
type Folder string

func (f Folder) String() string { return string(f) }

func (f Folder) path(name string) string { return filepath.Join(string(f), filepath.FromSlash(name)) }

// Put writes beside and renames, so that no half object is ever seen.
func (f Folder) Put(_ context.Context, name string, r io.Reader, _ int64) error {
	path := f.path(name)
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fmt.Errorf("backup: %w: is the disk there, and may the service write to it?", err)
	}
	temp, err := os.CreateTemp(filepath.Dir(path), ".new-*")
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	defer os.Remove(temp.Name())
	_, err = io.Copy(temp, r)
	if err = errors.Join(err, temp.Sync(), temp.Close()); err == nil {
		err = os.Rename(temp.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	if d, err := os.Open(filepath.Dir(path)); err == nil {
		d.Sync() // some systems can't
		d.Close()
	}
	return nil
}

// Get opens an object.
func (f Folder) Get(_ context.Context, name string) (io.ReadCloser, error) {
	file, err := os.Open(f.path(name))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w", name, ErrMissing)
	}
	return file, err
}

// List lists the objects whose names begin so, by name.
func (f Folder) List(_ context.Context, prefix string) (out []Object, err error) {
	err = filepath.WalkDir(f.path(prefix), func(path string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil || d.IsDir() || strings.HasPrefix(d.Name(), ".new-") {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		name, err := filepath.Rel(string(f), path)
		out = append(out, Object{filepath.ToSlash(name), info.Size()})
		return err
	})
	return out, err
}

// Delete removes an object; one that is not there is no error.
func (f Folder) Delete(_ context.Context, name string) error {
	if err := os.Remove(f.path(name)); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}
