package sealing

import (
	"bytes"
	"encoding/binary"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
)

// leastWord is the shortest text that is looked for where it may stand by chance.
const leastWord = 6

// words are what people wrote, and what the same events say that is nobody's words.
type words struct {
	sealed map[string]string // by the text in clear
	plain  map[string]bool
}

func newWords() *words { return &words{map[string]string{}, map[string]bool{}} }

// add takes the texts of an event that is sealed.
func (w *words) add(ev *event.VisitEvent, open func(string) string) {
	event.Texts(ev, func(text string) string {
		if clear := open(text); clear != text && clear != event.Unreadable && len(clear) >= leastWord {
			w.sealed[clear] = text
		}
		return text
	})
	w.plainOf(ev.ProtoReflect())
}

func (w *words) plainOf(m protoreflect.Message) {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case f.IsMap():
		case f.Kind() == protoreflect.MessageKind && f.IsList():
			for i := range v.List().Len() {
				w.plainOf(v.List().Get(i).Message())
			}
		case f.Kind() == protoreflect.MessageKind:
			w.plainOf(v.Message())
		case f.Kind() == protoreflect.StringKind && !f.IsList():
			if text := v.String(); !event.HoldsSealed(text) {
				w.plain[text] = true
			}
		}
		return true
	})
}

// told are the words that stand nowhere but where people wrote them: a build that is
// called as its head is can't be told from the head.
func (w *words) told() (out []store.Word) {
	var b strings.Builder
	for text := range w.plain {
		b.WriteString(text)
		b.WriteByte('\n')
	}
	all := b.String()
	for clear, sealed := range w.sealed {
		if !strings.Contains(all, clear) {
			out = append(out, store.Word{Clear: clear, Sealed: sealed})
		}
	}
	slices.SortFunc(out, func(a, b store.Word) int { return strings.Compare(a.Clear, b.Clear) })
	return out
}

// finder finds many words at once, by their first bytes.
type finder struct {
	begins [1 << 16]bool
	byHead map[uint64][]string
}

func headOf(b []byte) uint64 {
	var h [8]byte
	copy(h[:], b[:leastWord])
	return binary.LittleEndian.Uint64(h[:])
}

func newFinder(list []store.Word) *finder {
	f := &finder{byHead: map[uint64][]string{}}
	for _, w := range list {
		b := []byte(w.Clear)
		f.begins[binary.LittleEndian.Uint16(b)] = true
		f.byHead[headOf(b)] = append(f.byHead[headOf(b)], w.Clear)
	}
	return f
}

func (f *finder) holds(data []byte) bool {
	for i := 0; i+leastWord <= len(data); i++ {
		if !f.begins[binary.LittleEndian.Uint16(data[i:])] {
			continue
		}
		for _, w := range f.byHead[headOf(data[i:])] {
			if bytes.HasPrefix(data[i:], []byte(w)) {
				return true
			}
		}
	}
	return false
}

// devices are where lines of devices stand, which are not what people wrote: what a
// device shows as a player's name stays in its lines.
func devices(rel string) bool {
	parts := strings.Split(filepath.ToSlash(rel), "/")
	return parts[0] == "journals" && strings.HasSuffix(rel, ".journal") || parts[0] == "broker" && slices.Contains(parts, "SHOTS")
}

// files lists the files below a folder that hold one of the words as they stand.
func (f *finder) files(dir string) (out []string, err error) {
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		rel, wrong := filepath.Rel(dir, path)
		if err != nil || wrong != nil || !d.Type().IsRegular() || devices(rel) {
			return err
		}
		data, err := os.ReadFile(path)
		if err == nil && f.holds(data) {
			out = append(out, rel)
		}
		return err
	})
	return out, err
}
