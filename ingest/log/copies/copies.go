// Package copies keeps a bay's copies of its visit events: the second home of what
// the fitter did, should the hub's disk be lost or set back to an older copy. The
// hub brings them and asks for them; the bay only keeps.
package copies

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"slices"
	"strings"
	"sync"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/durable"
)

// File is the name of the file in a journal's folder.
const File = "visits.copies"

const (
	// most bounds one record; nothing of ours is a hundredth of that.
	most = 1 << 20
	// page bounds a list, and load the bytes of events in one answer.
	page = 5000
	load = 400 << 10
)

// Copies are the events kept in one file: records of length, CRC-32 (IEEE) and
// bytes, one after another. Of several of one id the last counts. It may be used
// concurrently.
type Copies struct {
	path string

	mu   sync.Mutex
	file *os.File
	end  int64
	byID map[string]kept
	sum  uint64 // of the checksums
}

type kept struct {
	sum  uint32
	at   int64 // of the bytes in the file
	size int
}

const head = 8 // length and checksum

// Open reads the file at path, or begins it. What is damaged or torn in it is left
// out, with all that follows: the hub brings it again.
func Open(path string) (*Copies, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("copies of visit events: %w", err)
	}
	c := &Copies{path: path, file: f, byID: map[string]kept{}}
	c.read()
	if err := f.Truncate(c.end); err != nil {
		return nil, errors.Join(fmt.Errorf("copies of visit events: %w", err), f.Close())
	}
	return c, nil
}

func (c *Copies) read() {
	r := bufio.NewReaderSize(io.NewSectionReader(c.file, 0, 1<<62), 64<<10)
	var h [head]byte
	for {
		if _, err := io.ReadFull(r, h[:]); err != nil {
			return
		}
		size, sum := binary.LittleEndian.Uint32(h[:4]), binary.LittleEndian.Uint32(h[4:])
		if size == 0 || size > most {
			return
		}
		data := make([]byte, size)
		if _, err := io.ReadFull(r, data); err != nil || crc32.ChecksumIEEE(data) != sum {
			return
		}
		if id := idOf(data); id != "" {
			c.note(id, kept{sum, c.end + head, int(size)})
		}
		c.end += head + int64(size)
	}
}

func (c *Copies) note(id string, k kept) {
	c.sum += uint64(k.sum) - uint64(c.byID[id].sum)
	c.byID[id] = k
}

func idOf(data []byte) string {
	ev := &event.VisitEvent{}
	if proto.Unmarshal(data, ev) != nil {
		return ""
	}
	return ev.Id
}

// State is how many there are, and the sum of their checksums.
func (c *Copies) State() (n, sum uint64) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return uint64(len(c.byID)), c.sum
}

// Close gives the file free.
func (c *Copies) Close() error { return c.file.Close() }

// Answer does what the hub asks.
func (c *Copies) Answer(k *event.Keep) *event.RepairReply {
	reply := &event.RepairReply{}
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(k.Events) > 0 {
		if err := c.keep(k.Events); err != nil {
			reply.Error = err.Error()
			return reply
		}
		reply.Sent = uint64(len(k.Events))
	}
	if k.List {
		ids := c.after(k.After)
		reply.More = len(ids) > page
		for _, id := range ids[:min(len(ids), page)] {
			reply.Kept = append(reply.Kept, &event.Kept{Id: id, Sum: c.byID[id].sum})
		}
	}
	size := 0
	for _, id := range k.Want {
		if size > load {
			reply.More = true
			break
		}
		if data, err := c.bytes(id); err == nil {
			reply.Kept = append(reply.Kept, &event.Kept{Id: id, Sum: c.byID[id].sum, Event: data})
			size += len(data)
		}
	}
	return reply
}

func (c *Copies) after(id string) []string {
	var ids []string
	for have := range c.byID {
		if have > id {
			ids = append(ids, have)
		}
	}
	slices.SortFunc(ids, strings.Compare)
	return ids
}

func (c *Copies) bytes(id string) ([]byte, error) {
	k, ok := c.byID[id]
	if !ok {
		return nil, os.ErrNotExist
	}
	data := make([]byte, k.size)
	if _, err := c.file.ReadAt(data, k.at); err != nil {
		return nil, err
	}
	if crc32.ChecksumIEEE(data) != k.sum {
		c.sum -= uint64(k.sum) // the hub sees that it is not there, and brings it
		delete(c.byID, id)
		return nil, errors.New("damaged")
	}
	return data, nil
}

// keep appends events, on the disk when it returns. Where one takes another's
// place the file is written anew: what was said before is to be forgotten.
func (c *Copies) keep(events [][]byte) error {
	var text []byte
	fresh := map[string]kept{}
	anew := false
	for _, data := range events {
		id := idOf(data)
		if id == "" || len(data) > most {
			return errors.New("a visit event that can't be read")
		}
		_, known := c.byID[id]
		_, twice := fresh[id]
		anew = anew || known || twice
		fresh[id] = kept{crc32.ChecksumIEEE(data), c.end + int64(len(text)) + head, len(data)}
		text = record(text, data)
	}
	if anew {
		return c.rewrite(fresh, text)
	}
	if _, err := c.file.WriteAt(text, c.end); err != nil {
		return err
	}
	if err := c.file.Sync(); err != nil {
		return err
	}
	c.end += int64(len(text))
	for id, k := range fresh {
		c.note(id, k)
	}
	return nil
}

func record(text, data []byte) []byte {
	text = binary.LittleEndian.AppendUint32(text, uint32(len(data)))
	return append(binary.LittleEndian.AppendUint32(text, crc32.ChecksumIEEE(data)), data...)
}

// rewrite writes what is kept, less what is said anew, and then that.
func (c *Copies) rewrite(fresh map[string]kept, text []byte) error {
	var all []byte
	for _, id := range c.after("") {
		if _, said := fresh[id]; said {
			continue
		}
		if data, err := c.bytes(id); err == nil {
			all = record(all, data)
		}
	}
	all = append(all, text...)
	c.file.Close() // some systems put nothing in the place of an open file
	err := durable.WriteFile(c.path, all, 0o600)
	f, opening := os.OpenFile(c.path, os.O_RDWR|os.O_CREATE, 0o600)
	if opening != nil {
		return errors.Join(err, opening)
	}
	c.file, c.end, c.sum, c.byID = f, 0, 0, map[string]kept{}
	c.read()
	return err
}

// Rewrite gives each event of the file at path to change, and puts a file in its
// place where that gave back another: the old one or the new one is there, whenever
// the power goes. Nobody may have it open. A file that is not there holds nothing;
// what is damaged or torn is left out, as Open does. It returns how many changed.
func Rewrite(path string, change func(data []byte) ([]byte, error)) (changed int, err error) {
	durable.Clear(path)
	var text []byte
	err = Look(path, func(data []byte) error {
		said, err := change(data)
		if err != nil {
			return fmt.Errorf("copies of visit events: %w", err)
		}
		if !bytes.Equal(said, data) {
			changed++
		}
		text = record(text, said)
		return nil
	})
	if err != nil {
		return 0, err
	}
	info, err := os.Stat(path)
	if errors.Is(err, os.ErrNotExist) || err == nil && changed == 0 && int64(len(text)) == info.Size() {
		return 0, nil
	}
	if err == nil {
		err = durable.WriteFile(path, text, 0o600)
	}
	if err != nil {
		return 0, fmt.Errorf("copies of visit events: %w", err)
	}
	return changed, nil
}

// Look gives each event of the file at path, whether somebody has it open or not.
func Look(path string, each func(data []byte) error) error {
	f, err := os.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("copies of visit events: %w", err)
	}
	defer f.Close()
	c := &Copies{path: path, file: f, byID: map[string]kept{}}
	c.read()
	for _, id := range c.after("") {
		if data, err := c.bytes(id); err == nil {
			if err := each(data); err != nil {
				return err
			}
		}
	}
	return nil
}
