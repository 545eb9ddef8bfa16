package backup

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"
)

// chunkBytes is how long a chunk is; what is appended to a file leaves the
// chunks before it as they are.
const chunkBytes = 4 << 20

// nameLayout is how a copy's name says when it was taken.
const nameLayout = "20060102T150405.000Z"

// Taking is a copy that is being made.
type Taking struct {
	r      *Repository
	dir    string // for temporary files
	before map[string]File
	m      *Manifest
	packs  map[string]bool // that the target holds
	known  map[string]place
	open   *pack
}

// Take begins a copy. Temporary files go to dir. What copies before r.Since hold is
// sent again, so that nothing of theirs is needed by this one.
func (r *Repository) Take(ctx context.Context, now time.Time, about map[string]string, dir string) (*Taking, error) {
	t := &Taking{
		r: r, dir: dir, before: map[string]File{}, packs: map[string]bool{}, known: map[string]place{},
		m: &Manifest{Format: format, Name: now.UTC().Format(nameLayout), Taken: now.UTC(), About: about, Chunks: map[string]place{}},
	}
	objects, err := r.target.List(ctx, "packs/")
	if err != nil {
		return nil, err
	}
	for _, o := range objects {
		t.packs[o.Name] = true
	}
	names, err := r.List(ctx)
	if err != nil {
		return nil, err
	}
	if n := len(names); n > 0 && names[n-1] >= t.m.Name {
		return nil, fmt.Errorf("%s holds a copy of %s, which is not before now: is the clock right, or was one taken this moment?", r.target,
			names[n-1])
	}
	// What a copy of before says of its files is taken on trust only where the
	// packs are still there.
	for _, name := range names[max(0, len(names)-3):] {
		m, err := r.Manifest(ctx, name)
		if err != nil || m.Taken.Before(r.Since) {
			continue // another one may be read, or all of it is sent again
		}
		for id, at := range m.Chunks {
			if t.packs[at.Pack] {
				t.known[id] = at
			}
		}
		for _, f := range m.Files {
			t.before[f.Path] = f
		}
	}
	return t, nil
}

// Add takes the file, folder or link that stands at a path of this machine.
// One that grows is taken as long as it is now; one that went away is skipped,
// which the caller learns by fs.ErrNotExist.
func (t *Taking) Add(ctx context.Context, name, from string) error {
	info, err := os.Lstat(from)
	if err != nil {
		return err
	}
	f := File{Path: name, Mode: info.Mode(), ModTime: info.ModTime()}
	switch {
	case info.IsDir():
	case info.Mode()&fs.ModeSymlink != 0:
		if f.Link, err = os.Readlink(from); err != nil {
			return err
		}
	case info.Mode().IsRegular():
		f.Size = info.Size()
		if t.unchanged(&f) {
			break
		}
		if err := t.read(ctx, &f, from); err != nil {
			return err
		}
	default:
		return nil // a socket or pipe is made anew by who needs it
	}
	t.m.Files = append(t.m.Files, f)
	t.m.Bytes += f.Size
	return nil
}

// unchanged says whether an earlier copy has the file as it is, by size and time.
func (t *Taking) unchanged(f *File) bool {
	b, ok := t.before[f.Path]
	if !ok || b.Size != f.Size || !b.ModTime.Equal(f.ModTime) || b.Mode != f.Mode {
		return false
	}
	for _, id := range b.Chunks {
		if _, ok := t.known[id]; !ok {
			return false
		}
	}
	for _, id := range b.Chunks {
		t.m.Chunks[id] = t.known[id]
	}
	f.Chunks = b.Chunks
	return true
}

func (t *Taking) read(ctx context.Context, f *File, from string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	rest := io.LimitReader(in, f.Size)
	buffer := make([]byte, min(chunkBytes, max(f.Size, 1)))
	f.Size = 0
	for {
		n, err := io.ReadFull(rest, buffer)
		if n > 0 {
			if err := t.chunk(ctx, f, buffer[:n]); err != nil {
				return err
			}
			f.Size += int64(n)
		}
		switch {
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
			return nil
		case err != nil:
			return err
		}
	}
}

func (t *Taking) chunk(ctx context.Context, f *File, data []byte) error {
	sum := sha256.Sum256(data)
	id := hex.EncodeToString(sum[:])
	f.Chunks = append(f.Chunks, id)
	at, known := t.m.Chunks[id]
	if !known {
		at, known = t.known[id]
	}
	if !known {
		var err error
		if t.open == nil {
			if t.open, err = newPack(t.r.key, t.dir); err != nil {
				return err
			}
		}
		if at, err = t.open.add(data); err != nil {
			return err
		}
	}
	t.m.Chunks[id] = at
	if t.open != nil && t.open.length >= packBytes {
		return t.flush(ctx)
	}
	return ctx.Err()
}

func (t *Taking) flush(ctx context.Context) error {
	if t.open == nil {
		return nil
	}
	sent, err := t.open.send(ctx, t.r.target)
	t.m.New += sent
	t.open = nil
	return err
}

// Finish sends what is left and then the manifest: before it there is no copy.
func (t *Taking) Finish(ctx context.Context) (*Manifest, error) {
	if err := t.flush(ctx); err != nil {
		return nil, err
	}
	p, err := newPack(t.r.key, t.dir)
	if err != nil {
		return nil, err
	}
	text, err := json.Marshal(t.m)
	if err == nil {
		_, err = io.Copy(p.out, bytes.NewReader(text))
	}
	if err != nil {
		p.file.Close()
		return nil, err
	}
	p.name = manifestName(t.m.Name)
	_, err = p.send(ctx, t.r.target)
	return t.m, err
}

// Abandon gives back what an unfinished copy holds; packs that it sent are
// removed by the next Prune.
func (t *Taking) Abandon() {
	if t.open != nil {
		t.open.file.Close()
		t.open = nil
	}
}
