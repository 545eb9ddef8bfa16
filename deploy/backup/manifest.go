package backup

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
	"time"

	"filippo.io/age"
	"github.com/klauspost/compress/zstd"
)

// format is the repository's; a later one is refused.
const format = 1

// File is one file, folder or link of a copy.
type File struct {
	Path    string      `json:"path"` // with slashes, below the copy's root
	Mode    fs.FileMode `json:"mode"`
	Size    int64       `json:"size,omitempty"`
	ModTime time.Time   `json:"mod_time,omitzero"`
	Link    string      `json:"link,omitempty"`   // where a symbolic link leads
	Chunks  []string    `json:"chunks,omitempty"` // SHA-256 of each, in hex
}

// place is where a chunk lies: in which pack, and from where on once that is unpacked.
type place struct {
	Pack   string `json:"pack"`
	Offset int64  `json:"offset"`
	Length int64  `json:"length"`
}

// Manifest describes one copy.
type Manifest struct {
	Format int               `json:"format"`
	Name   string            `json:"name"` // when it was taken, for people: 20260102T030405.678Z
	Taken  time.Time         `json:"taken"`
	About  map[string]string `json:"about"` // what the program says of it: studio, version, schema
	Files  []File            `json:"files"`
	Chunks map[string]place  `json:"chunks"`
	Bytes  int64             `json:"bytes"` // of the files
	New    int64             `json:"new"`   // that this copy sent, encrypted
}

// Repository keeps copies at a target under a key.
type Repository struct {
	target Target
	key    Key
	// Since is before when a copy shares nothing with those that are taken now: what
	// it holds is to go, and a pack that another copy needs stays whole.
	Since time.Time
}

// Open takes a target as a repository. A target that holds copies under another
// key, or of a later format, is refused.
func Open(ctx context.Context, t Target, k Key) (*Repository, error) {
	r := &Repository{target: t, key: k}
	const mark = "fairlead-backup.json"
	type head struct {
		Format int    `json:"format"`
		Public string `json:"public"`
	}
	in, err := t.Get(ctx, mark)
	if errors.Is(err, ErrMissing) {
		text, err := json.Marshal(head{format, k.Public()})
		if err != nil {
			return nil, err
		}
		return r, t.Put(ctx, mark, strings.NewReader(string(text)), int64(len(text)))
	}
	if err != nil {
		return nil, err
	}
	defer in.Close()
	var h head
	switch err := json.NewDecoder(io.LimitReader(in, 1<<16)).Decode(&h); {
	case err != nil:
		return nil, fmt.Errorf("%s: %s can't be read: %w", t, mark, err)
	case h.Format > format:
		return nil, fmt.Errorf("%s is of a later program (format %d, this one knows %d): update this program first", t, h.Format, format)
	case h.Public != k.Public():
		return nil, fmt.Errorf("%s belongs to another key (%s): use the key that it was begun with, or another place", t, h.Public)
	}
	return r, nil
}

// Exists says whether a target holds copies at all.
func Exists(ctx context.Context, t Target) error {
	in, err := t.Get(ctx, "fairlead-backup.json")
	if errors.Is(err, ErrMissing) {
		return fmt.Errorf("%s holds no backup: is it the place that backup.to named?", t)
	}
	if err == nil {
		in.Close()
	}
	return err
}

func manifestName(name string) string { return "copies/" + name + ".age" }

// List names the copies, the oldest first.
func (r *Repository) List(ctx context.Context) (out []string, err error) {
	objects, err := r.target.List(ctx, "copies/")
	for _, o := range objects {
		out = append(out, strings.TrimSuffix(path.Base(o.Name), ".age"))
	}
	slices.Sort(out)
	return out, err
}

// Manifest reads what a copy consists of; "" is the newest.
func (r *Repository) Manifest(ctx context.Context, name string) (*Manifest, error) {
	all, err := r.List(ctx)
	if err != nil {
		return nil, err
	}
	switch {
	case len(all) == 0:
		return nil, fmt.Errorf("%s holds no copy yet", r.target)
	case name == "":
		name = all[len(all)-1]
	case !slices.Contains(all, name):
		return nil, fmt.Errorf("%s holds no copy %q: there are %s", r.target, name, strings.Join(all, ", "))
	}
	m := &Manifest{}
	err = r.read(ctx, manifestName(name), func(in io.Reader) error { return json.NewDecoder(in).Decode(m) })
	if err != nil {
		return nil, fmt.Errorf("copy %s: %w", name, err)
	}
	if m.Format > format {
		return nil, fmt.Errorf("copy %s is of a later program: update this one first", name)
	}
	return m, nil
}

// read gives an object's contents, decrypted and unpacked.
func (r *Repository) read(ctx context.Context, name string, use func(io.Reader) error) error {
	in, err := r.target.Get(ctx, name)
	if err != nil {
		return err
	}
	defer in.Close()
	plain, err := age.Decrypt(in, r.key.identity)
	if err != nil {
		return fmt.Errorf("%s: %w: is it the key that the backup was made with?", name, err)
	}
	unpacked, err := zstd.NewReader(plain, zstd.WithDecoderConcurrency(1))
	if err != nil {
		return err
	}
	defer unpacked.Close()
	if err := use(unpacked); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}
