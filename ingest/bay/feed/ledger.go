package feed

import (
	"bufio"
	"bytes"
	"encoding/json"
	"log/slog"
	"os"
	"path/filepath"
)

// ledger remembers which files of a folder were read. It is only a memory: when
// a part of it is lost, files are read again, and their shots have the ids they
// had. So a damaged line is passed over, and a write that fails is logged.
type ledger struct {
	path    string
	log     *slog.Logger
	byName  map[string]page
	content map[string]bool
}

// page is one file: as it looked, and its contentID.
type page struct {
	Name    string `json:"name"`
	Size    int64  `json:"size"`
	Mtime   int64  `json:"mtime"`
	Content string `json:"content"`
	Lines   int    `json:"lines,omitempty"` // that it had
}

func openLedger(path string, log *slog.Logger) *ledger {
	l := &ledger{path: path, log: log, byName: map[string]page{}, content: map[string]bool{}}
	if path == "" {
		return l
	}
	data, err := os.ReadFile(path)
	if err != nil && !os.IsNotExist(err) {
		log.Warn("feed ledger cannot be read; files in the folder are read again", "path", path, "err", err)
	}
	lines := bufio.NewScanner(bytes.NewReader(data))
	for lines.Scan() {
		var p page
		if json.Unmarshal(lines.Bytes(), &p) == nil && p.Content != "" {
			l.byName[p.Name], l.content[p.Content] = p, true
		}
	}
	return l
}

// has says whether a file was read and looks as it did.
func (l *ledger) has(f found) bool {
	p, ok := l.byName[f.name]
	return ok && p.Size == f.info.Size() && p.Mtime == mtime(f.info)
}

func (l *ledger) hasContent(content string) bool { return l.content[content] }

// add notes files as read.
func (l *ledger) add(pages ...page) error {
	var out bytes.Buffer
	for _, p := range pages {
		l.byName[p.Name], l.content[p.Content] = p, true
		data, err := json.Marshal(p)
		if err != nil {
			return err
		}
		out.Write(append(data, '\n'))
	}
	if l.path == "" || len(pages) == 0 {
		return nil
	}
	if err := appendSynced(l.path, out.Bytes()); err != nil {
		l.log.Warn("feed ledger cannot be written; files may be read again after a restart", "path", l.path, "err", err)
	}
	return nil
}

// keep forgets the files that are not in the folder any more, and writes the
// ledger anew when most of it is about those. An empty folder is more likely a
// share that went away than one that was tidied up.
func (l *ledger) keep(files []found) {
	if len(files) == 0 || len(l.byName) < 2*len(files)+64 {
		return
	}
	there := map[string]page{}
	l.content = map[string]bool{}
	var out bytes.Buffer
	for _, f := range files {
		if p, ok := l.byName[f.name]; ok {
			there[f.name], l.content[p.Content] = p, true
			data, _ := json.Marshal(p) // strings and numbers always encode
			out.Write(append(data, '\n'))
		}
	}
	l.byName = there
	if l.path == "" {
		return
	}
	fresh := l.path + ".new"
	err := os.WriteFile(fresh, nil, 0o600)
	if err == nil {
		err = appendSynced(fresh, out.Bytes())
	}
	if err == nil {
		err = os.Rename(fresh, l.path)
	}
	if err != nil {
		l.log.Warn("feed ledger cannot be written anew", "path", l.path, "err", err)
	}
}

func appendSynced(path string, data []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	if closing := f.Close(); err == nil {
		err = closing
	}
	return err
}
