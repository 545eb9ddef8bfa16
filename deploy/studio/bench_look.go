package studio

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"fairlead/ingest/bay/desk"
	"fairlead/ingest/bay/sample"
	"fairlead/ingest/bay/sheet"
)

const (
	lookedFiles   = 3       // the latest of a feed or folder that are shown
	lookedFolders = 200     // at most
	lookedDepth   = 3       // below the folder that the bay has opened
	lookedInAll   = 380_000 // bytes, which an answer has room for
	crowded       = 20_000  // files in a folder that are looked at
)

// root opens the folder in which devices may be found. Nothing outside of it can
// be reached, whatever links lie in it.
func (b *feedBench) root() (*os.Root, error) {
	if b.b.Devices == "" {
		return nil, errors.New("the bay has opened no folder: name one in its configuration, `devices: FOLDER`, below which its devices write")
	}
	r, err := os.OpenRoot(b.c.Path(b.b.Devices))
	if err != nil {
		return nil, fmt.Errorf("the folder of the bay's devices can't be looked into: %w", err)
	}
	return r, nil
}

// folders lists that folder and those below it.
func (b *feedBench) folders() (out []desk.Folder, err error) {
	if b.b.Devices == "" {
		return nil, nil
	}
	r, err := b.root()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	err = fs.WalkDir(r.FS(), ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil || name != "." && strings.HasPrefix(path.Base(name), "."):
			return skip(d)
		case d.IsDir() && (strings.Count(name, "/") >= lookedDepth || len(out) >= lookedFolders):
			return fs.SkipDir
		case d.IsDir():
			out = append(out, desk.Folder{Path: name})
			return nil
		}
		dir := &out[slices.IndexFunc(out, func(f desk.Folder) bool { return f.Path == path.Dir(name) })]
		if dir.Files++; dir.Files > crowded {
			return nil
		}
		if info, err := d.Info(); err == nil && info.Mode().IsRegular() && info.ModTime().After(dir.At) {
			dir.Newest, dir.At = d.Name(), info.ModTime()
		}
		return nil
	})
	slices.SortStableFunc(out, func(a, b desk.Folder) int { return b.At.Compare(a.At) })
	return out, err
}

func skip(d fs.DirEntry) error {
	if d != nil && d.IsDir() {
		return fs.SkipDir
	}
	return nil
}

// folder is the whole path of one of them.
func (b *feedBench) folder(name string) (string, error) {
	r, err := b.root()
	if err != nil {
		return "", err
	}
	defer r.Close()
	info, err := r.Stat(name)
	if err != nil || !info.IsDir() {
		return "", fmt.Errorf("%q is no folder below the one that the bay has opened", name)
	}
	return filepath.Join(b.c.Path(b.b.Devices), filepath.FromSlash(name)), nil
}

// Look implements desk.Bench.
func (b *feedBench) Look(name, folder string) ([]sample.File, error) {
	if name == "" {
		r, err := b.root()
		if err != nil {
			return nil, err
		}
		defer r.Close()
		below, err := r.OpenRoot(folder)
		if err != nil {
			return nil, fmt.Errorf("%q is no folder below the one that the bay has opened", folder)
		}
		defer below.Close()
		return latest(below, "*")
	}
	for _, f := range b.feeds() {
		if f.Name != name {
			continue
		}
		kind, place := f.source()
		match := "*"
		switch dir := b.c.Path(place); kind {
		case "tail":
			place, match = filepath.Dir(dir), filepath.Base(dir)
		case "folder":
			place, match = dir, pattern(f.Pattern)
		default:
			return nil, fmt.Errorf("a feed of kind %s writes no files: drop here what the device sends", kind)
		}
		r, err := os.OpenRoot(place)
		if err != nil {
			return nil, fmt.Errorf("the feed's folder can't be looked into: %w", err)
		}
		defer r.Close()
		return latest(r, match)
	}
	return nil, fmt.Errorf("bay %s has no feed %s", b.b.Name, name)
}

// latest reads the files of a folder that were written last, oldest first.
func latest(r *os.Root, match string) (out []sample.File, err error) {
	names, err := fs.ReadDir(r.FS(), ".")
	if err != nil {
		return nil, fmt.Errorf("look into the folder: %w", err)
	}
	var infos []fs.FileInfo
	for _, n := range names[max(0, len(names)-crowded):] {
		if ok, err := filepath.Match(match, n.Name()); !ok || err != nil || strings.HasPrefix(n.Name(), ".") || besideDatabase(n.Name()) {
			continue
		}
		if info, err := n.Info(); err == nil && info.Mode().IsRegular() && info.Size() > 0 {
			infos = append(infos, info)
		}
	}
	slices.SortFunc(infos, func(a, b fs.FileInfo) int {
		return cmp.Or(a.ModTime().Compare(b.ModTime()), strings.Compare(a.Name(), b.Name()))
	})
	room := lookedInAll
	for _, info := range slices.Backward(infos[max(0, len(infos)-lookedFiles):]) {
		f, err := r.Open(info.Name())
		if err != nil {
			continue // gone meanwhile
		}
		file, err := sampled(r, f, info)
		f.Close()
		if err != nil || len(file.Data) > room {
			continue
		}
		room -= len(file.Data)
		out = append(out, file)
	}
	slices.Reverse(out)
	if out == nil {
		return nil, errors.New("no file with anything in it is there: let the device write one, or drop one here")
	}
	return out, nil
}

// sampled takes of a file what tells what it is; a workbook or a database is
// looked at whole, and its table taken.
func sampled(r *os.Root, f *os.File, info fs.FileInfo) (sample.File, error) {
	data, err := sample.Part(f, info.Size())
	if err != nil || sheet.Kind(data) == "" {
		return sample.File{Name: info.Name(), Data: data}, err
	}
	if data, err = io.ReadAll(io.NewSectionReader(f, 0, min(info.Size(), sample.MostHeld))); err != nil {
		return sample.File{}, err
	}
	var log []byte
	if beside, err := r.Open(info.Name() + sheet.Companions[0]); err == nil {
		defer beside.Close()
		if log, err = io.ReadAll(io.LimitReader(beside, sample.MostHeld)); err != nil {
			return sample.File{}, err
		}
	}
	held, err := sample.Of(info.Name(), data, log)
	if err != nil {
		return held, err
	}
	held.Data, err = sample.Part(bytes.NewReader(held.Data), int64(len(held.Data)))
	return held, err
}

// besideDatabase says that a file is what a database's writer keeps beside it, or
// the lock of a workbook.
func besideDatabase(name string) bool {
	for _, end := range append([]string{"-shm"}, sheet.Companions...) {
		if strings.HasSuffix(name, end) {
			return true
		}
	}
	return strings.HasPrefix(name, "~$")
}
