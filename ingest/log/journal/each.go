package journal

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Each gives the payload of each record of a folder that can be read, in no
// order that means anything. The folder may be open elsewhere: what is appended
// meanwhile may be missing.
func Each(dir string, give func(payload []byte) error) error {
	ids, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("journal: %w", err)
	}
	for _, f := range ids {
		_, id, _, ok := parseSegmentName(f.Name())
		if !ok {
			continue
		}
		path := filepath.Join(dir, f.Name())
		data, err := os.ReadFile(path)
		if err != nil {
			return ioError("read", path, err)
		}
		err = frames(data, id, func(f frame) error {
			if f.kind != kindEntry {
				return nil
			}
			payload, err := decodePositions(f.body, nil)
			if err != nil {
				return nil // read says that it is whole
			}
			return give(payload)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// frames gives the intact frames of a file's bytes.
func frames(data []byte, id journalID, give func(frame) error) error {
	c := &cursor{f: bytes.NewReader(data), seed: id.seed()}
	limit := int64(len(data))
	for off := min(preambleLen, limit); off < limit; {
		f, next, ok := c.read(off, limit)
		if !ok {
			if c.zeros(off, limit) {
				return nil
			}
			at, found := c.resync(off, limit)
			if !found {
				return nil
			}
			off = at
			continue
		}
		f.body = bytes.Clone(f.body) // the buffer moves on
		if err := give(f); err != nil {
			return err
		}
		off = next
	}
	return nil
}
