package feed

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
)

// mark is how far a file was read, and by what it is known again: its id on
// the file system, and hashes of the first and the last bytes that were read.
type mark struct {
	Name  string `json:"name"`         // base name when it was found
	As    string `json:"as,omitempty"` // name that stands in entries, when another
	ID    string `json:"id,omitempty"` // see fileID
	Off   int64  `json:"off"`          // where the next line begins
	Line  uint64 `json:"line"`         // lines before it
	Head  uint64 `json:"head"`         // hash of the first headBytes
	Tail  uint64 `json:"tail"`         // hash of the tailBytes before Off
	Size  int64  `json:"size"`         // of the file when last looked at
	Mtime int64  `json:"mtime"`        // Unix ns, likewise
	// Open is one more than where a last line begins that was taken without its
	// end; 0: none was.
	Open int64 `json:"open,omitempty"`
	// Clock is the device's time in the last line that had one, Unix ns.
	Clock int64 `json:"clock,omitempty"`
}

// as is the file name that stands in entries.
func (m *mark) as() string {
	if m.As != "" {
		return m.As
	}
	return m.Name
}

// position is the read position of a Tail: the files it read last, the one it
// is in at the end, and up to where older ones are done.
type position struct {
	Version   int    `json:"v"`
	Kind      string `json:"kind"`
	Files     []mark `json:"files,omitempty"`
	FloorTime int64  `json:"floor_time,omitempty"`
	FloorName string `json:"floor_name,omitempty"`
}

// keepMarks is how many files a position remembers one by one.
const keepMarks = 4

func decodePosition(data []byte, kind string) (p position, err error) {
	if len(data) == 0 {
		return position{Version: 1, Kind: kind}, nil
	}
	if err := json.Unmarshal(data, &p); err != nil {
		return p, fmt.Errorf("read position of a %s feed: %w", kind, err)
	}
	if p.Version != 1 || p.Kind != kind {
		return p, fmt.Errorf("read position is of kind %q version %d, and this feed is of kind %q version 1: was the feed's configuration "+
			"changed? give it a new name", p.Kind, p.Version, kind)
	}
	return p, nil
}

func (p *position) encode() []byte {
	data, err := json.Marshal(p)
	if err != nil {
		panic(err) // numbers and strings always encode
	}
	return data
}

// find returns the mark of a file by name, nil when there is none.
func (p *position) find(name string) *mark {
	for i := range p.Files {
		if p.Files[i].Name == name {
			return &p.Files[i]
		}
	}
	return nil
}

// put makes a mark the last one, in a copy of the list. The oldest goes when there are too many, and
// every file not younger than it counts as read from then on.
func (p *position) put(m mark) {
	p.Files = slices.DeleteFunc(slices.Clone(p.Files), func(o mark) bool { return o.Name == m.Name })
	p.Files = append(p.Files, m)
	if len(p.Files) > keepMarks {
		old := p.Files[0]
		p.Files = p.Files[1:]
		if after(old.Mtime, old.Name, p.FloorTime, p.FloorName) {
			p.FloorTime, p.FloorName = old.Mtime, old.Name
		}
	}
}

// after orders files by modification time, then by name.
func after(t int64, name string, t2 int64, name2 string) bool {
	return t > t2 || t == t2 && name > name2
}

// fits says whether a file is the one that the mark was made in and still has
// what was read there. An id alone does not do: a file may be cut short and
// filled again. Where nothing was read yet, the id must agree.
func (m *mark) fits(f *os.File, info os.FileInfo) bool {
	if info.Size() < m.Off {
		return false
	}
	if m.Off == 0 {
		return m.ID != "" && m.ID == fileID(f, info)
	}
	head := make([]byte, min(m.Off, headBytes))
	tail := make([]byte, min(m.Off, tailBytes))
	if _, err := f.ReadAt(head, 0); err != nil {
		return false
	}
	if _, err := f.ReadAt(tail, m.Off-int64(len(tail))); err != nil {
		return false
	}
	return lineHash(head) == m.Head && lineHash(tail) == m.Tail
}

func mtime(info os.FileInfo) int64 { return info.ModTime().UnixNano() }

// changed says whether a file is not as it was when last looked at.
func (m *mark) changed(info os.FileInfo) bool {
	id := fileID(nil, info)
	return m.Size != info.Size() || m.Mtime != mtime(info) || id != "" && m.ID != "" && id != m.ID
}
