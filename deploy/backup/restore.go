package backup

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// goal is where bytes of a chunk go.
type goal struct {
	path   string
	offset int64
}

// Restore writes the files of a copy below a folder, those that to names: it
// gives the path for a file of the copy, or "" to leave it out. Every chunk is
// compared with its hash. What is in the way is an error.
func (r *Repository) Restore(ctx context.Context, m *Manifest, to func(name string) string) error {
	goals := map[string][]goal{}
	var late []func() error // links and modes, once all files are there
	for _, f := range m.Files {
		if !filepath.IsLocal(filepath.FromSlash(f.Path)) {
			return fmt.Errorf("copy %s names a file outside of itself: %q", m.Name, f.Path)
		}
		path := to(f.Path)
		if path == "" {
			continue
		}
		if err := lay(f, path, &late); err != nil {
			return err
		}
		offset := int64(0)
		for _, id := range f.Chunks {
			goals[id] = append(goals[id], goal{path, offset})
			offset += m.Chunks[id].Length
		}
	}
	byPack := map[string][]string{}
	for id := range goals {
		at, ok := m.Chunks[id]
		if !ok {
			return fmt.Errorf("copy %s does not say where a part of %s lies", m.Name, goals[id][0].path)
		}
		byPack[at.Pack] = append(byPack[at.Pack], id)
	}
	for _, pack := range slices.Sorted(maps.Keys(byPack)) {
		ids := byPack[pack]
		slices.SortFunc(ids, func(a, b string) int { return int(m.Chunks[a].Offset - m.Chunks[b].Offset) })
		if err := r.read(ctx, pack, func(in io.Reader) error { return scatter(ctx, in, ids, m.Chunks, goals) }); err != nil {
			return fmt.Errorf("copy %s: %w", m.Name, err)
		}
	}
	for _, do := range slices.Backward(late) { // folders after what they hold
		if err := do(); err != nil {
			return err
		}
	}
	syncAll()
	return nil
}

// lay makes a file with its length, a folder or a link.
func lay(f File, path string, late *[]func() error) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	switch {
	case f.Mode.IsDir():
		if err := os.MkdirAll(path, 0o700); err != nil {
			return err
		}
		*late = append(*late, func() error { return os.Chmod(path, f.Mode.Perm()) })
		return nil
	case f.Mode&fs.ModeSymlink != 0:
		*late = append(*late, func() error { return os.Symlink(f.Link, path) })
		return nil
	}
	out, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%w: nothing is written over; restore to an empty place", err)
	}
	if err != nil {
		return err
	}
	*late = append(*late, func() error {
		return errors.Join(os.Chtimes(path, f.ModTime, f.ModTime), os.Chmod(path, f.Mode.Perm()))
	})
	return errors.Join(out.Truncate(f.Size), out.Close())
}

// scatter reads a pack once and writes its chunks to where they belong.
func scatter(ctx context.Context, in io.Reader, ids []string, places map[string]place, goals map[string][]goal) error {
	at := int64(0)
	var buffer []byte
	for _, id := range ids {
		if err := ctx.Err(); err != nil {
			return err
		}
		p := places[id]
		if _, err := io.CopyN(io.Discard, in, p.Offset-at); err != nil {
			return err
		}
		if p.Length > chunkBytes {
			return fmt.Errorf("a chunk of %d bytes", p.Length)
		}
		buffer = append(buffer[:0], make([]byte, p.Length)...)
		if _, err := io.ReadFull(in, buffer); err != nil {
			return err
		}
		at = p.Offset + p.Length
		if sum := sha256.Sum256(buffer); hex.EncodeToString(sum[:]) != id {
			return errors.New("it holds other bytes than were put in: the disk or store of the backups is damaged; an older copy may be whole")
		}
		for _, g := range goals[id] {
			if err := writeAt(g, buffer); err != nil {
				return err
			}
		}
	}
	return nil
}

func writeAt(g goal, data []byte) error {
	f, err := os.OpenFile(g.path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	_, err = f.WriteAt(data, g.offset)
	return errors.Join(err, f.Close())
}

// Below gives the paths of files under a prefix of the copy, below a folder.
func Below(prefix, folder string) func(string) string {
	return func(name string) string {
		rest, ok := strings.CutPrefix(name, prefix)
		if !ok || rest == "" {
			return ""
		}
		return filepath.Join(folder, filepath.FromSlash(rest))
	}
}
