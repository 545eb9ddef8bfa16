package journal

import (
	"crypto/rand"
	"log/slog"
	"maps"
	"sync"
	"time"
)

// Record is one thing to keep. Its bytes are not touched and not held on to
// after Append has returned.
type Record struct {
	Payload   []byte
	Positions []Position
}

// Position is how far a feed had read. The bytes mean something to the feed
// alone.
type Position struct {
	Feed string
	Data []byte
}

// Entry is a record as it is read back. The payload belongs to the caller.
type Entry struct {
	Journal string
	Seq     uint64
	Payload []byte
	At      time.Time // wall time of the append
}

// Info describes one journal on the disk.
type Info struct {
	ID          string
	Studio, Bay string
	Created     time.Time
	Reason      string // why it was begun
	First, Last uint64 // Last is First-1 while there is no entry
	Bytes       int64  // on the disk, without room reserved
	Active      bool   // the one that is appended to
	Floor       uint64 // as last given to SetFloor
	Quarantined []Quarantine
}

// Journal is the log of one bay. All methods may be called concurrently.
type Journal struct {
	o      Options
	log    *slog.Logger
	disk   disk
	unlock func()

	queue queue // who waits to be written; see append.go

	// writing is held by whoever changes files: a group being committed, a new
	// journal, a trim. What it alone guards:
	writing  sync.Mutex
	out      file   // the active segment; nil until it is needed
	outEnd   int64  // where the next frame goes, beyond the last mark
	reserved int64  // the file has room up to here
	buf      []byte // frames being put together
	suspect  error  // a sync or write failed: read back before going on
	ordinal  uint32 // the highest that any file in the folder has

	mu        sync.RWMutex // guards what follows, and the segments' fields
	chains    []*chain     // in the order in which they were begun; the last is active
	positions map[string][]byte
	renew     string        // why the next append has to begin a new journal
	changed   chan struct{} // closed when there is something new to read
	closed    bool
}

func (j *Journal) active() *chain { return j.chains[len(j.chains)-1] }

// ID is the id of the journal that is appended to.
func (j *Journal) ID() string {
	j.mu.RLock()
	defer j.mu.RUnlock()
	return j.active().id.String()
}

// First is the lowest seq of the active journal that is still on the disk.
func (j *Journal) First() uint64 {
	j.mu.RLock()
	defer j.mu.RUnlock()
	first, _ := j.active().bounds()
	return first
}

// Last is the highest durable seq of the active journal, 0 when it has none.
func (j *Journal) Last() uint64 {
	j.mu.RLock()
	defer j.mu.RUnlock()
	_, last := j.active().bounds()
	return last
}

// Positions returns the latest durable position of each feed. It outlives the
// records that carried it, and a change of journal.
func (j *Journal) Positions() map[string][]byte {
	j.mu.RLock()
	defer j.mu.RUnlock()
	// Values are replaced, never written into, so sharing them is safe as long
	// as the caller gets copies to scribble on.
	out := make(map[string][]byte, len(j.positions))
	for feed, data := range j.positions {
		out[feed] = append([]byte{}, data...)
	}
	return out
}

// Journals lists what is on the disk, oldest first; the last is active.
func (j *Journal) Journals() []Info {
	j.mu.RLock()
	defer j.mu.RUnlock()
	out := make([]Info, 0, len(j.chains))
	for _, c := range j.chains {
		i := Info{
			ID: c.id.String(), Studio: c.header.Studio, Bay: c.header.Bay,
			Created: c.createdAt(), Reason: c.header.Reason, Active: c == j.active(), Floor: c.floor,
			Quarantined: append([]Quarantine(nil), c.lost...),
		}
		i.First, i.Last = c.bounds()
		for _, s := range c.segments {
			i.Bytes += s.end
		}
		out = append(out, i)
	}
	return out
}

// Free is how many bytes may still be written before Append answers ErrFull.
func (j *Journal) Free() (int64, error) {
	n, err := j.disk.free(j.o.Dir)
	if err != nil {
		return 0, ioError("ask free space of", j.o.Dir, err)
	}
	return max(n-j.o.MinFree, 0), nil
}

// Close waits for a group being written and gives the folder free. Readers get
// ErrClosed. Nothing that was acknowledged needs it.
func (j *Journal) Close() error {
	j.writing.Lock()
	defer j.writing.Unlock()
	j.mu.Lock()
	if j.closed {
		j.mu.Unlock()
		return nil
	}
	j.closed = true
	j.wakeLocked()
	j.mu.Unlock()
	defer j.unlock()
	if j.out == nil {
		return nil
	}
	out := j.out
	j.out = nil
	path := j.active().tail().path
	_ = out.Truncate(j.outEnd) // give back room that was reserved
	if err := out.sync(); err != nil && !j.o.NoSync {
		out.Close()
		return ioError("sync", path, err)
	}
	if err := out.Close(); err != nil {
		return ioError("close", path, err)
	}
	return nil
}

// wakeLocked tells readers that there is something new.
func (j *Journal) wakeLocked() {
	if j.changed != nil {
		close(j.changed)
		j.changed = nil
	}
}

func (j *Journal) positionsCopy() map[string][]byte {
	j.mu.RLock()
	defer j.mu.RUnlock()
	return maps.Clone(j.positions)
}

func newID() (id journalID) {
	_, _ = rand.Read(id[:]) // never fails: crypto/rand ends the program instead
	return id
}
