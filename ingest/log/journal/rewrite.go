package journal

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"fairlead/ingest/log/durable"
)

// Rewrite gives each payload of a folder's journals to change, and writes files
// anew of which it gave back another. All else of a file is kept: the journal's id,
// numbers, times, read positions, marks, and where damage is, though not the bytes
// in it, for nobody knows what they say. A file is the old one or the new one,
// whenever the power goes; one that nothing changes in is not touched, so it may be
// said again. It returns how many payloads changed.
//
// The journal must not be open: ErrLocked. A folder that is not there holds none.
func Rewrite(dir string, change func(payload []byte) ([]byte, error)) (changed int, err error) {
	unlock, err := lockDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	defer unlock()
	files, err := segmentFiles(dir)
	if err != nil {
		return 0, err
	}
	for _, path := range files {
		n, err := rewriteFile(path, change)
		changed += n
		if err != nil {
			return changed, err
		}
	}
	return changed, nil
}

// Hold keeps everybody else from opening the journals of a folder.
func Hold(dir string) (free func(), err error) { return lockDir(dir) }

// Look gives each payload of a folder's journals that can be read, whether somebody
// has them open or not.
func Look(dir string, each func(payload []byte) error) error {
	names, err := (osDisk{}).list(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("journal: list the folder: %w", err)
	}
	for _, name := range names {
		if _, _, _, ok := parseSegmentName(name); !ok {
			continue
		}
		_, _, err := anew(filepath.Join(dir, name), func(payload []byte) ([]byte, error) { return payload, each(payload) })
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// segmentFiles lists the files of journals, and removes what a cut left beside them.
func segmentFiles(dir string) (out []string, err error) {
	names, err := (osDisk{}).list(dir)
	if err != nil {
		return nil, fmt.Errorf("journal: list the folder: %w", err)
	}
	for _, name := range names {
		path := filepath.Join(dir, name)
		if strings.HasPrefix(name, ".") && strings.Contains(name, ".journal-") { // of a file that a cut left half-written
			if err := os.Remove(path); err != nil {
				return nil, fmt.Errorf("journal: %w", err)
			}
		}
		if _, _, _, ok := parseSegmentName(name); ok {
			out = append(out, path)
		}
	}
	return out, nil
}

func rewriteFile(path string, change func([]byte) ([]byte, error)) (changed int, err error) {
	text, changed, err := anew(path, change)
	if err != nil || changed == 0 {
		return 0, err
	}
	info, err := os.Stat(path)
	if err != nil {
		return 0, fmt.Errorf("journal: %w", err)
	}
	if err := durable.WriteFile(path, text, info.Mode().Perm()); err != nil {
		return 0, ioError("write", path, err)
	}
	return changed, nil
}

// anew is a file as it would be, and how many payloads of it change.
func anew(path string, change func([]byte) ([]byte, error)) (out []byte, changed int, err error) {
	_, id, _, _ := parseSegmentName(filepath.Base(path))
	old, err := os.ReadFile(path)
	if err != nil {
		return nil, 0, fmt.Errorf("journal: %w", err)
	}
	size, seed := int64(len(old)), id.seed()
	c := &cursor{f: bytesAt(old), seed: seed}
	begin := min(preambleLen, size)
	out = append(make([]byte, 0, size), old[:begin]...) // no words: letters of the format, and an id
	for off := begin; off < size; {
		f, next, ok := c.read(off, size)
		if !ok {
			at, _ := c.resync(off, size)
			out = append(out, without(old[off:at], seed)...)
			off = at
			continue
		}
		if f.kind != kindEntry {
			out = append(out, old[off:next]...)
			off = next
			continue
		}
		payload, err := decodePositions(f.body, nil)
		if err != nil {
			return nil, 0, fmt.Errorf("journal: %s: entry %d: %w", path, f.seq, err)
		}
		said, err := change(append([]byte(nil), payload...))
		if err != nil {
			return nil, 0, fmt.Errorf("journal: %s: entry %d: %w", path, f.seq, err)
		}
		if string(said) == string(payload) {
			out = append(out, old[off:next]...)
		} else {
			changed++
			positions := f.body[:len(f.body)-len(payload)]
			out = frameAt(out, seed, f.kind, f.seq, f.at, func(b []byte) []byte { return append(append(b, positions...), said...) })
		}
		off = next
	}
	return out, changed, nil
}

// without is a damaged stretch of which nothing can be read and nobody can say what
// it holds: as long, as unreadable, and without what it said. Zeros stay, for they
// are room that was reserved; and a head that is whole, for it says how long the
// record is that was hit.
func without(damaged []byte, seed uint32) []byte {
	out := append([]byte(nil), damaged...)
	keep := 0
	if _, _, _, ok := decodeHead(damaged, seed); ok {
		keep = frameLen
	}
	for i := keep; i < len(out); i++ {
		if out[i] != 0 {
			out[i] = 0xff
		}
	}
	return out
}

type bytesAt []byte

func (b bytesAt) ReadAt(p []byte, off int64) (int, error) {
	if off >= int64(len(b)) {
		return 0, fs.ErrInvalid
	}
	return copy(p, b[off:]), nil
}
