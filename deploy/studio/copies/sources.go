package copies

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"fairlead/deploy/studio"
)

// source is one thing of this machine and its name in a copy.
type source struct{ name, path string }

// Names in a copy.
const (
	inData    = "data/"
	inConfig  = "config/"  // the configuration's folder
	inOutside = "outside/" // what the configuration names elsewhere, from the root on
)

// notCopied is what the processes make anew below the data folder. Engine and
// log are taken in their own ways.
var notCopied = []string{"engine", "broker", "dumps", "metrics", "processes.json", "watch.json", ".watch.json-room", ".watch.json-was",
	"backup.json", "backup.lock", work, restoring}

// work and restoring are folders below data for what is on its way.
const (
	work      = ".backup"
	restoring = ".restoring"
)

// kept lists what else stands below the data folder: journals, visit events,
// names, keys, and whatever is added there.
func kept(c *studio.Config) ([]source, error) {
	return walk(c.DataPath(), inData, func(name string, _ fs.DirEntry) bool {
		top, _, _ := strings.Cut(name, "/")
		return !slices.Contains(notCopied, top) && !isKeys(name)
	})
}

// walk lists a folder's contents that take says yes to, by name. What goes away
// meanwhile is left out.
func walk(dir, prefix string, take func(name string, d fs.DirEntry) bool) (out []source, err error) {
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil || path == dir {
			return err
		}
		rel, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		name := filepath.ToSlash(rel)
		switch {
		case take(name, d):
			out = append(out, source{prefix + name, path})
		case d.IsDir():
			return fs.SkipDir
		}
		return nil
	})
	return out, err
}

// configured lists the configuration and the files that it names.
func configured(c *studio.Config) (out []source) {
	dir := filepath.Dir(c.File())
	add := func(path string) {
		info, err := os.Stat(path)
		if path == "" || err != nil || !info.Mode().IsRegular() {
			return // what is not there can't be copied; the studio says so itself
		}
		name := inOutside + strings.TrimPrefix(filepath.ToSlash(path[len(filepath.VolumeName(path)):]), "/")
		if rel, err := filepath.Rel(c.DataPath(), path); err == nil && filepath.IsLocal(rel) {
			return // goes with the data folder
		}
		if rel, err := filepath.Rel(dir, path); err == nil && filepath.IsLocal(rel) {
			name = inConfig + filepath.ToSlash(rel)
		}
		if !slices.ContainsFunc(out, func(s source) bool { return s.name == name }) {
			out = append(out, source{name, path})
		}
	}
	add(c.File())
	for _, path := range c.Named() {
		add(path)
	}
	return out
}
