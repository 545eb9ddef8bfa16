package journal

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

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
		if err := durable.Clear(path); err != nil {
			return changed, fmt.Errorf("journal: %w", err)
		}
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
	files, err := segmentFiles(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, path := range files {
		_, _, err := anew(path, func(payload []byte) ([]byte, error) { return payload, each(payload) })
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// segmentFiles lists the files of a folder's journals.
func segmentFiles(dir string) (out []string, err error) {
	names, err := (osDisk{}).list(dir)
	if err != nil {
		return nil, fmt.Errorf("journal: list the folder: %w", err)
	}
	for _, name := range names {
		if _, _, _, ok := parseSegmentName(name); ok {
			out = append(out, filepath.Join(dir, name))
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
	c := &cursor{f: bytes.NewReader(old), seed: seed}
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
		said, err := change(bytes.Clone(payload))
		if err != nil {
			return nil, 0, fmt.Errorf("journal: %s: entry %d: %w", path, f.seq, err)
		}
		if bytes.Equal(said, payload) {
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
	out := bytes.Clone(damaged)
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
