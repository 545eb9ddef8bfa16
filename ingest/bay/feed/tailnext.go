package feed

import (
	"cmp"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// target is a file to read next, and from where.
type target struct {
	path string
	info os.FileInfo
	m    mark
}

// found is a file of the folder.
type found struct {
	name string
	path string
	info os.FileInfo
}

// linked says whether a link is followed: the one that the configuration names is.
func (t *Tail) linked(base string) bool { return base == t.pattern || t.links.allow(base) }

// list returns the folder's plain files that pass, and those behind links that may be
// followed, oldest first.
func list(dir string, pass func(base string) bool, link func(base string) bool) ([]found, error) {
	names, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("look into the feed's folder: %w", err)
	}
	var out []found
	for _, n := range names {
		if !pass(n.Name()) || n.IsDir() {
			continue
		}
		path := filepath.Join(dir, n.Name())
		if info, ok := plainFile(path, n.Name(), link); ok {
			out = append(out, found{n.Name(), path, info})
		}
	}
	slices.SortFunc(out, byAge)
	return out, nil
}

// plainFile looks at a file, through a link that may be followed. It is none when it is
// gone meanwhile, or a pipe: it shows again if it stays.
func plainFile(path, name string, link func(base string) bool) (os.FileInfo, bool) {
	info, err := os.Lstat(path)
	if err == nil && info.Mode()&os.ModeSymlink != 0 {
		if !link(name) {
			return nil, false
		}
		info, err = os.Stat(path)
	}
	return info, err == nil && info.Mode().IsRegular()
}

// byAge orders files by when they were written, then by name.
func byAge(a, b found) int {
	return cmp.Or(cmp.Compare(mtime(a.info), mtime(b.info)), strings.Compare(a.name, b.name))
}

// next finds the file to read now: the oldest that holds something new, and is
// not the open one, which drain has read to its end. nil: there is none.
func (t *Tail) next() (*target, error) {
	files, err := list(t.dir, t.follows, t.linked)
	if err != nil {
		return nil, err
	}
	t.there = len(files)
	t.notice(files)
	t.adopt(files)
	for _, f := range files {
		m := t.pos.find(f.name)
		switch {
		case m == nil:
			if t.isNew(f) {
				return &target{f.path, f.info, mark{Name: f.name}}, nil
			}
		case t.cur != nil && t.cur.m.Name == f.name:
			if t.replaced(f) {
				return t.generation(*m, f, true)
			}
		case m.changed(f.info):
			if next, err := t.goOn(*m, f); next != nil || err != nil {
				return next, err
			}
		}
	}
	return nil, nil
}

// notice keeps the names that appear while the feed runs: they are new,
// whatever their time says (clocks are set back).
func (t *Tail) notice(files []found) {
	known := make(map[string]bool, len(files))
	for _, f := range files {
		known[f.name] = true
		if t.known != nil && !t.known[f.name] {
			t.fresh[f.name] = true
		}
	}
	t.known = known
}

// adopt follows a file to its new name when both names are the feed's.
func (t *Tail) adopt(files []found) {
	for _, f := range files {
		id := fileID(nil, f.info)
		if id == "" || t.pos.find(f.name) != nil && t.pos.find(f.name).ID == id {
			continue
		}
		for i := range t.pos.Files {
			m := &t.pos.Files[i]
			if m.ID != id || m.Name == f.name || !opened(f.path, m.fits) {
				continue
			}
			// The name's earlier file, if any, has been renamed too or is gone.
			renamed := *m
			renamed.As, renamed.Name = m.as(), f.name
			t.pos.Files = slices.DeleteFunc(t.pos.Files, func(o mark) bool { return o.Name == f.name || o.Name == m.Name })
			t.pos.Files = append(t.pos.Files, renamed)
			if t.cur != nil && t.cur.m.ID == id {
				t.cur.m, t.cur.path = renamed, f.path
			}
			t.change(func(s *State) { s.Rotations++ })
			break
		}
	}
}

// isNew says whether a file without a mark was never read.
func (t *Tail) isNew(f found) bool {
	if t.fresh[f.name] || after(mtime(f.info), f.name, t.pos.FloorTime, t.pos.FloorName) {
		return true
	}
	for _, m := range t.pos.Files {
		if m.Name >= f.name {
			return false
		}
	}
	return true // the youngest by its name, such as a later date
}

// replaced says whether the open file's name leads to another file by now.
func (t *Tail) replaced(f found) bool {
	if t.cur.f == nil {
		return false // drain looks when it opens the file again
	}
	info, err := t.cur.f.Stat()
	return err == nil && !os.SameFile(info, f.info)
}

// goOn returns to a file that was read before and has changed: where reading
// stopped, or, if it is another file by now, where its line of generations goes on.
func (t *Tail) goOn(m mark, f found) (*target, error) {
	if id := fileID(nil, f.info); id != "" && id != m.ID {
		return t.generation(m, f, false)
	}
	if !opened(f.path, m.fits) {
		return t.generation(m, f, false)
	}
	if f.info.Size() > m.Off {
		return &target{f.path, f.info, m}, nil
	}
	m.Size, m.Mtime = f.info.Size(), mtime(f.info) // touched, not written
	t.pos.put(m)
	return nil, nil
}

// generation finds where reading goes on when a name leads to another file than
// the mark's: in the rest of the old file under its rotated name, then in every
// rotated file younger than that, then in the name's new file from its start.
// drained says that the old file is open and read to its end.
func (t *Tail) generation(m mark, f found, drained bool) (*target, error) {
	older, err := list(t.dir, func(base string) bool { return base != f.name && !t.follows(base) && rotatedFrom(f.name, base) }, t.linked)
	if err != nil {
		return nil, err
	}
	since := m.Mtime
	if !drained {
		holder, here := t.holder(&m, f, older)
		if here {
			return &target{f.path, f.info, m}, nil // the folder was copied or restored
		}
		if holder != nil {
			since = mtime(holder.info)
			if holder.info.Size() > m.Off {
				m.As = m.as()
				return &target{holder.path, holder.info, m}, nil
			}
		}
	}
	for _, o := range older {
		if mtime(o.info) < since || drained && m.ID != "" && fileID(nil, o.info) == m.ID {
			continue
		}
		if !t.wasRead(o) {
			return &target{o.path, o.info, mark{Name: m.Name, As: m.as()}}, nil
		}
	}
	if drained && m.Off > 0 && opened(f.path, m.fits) {
		return &target{f.path, f.info, m}, nil // written anew as a whole, with what was read in front
	}
	if id := fileID(nil, f.info); id != "" && id == m.ID {
		t.change(func(s *State) { s.Truncations++ })
		t.cfg.Log.Warn("feed file was cut short, and is read from its start", "path", f.path, "was_at", m.Off)
	} else {
		t.change(func(s *State) { s.Rotations++ })
	}
	return &target{f.path, f.info, mark{Name: m.Name}}, nil
}

// wasRead says whether one of the files that were read last is this one, and
// nothing was added to it. (Times are too coarse to tell generations apart.)
func (t *Tail) wasRead(o found) bool {
	return slices.ContainsFunc(t.pos.Files, func(m mark) bool {
		return m.Off > 0 && m.Off == o.info.Size() && opened(o.path, m.fits)
	})
}

// holder finds the file that holds what the mark was made in: by its id
// anywhere in the folder; in the feed's own file (here); or in a rotated file
// with the same bytes (a copy made before the original was cut short), one
// written since the mark was made before any older.
func (t *Tail) holder(m *mark, f found, older []found) (holder *found, here bool) {
	if m.ID != "" {
		all, err := list(t.dir, func(base string) bool { return base != f.name }, func(string) bool { return false })
		for i := range all {
			if err == nil && fileID(nil, all[i].info) == m.ID && opened(all[i].path, m.fits) {
				return &all[i], false
			}
		}
	}
	if m.Off == 0 {
		return nil, false
	}
	if opened(f.path, m.fits) {
		return nil, true
	}
	for _, since := range []int64{m.Mtime, math.MinInt64} {
		for i := range older {
			if mtime(older[i].info) >= since && opened(older[i].path, m.fits) {
				return &older[i], false
			}
		}
	}
	return nil, false
}

// rotatedFrom says whether base looks like a rotated file of name: shots.csv.1,
// shots.csv-20260501, shots-1.csv, shots_old.csv. Compressed ones can't be read.
func rotatedFrom(name, base string) bool {
	ext := filepath.Ext(name)
	stem := strings.TrimSuffix(name, ext)
	for _, packed := range []string{".gz", ".bz2", ".xz", ".zst", ".zip"} {
		if strings.HasSuffix(base, packed) {
			return false
		}
	}
	if rest, ok := strings.CutPrefix(base, name); ok {
		return rest != "" && strings.ContainsAny(rest[:1], ".-_")
	}
	rest, ok := strings.CutPrefix(base, stem)
	return ok && rest != "" && strings.ContainsAny(rest[:1], ".-_") && filepath.Ext(base) == ext
}

// opened opens a file for one question.
func opened(path string, ask func(*os.File, os.FileInfo) bool) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	info, err := f.Stat()
	return err == nil && ask(f, info)
}
