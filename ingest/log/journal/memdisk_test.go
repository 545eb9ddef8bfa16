package journal

import (
	"io"
	"io/fs"
	"maps"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"sync"
	"syscall"
)

// memDisk is a disk that loses power, fills up and fails, as badly as a real one
// may: what was not synced arrives by sectors, in any order and number, and after
// a failed sync the unwritten pages count as clean.
type memDisk struct {
	mu    sync.Mutex
	files map[string]*memData // what a process sees
	named map[string]*memData // names that outlive a power cut
	room  int64               // bytes that may still be written

	failSync, failWrite int   // the next so many fail with EIO
	fullAfter           int   // a write gets this many bytes in, then ENOSPC; -1: never
	badFrom, badTo      int64 // bytes of any file that cannot be read
}

const sector = 512

type memData struct {
	content []byte // in the system's cache
	stable  []byte // on the disk
	pending []memWrite
}

// memWrite is a write, or with nil bytes a change of size.
type memWrite struct {
	off int64
	b   []byte
}

func newMemDisk() *memDisk {
	return &memDisk{files: map[string]*memData{}, named: map[string]*memData{}, room: 1 << 40, fullAfter: -1}
}

func (w memWrite) apply(b []byte) []byte {
	if w.b == nil {
		return resize(b, w.off)
	}
	if end := w.off + int64(len(w.b)); int64(len(b)) < end {
		b = resize(b, end)
	}
	copy(b[w.off:], w.b)
	return b
}

func resize(b []byte, n int64) []byte {
	out := make([]byte, n)
	copy(out, b)
	return out
}

// powerCut leaves what a disk could hold that lost power now.
func (d *memDisk) powerCut(rng *rand.Rand) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.failSync, d.failWrite, d.fullAfter = 0, 0, -1
	after := map[string]*memData{}
	for name, f := range d.files {
		if d.named[name] == f || rng.IntN(2) == 0 {
			after[name] = f
		}
	}
	for name, f := range d.named {
		if d.files[name] == nil && rng.IntN(2) == 0 { // its removal was not durable
			after[name] = f
		}
	}
	for _, name := range slices.Sorted(maps.Keys(after)) {
		f := after[name]
		b := slices.Clone(f.stable)
		for _, w := range f.pending {
			if w.b == nil {
				if rng.IntN(2) == 0 {
					b = w.apply(b)
				}
				continue
			}
			for len(w.b) > 0 {
				n := min(int64(len(w.b)), sector-w.off%sector)
				if rng.IntN(3) > 0 {
					b = memWrite{w.off, w.b[:n]}.apply(b)
				}
				w.off, w.b = w.off+n, w.b[n:]
			}
		}
		f.content, f.stable, f.pending = b, slices.Clone(b), nil
	}
	d.files, d.named = after, maps.Clone(after)
}

func (d *memDisk) open(path string, _ bool) (file, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	f := d.files[path]
	if f == nil {
		return nil, fs.ErrNotExist
	}
	return &memFile{d, f}, nil
}

func (d *memDisk) create(path string) (file, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.files[path] != nil {
		return nil, fs.ErrExist
	}
	d.files[path] = &memData{}
	return &memFile{d, d.files[path]}, nil
}

func (d *memDisk) remove(path string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	delete(d.files, path)
	return nil
}

func (d *memDisk) list(dir string) (names []string, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for path := range d.files {
		names = append(names, filepath.Base(path))
	}
	return names, nil
}

func (d *memDisk) syncDir(string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.failSync > 0 {
		d.failSync--
		return syscall.EIO
	}
	d.named = maps.Clone(d.files)
	return nil
}

func (d *memDisk) free(string) (int64, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.room, nil
}

type memFile struct {
	d *memDisk
	f *memData
}

func (m *memFile) ReadAt(p []byte, off int64) (int, error) {
	m.d.mu.Lock()
	defer m.d.mu.Unlock()
	if off < m.d.badTo && off+int64(len(p)) > m.d.badFrom {
		return 0, syscall.EIO
	}
	if off >= int64(len(m.f.content)) {
		return 0, io.EOF
	}
	n := copy(p, m.f.content[off:])
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

func (m *memFile) WriteAt(p []byte, off int64) (int, error) {
	m.d.mu.Lock()
	defer m.d.mu.Unlock()
	if m.d.failWrite > 0 {
		m.d.failWrite--
		return 0, syscall.EIO
	}
	var err error
	if n := m.d.fullAfter; n >= 0 && n < len(p) {
		p, err = p[:n], syscall.ENOSPC
	}
	m.write(memWrite{off, slices.Clone(p)})
	return len(p), err
}

func (m *memFile) write(w memWrite) {
	if w.b != nil && len(w.b) == 0 {
		return
	}
	m.f.content = w.apply(m.f.content)
	m.f.pending = append(m.f.pending, w)
}

func (m *memFile) Truncate(size int64) error {
	m.d.mu.Lock()
	defer m.d.mu.Unlock()
	m.write(memWrite{off: size})
	return nil
}

func (m *memFile) size() (int64, error) {
	m.d.mu.Lock()
	defer m.d.mu.Unlock()
	return int64(len(m.f.content)), nil
}

func (m *memFile) sync() error {
	m.d.mu.Lock()
	defer m.d.mu.Unlock()
	if m.d.failSync > 0 {
		m.d.failSync--
		m.f.pending = nil // never to be written, and nobody will know
		return syscall.EIO
	}
	m.f.stable, m.f.pending = m.f.written(), nil
	return nil
}

func (m *memFile) forget() {
	m.d.mu.Lock()
	defer m.d.mu.Unlock()
	m.f.content = m.f.written()
}

// written is what is on the disk once everything pending is.
func (f *memData) written() []byte {
	b := slices.Clone(f.stable)
	for _, w := range f.pending {
		b = w.apply(b)
	}
	return b
}

func (m *memFile) Close() error { return nil }
