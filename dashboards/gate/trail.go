package gate

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/gofrs/flock"
)

// Mark is one line of the trail.
type Mark struct {
	At     time.Time `json:"at"`
	Who    string    `json:"who"`              // account; hub: its own terminal; empty: nobody signed in
	Device string    `json:"device,omitempty"` // paired device, browser, or hub
	From   string    `json:"from,omitempty"`   // address
	What   string    `json:"what"`             // signed in, saw, changed, exported, erased …
	About  string    `json:"about,omitempty"`  // page, pseudonym or account; never a name
	// Prev is what the line before hashes to, so that a line that is changed or
	// taken out shows.
	Prev string `json:"prev"`
}

// Trail is appended to and never changed, a file a month.
type Trail struct{ dir string }

// OpenTrail opens the trail below a folder, which it makes.
func OpenTrail(dir string) (*Trail, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("trail: %w", err)
	}
	return &Trail{dir}, nil
}

// longestMark bounds a line, so that the last one can be read from the end.
const longestMark = 4 << 10

func lineSum(line []byte) string {
	sum := sha256.Sum256(line)
	return hex.EncodeToString(sum[:16])
}

// Add appends a line, which is on the disk when it returns.
func (t *Trail) Add(m Mark) error {
	lock := flock.New(filepath.Join(t.dir, "lock"))
	if err := lock.Lock(); err != nil {
		return fmt.Errorf("trail: %w", err)
	}
	defer lock.Unlock()
	files, err := t.files()
	if err != nil {
		return err
	}
	torn := false
	if len(files) > 0 {
		last, whole, err := lastLine(files[len(files)-1])
		if err != nil {
			return fmt.Errorf("trail: %w", err)
		}
		m.Prev, torn = lineSum(last), !whole
	}
	m.At = m.At.UTC().Truncate(time.Millisecond)
	m.About, m.From, m.What = short(m.About), short(m.From), short(m.What)
	line, err := json.Marshal(m)
	if err != nil {
		return fmt.Errorf("trail: %w", err)
	}
	line = append(line, '\n')
	name := filepath.Join(t.dir, m.At.Format("2006-01")+".jsonl")
	if len(files) > 0 { // a clock that was set back must not put a line before others
		name = max(name, files[len(files)-1])
	}
	f, err := os.OpenFile(name, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("trail: %w", err)
	}
	if torn {
		line = append([]byte{'\n'}, line...)
	}
	_, err = f.Write(line)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("trail: %w", err)
	}
	return nil
}

func short(text string) string {
	if len(text) > 300 {
		return text[:300]
	}
	return text
}

func (t *Trail) files() ([]string, error) {
	files, err := filepath.Glob(filepath.Join(t.dir, "????-??.jsonl"))
	slices.Sort(files)
	return files, err
}

// lastLine is a file's last line without its end, and whether it has one: a
// power cut may have left half of a line.
func lastLine(path string) (line []byte, whole bool, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, false, err
	}
	defer f.Close()
	end, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return nil, false, err
	}
	if _, err := f.Seek(max(0, end-longestMark), io.SeekStart); err != nil {
		return nil, false, err
	}
	text, err := io.ReadAll(f)
	text, whole = bytes.CutSuffix(text, []byte{'\n'})
	return text[bytes.LastIndexByte(text, '\n')+1:], whole || end == 0, err
}

// Latest lists at most n lines, the newest first, of those that want says.
func (t *Trail) Latest(n int, want func(Mark) bool) ([]Mark, error) {
	files, err := t.files()
	if err != nil {
		return nil, err
	}
	var out []Mark
	for i := len(files) - 1; i >= 0 && len(out) < n; i-- {
		var here []Mark
		err := eachLine(files[i], func(line []byte) error {
			var m Mark
			if json.Unmarshal(line, &m) == nil && want(m) {
				here = append(here, m)
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
		slices.Reverse(here)
		out = append(out, here[:min(len(here), n-len(out))]...)
	}
	return out, nil
}

// Verify reads the whole trail and says where a line was changed or taken out.
func (t *Trail) Verify() (lines int, err error) {
	files, err := t.files()
	if err != nil {
		return 0, err
	}
	prev := ""
	for _, file := range files {
		err := eachLine(file, func(line []byte) error {
			var m Mark
			if err := json.Unmarshal(line, &m); err != nil {
				return fmt.Errorf("trail %s: line %d of all can't be read: a power cut may have left half of it: %w", filepath.Base(file), lines+1, err)
			}
			if m.Prev != prev {
				return fmt.Errorf("trail %s: what stood before line %d of all was changed or taken out", filepath.Base(file), lines+1)
			}
			prev, lines = lineSum(line), lines+1
			return nil
		})
		if err != nil {
			return lines, err
		}
	}
	return lines, nil
}

func eachLine(path string, do func([]byte) error) error {
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("trail: %w", err)
	}
	defer f.Close()
	s := bufio.NewScanner(f)
	s.Buffer(nil, 1<<20)
	for s.Scan() {
		if err := do(s.Bytes()); err != nil {
			return err
		}
	}
	if err := s.Err(); err != nil {
		return fmt.Errorf("trail %s: %w", path, err)
	}
	return nil
}
