package sheet

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"
)

// copyOf is a copy of an SQLite file and of what its writer keeps beside it.
type copyOf struct{ dir, path string }

func (c *copyOf) remove() { os.RemoveAll(c.dir) }

// mostCopied bounds a database: it is copied whenever it changes.
const mostCopied = 1 << 30

// ErrBusy says that a file was written while it was read: another look will do.
var ErrBusy = errors.New("is being written at the moment")

// Companions are the names that an SQLite writer keeps files under beside its own:
// the log ahead of it, and the journal by which a write that broke off is undone.
var Companions = []string{"-wal", "-journal"}

// hot is how long a journal may lie there unchanged before it is taken for what a
// killed writer left, which the copy undoes; a younger one is of a write under way.
const hot = 10 * time.Second

// copied copies a database and its companions, as they stood together: nothing of
// them changed meanwhile, or it is ErrBusy. No lock is taken, for a program that
// finds its own file locked may lose a shot over it.
func copied(path string) (c *copyOf, err error) {
	before, err := Look(path)
	if err != nil {
		return nil, err
	}
	if before[0].size > mostCopied {
		return nil, fmt.Errorf("the database is larger than %d MB: have the device begin a new one", mostCopied>>20)
	}
	if j := before[2]; j.size > 0 && !zeroed(path+Companions[1]) && time.Since(j.at) < hot {
		return nil, fmt.Errorf("the database %w", ErrBusy)
	}
	dir, err := os.MkdirTemp("", "fairlead-sheet-")
	if err != nil {
		return nil, err
	}
	c = &copyOf{dir: dir, path: filepath.Join(dir, "copy.db")}
	defer func() {
		if err != nil {
			os.RemoveAll(dir) // c is nothing by then
		}
	}()
	for i, beside := range append([]string{""}, Companions...) {
		if before[i].size == 0 && i > 0 {
			continue
		}
		if err := copyFile(path+beside, c.path+beside); err != nil {
			return nil, err
		}
	}
	after, err := Look(path)
	if err != nil {
		return nil, err
	}
	if before != after {
		return nil, fmt.Errorf("the database %w", ErrBusy)
	}
	return c, nil
}

// Stand is how a file and what its writer keeps beside it look: two that are equal
// are, to all that can be told without reading all of it, of the same content.
type Stand [4]look

// look is how one file looks.
type look struct {
	size int64
	at   time.Time
	head [sha256.Size]byte // of its first bytes, where a database counts its changes
}

// Quiet is how long the file was not written.
func (s Stand) Quiet() time.Duration { return time.Since(s[0].at) }

// headBytes are those that a database, its log and its index count changes in.
const headBytes = 136

// Look looks at a file and at what may stand beside it; what is not there has no size.
func Look(path string) (out Stand, err error) {
	for i, beside := range append(append([]string{""}, Companions...), "-shm") {
		if out[i], err = lookAt(path + beside); err != nil && (i == 0 || !errors.Is(err, os.ErrNotExist)) {
			return out, err
		}
	}
	return out, nil
}

func lookAt(path string) (l look, err error) {
	f, err := os.Open(path)
	if err != nil {
		return l, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return l, err
	}
	if !info.Mode().IsRegular() {
		return l, fmt.Errorf("%s is no plain file", path)
	}
	head := make([]byte, headBytes)
	n, _ := io.ReadFull(f, head)
	return look{info.Size(), info.ModTime(), sha256.Sum256(head[:n])}, nil
}

// zeroed says whether a journal's head was wiped: the write it was for is done.
func zeroed(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return true
	}
	defer f.Close()
	head := make([]byte, 8)
	n, _ := io.ReadFull(f, head)
	return n < len(head) || bytes.Equal(head, make([]byte, 8))
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}

// Bytes are a database's file and the log beside it (empty where there is none).
type Bytes struct{ Main, Log []byte }

func (b Bytes) copied() (*copyOf, error) {
	dir, err := os.MkdirTemp("", "fairlead-sheet-")
	if err != nil {
		return nil, err
	}
	c := &copyOf{dir: dir, path: filepath.Join(dir, "copy.db")}
	err = os.WriteFile(c.path, b.Main, 0o600)
	if err == nil && len(b.Log) > 0 {
		err = os.WriteFile(c.path+Companions[0], b.Log, 0o600)
	}
	if err != nil {
		c.remove()
		return nil, err
	}
	return c, nil
}

// Read is Database of what was read of a file.
func (b Bytes) Read(t Table, want []string) ([][]string, error) {
	c, err := b.copied()
	if err != nil {
		return nil, err
	}
	defer c.remove()
	rows, err := c.read(t, want)
	if err != nil {
		return nil, fmt.Errorf("ask the database: %w", err)
	}
	return rows, nil
}

// Tables is Tables of what was read of a file.
func (b Bytes) Tables() ([]string, error) {
	c, err := b.copied()
	if err != nil {
		return nil, err
	}
	defer c.remove()
	return c.tables()
}

// Kind says what a file is by its first bytes: xlsx, sqlite, or nothing known.
func Kind(front []byte) string {
	switch {
	case bytes.HasPrefix(front, []byte("SQLite format 3\x00")):
		return "sqlite"
	case bytes.HasPrefix(front, []byte("PK\x03\x04")):
		return "xlsx"
	}
	return ""
}
