package feed

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"fairlead/ingest/bay/sheet"
)

// What the program that writes a workbook or a database keeps beside it, is no
// file of its own; of a database it holds what was written last.

// beside says whether a name is one of those, and of which file.
func (s *Folder) beside(base string) (of string, ok bool) {
	switch s.cfg.Map.holder {
	case holderWorkbook:
		return "", strings.HasPrefix(base, "~$") || strings.HasPrefix(base, ".~lock.")
	case holderDatabase:
		for _, c := range append([]string{"-shm"}, sheet.Companions...) {
			if of, ok := strings.CutSuffix(base, c); ok {
				return of, true
			}
		}
	}
	return "", false
}

// notices says whether a notice of a name concerns the feed.
func (s *Folder) notices(base string) bool {
	of, ok := s.beside(base)
	return s.follows(base) || ok && of != "" && s.follows(of)
}

// owners turns the names that notices came of into the files that they are of.
func (s *Folder) owners(names map[string]bool) map[string]bool {
	if s.cfg.Map.holder != holderDatabase {
		return names
	}
	out := map[string]bool{}
	for name := range names {
		if of, ok := s.beside(name); ok {
			name = of
		}
		out[name] = true
	}
	return out
}

// withLog is a database with what stands in its log: it changes when that does.
type withLog struct {
	os.FileInfo
	size int64
	at   time.Time
}

func (w withLog) Size() int64        { return w.size }
func (w withLog) ModTime() time.Time { return w.at }

// whole is a file as it looks with what belongs to it.
func (s *Folder) whole(path string, info os.FileInfo) os.FileInfo {
	if s.cfg.Map.holder != holderDatabase {
		return info
	}
	w := withLog{info, info.Size(), info.ModTime()}
	for _, c := range sheet.Companions {
		if more, err := os.Stat(path + c); err == nil && more.Size() > 0 {
			w.size += more.Size()
			if more.ModTime().After(w.at) {
				w.at = more.ModTime()
			}
		}
	}
	return w
}

func (s *Folder) wholes(files []found) []found {
	for i := range files {
		files[i].info = s.whole(files[i].path, files[i].info)
	}
	if s.cfg.Map.holder == holderDatabase {
		slices.SortFunc(files, byAge)
	}
	return files
}

// stat is os.Stat of a file with what belongs to it.
func (s *Folder) stat(path string) (os.FileInfo, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	return s.whole(path, info), nil
}

// contentOf names a file by its name and content, its log included.
func (s *Folder) contentOf(f found, in io.Reader) (string, error) {
	if s.cfg.Map.holder == holderDatabase {
		log, err := os.Open(filepath.Clean(f.path) + sheet.Companions[0])
		if err == nil {
			defer log.Close()
			return contentID(f.name, io.MultiReader(in, log))
		}
		if !errors.Is(err, os.ErrNotExist) {
			return "", err
		}
	}
	return contentID(f.name, in)
}
