package journal

import (
	"io"
	"os"
)

// disk is what a journal needs of a file system. Tests replace it with one that
// fails, fills up and loses power.
type disk interface {
	// open opens a file, for reading alone or for writing too.
	open(path string, write bool) (file, error)
	// create makes a file that must not exist, for reading and writing.
	create(path string) (file, error)
	remove(path string) error
	list(dir string) ([]string, error)
	// syncDir makes created and removed names durable.
	syncDir(dir string) error
	// free is how many bytes this process may still write.
	free(dir string) (int64, error)
}

type file interface {
	io.ReaderAt
	io.WriterAt
	io.Closer
	Truncate(size int64) error
	size() (int64, error)
	// sync makes the bytes durable, and as much about the file as is needed to
	// read them again.
	sync() error
	// forget drops what the system has cached of the file, so that the next
	// read comes from the disk. It may do nothing.
	forget()
}

type osDisk struct{}

type osFile struct{ *os.File }

func (osDisk) open(path string, write bool) (file, error) {
	flag := os.O_RDONLY
	if write {
		flag = os.O_RDWR
	}
	return wrapFile(os.OpenFile(path, flag, 0))
}

func (osDisk) create(path string) (file, error) {
	return wrapFile(os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o640))
}

func wrapFile(f *os.File, err error) (file, error) {
	if err != nil {
		return nil, err
	}
	return osFile{f}, nil
}

func (osDisk) remove(path string) error { return os.Remove(path) }

func (osDisk) list(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, e := range entries {
		if e.Type().IsRegular() {
			names = append(names, e.Name())
		}
	}
	return names, nil
}

func (f osFile) size() (int64, error) {
	st, err := f.Stat()
	if err != nil {
		return 0, err
	}
	return st.Size(), nil
}
