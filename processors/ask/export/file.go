package export

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// FolderError says that a folder stands where the file should.
type FolderError struct{ Path string }

func (e *FolderError) Error() string {
	return fmt.Sprintf("--out %s is a folder: name a file in it", e.Path)
}

// WrongUse marks what another command line mends.
func (*FolderError) WrongUse() {}

// File is a file that appears whole or not at all: it is written under a
// temporary name beside it, synced, and renamed. "-" is standard output.
type File struct {
	io.Writer
	path      string
	force     bool
	temporary *os.File
}

// Create begins a file, which is there once Keep was called; Drop belongs to every
// way out. A *FolderError says that a folder has the name.
func Create(path string, stdout io.Writer, force bool) (*File, error) {
	o := &File{Writer: stdout, path: path, force: force}
	if path == "-" {
		return o, nil
	}
	if err := o.free(); err != nil {
		return nil, err
	}
	var err error
	if o.temporary, err = os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+"-*"); err != nil {
		return nil, fmt.Errorf("--out %s: %w: name a folder that is there and may be written to", path, err)
	}
	o.Writer = o.temporary
	return o, nil
}

// free says whether the name may be taken.
func (o *File) free() error {
	info, err := os.Lstat(o.path)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("--out: %w", err)
	case info.IsDir():
		return &FolderError{o.path}
	case !o.force:
		return fmt.Errorf("--out %s is there already: name another file, or say --force to write over it", o.path)
	}
	return nil
}

// Keep gives the file its name.
func (o *File) Keep() error {
	if o.temporary == nil {
		return nil
	}
	err := o.temporary.Sync()
	if e := o.temporary.Chmod(0o640); err == nil { // players' data are not for everybody on the machine
		err = e
	}
	if e := o.temporary.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = o.free()
	}
	if err == nil {
		err = os.Rename(o.temporary.Name(), o.path)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", o.path, err)
	}
	o.temporary = nil
	return nil
}

// Drop removes, after an error or after Keep, what is not wanted.
func (o *File) Drop() {
	if o.temporary != nil {
		o.temporary.Close()
		os.Remove(o.temporary.Name())
	}
}
