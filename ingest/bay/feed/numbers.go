package feed

import (
	"strconv"
	"sync"
	"time"

	"fairlead/ingest/contract/event"
)

// Numbers knows which numbers of its own a device has used, and tells a later
// version of a shot from another shot that got the same number: counters begin
// again with each session, each export, each new computer. The first use of a
// number keeps the identity that the number alone gives; each further use has
// one made of the number and what tells the use apart, so that a file that is
// read again gives the same identities in the same order.
//
// It serves one feed, remembers at least the last rememberedNumbers numbers,
// and may be used concurrently. The zero value is ready.
type Numbers struct {
	mu         sync.Mutex
	young, old map[event.ShotID]number
	turn       uint64       // grows when a line has another number than the one before
	last       event.ShotID // number of the line before
	counts     NumberCounts
}

// NumberCounts is what was made of lines whose number was used before.
type NumberCounts struct {
	Reused    uint64 `json:"reused"`    // other shots under a number that an earlier shot has
	Revisions uint64 `json:"revisions"` // later versions of the shot
	Repeats   uint64 `json:"repeats"`   // the same line again
}

const (
	rememberedNumbers = 1 << 18
	// rewrittenWithin is how much later than the first a device may time a second
	// version of a shot. Nobody hits two balls in this time.
	rewrittenWithin = 5 * time.Second
)

// number is what is kept of one: of its first use, and of its last.
type number struct {
	firstContent, lastContent uint64
	firstTime, lastTime       int64 // the device's, Unix ns; 0: none
	lastID                    event.ShotID
	turn                      uint64
	revision                  uint32
	file                      uint64 // hash of the file of the last use
}

// Counts says what was made of numbers so far.
func (n *Numbers) Counts() NumberCounts {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.counts
}

// identify returns the shot that a valid entry with a device's number is of.
func (n *Numbers) identify(m *Map, e *event.Entry) event.ShotID {
	plain := event.ShotIDFor(e.Device, e.DeviceShotId)
	content, file := e.Content(), lineHash([]byte(e.File))
	n.mu.Lock()
	defer n.mu.Unlock()
	if plain != n.last {
		n.turn, n.last = n.turn+1, plain
	}
	was, known := n.find(plain)
	now := number{firstContent: content, firstTime: e.DeviceUnixNs, lastID: plain}
	if known {
		now = was
		switch {
		case content == was.firstContent:
			now.lastID = plain
			n.counts.Repeats++
		case content == was.lastContent:
			n.counts.Repeats++
		case e.DeviceUnixNs != 0 && e.DeviceUnixNs == was.firstTime:
			now.lastID = plain
			n.counts.Revisions++
		case m.revises(e, &was, file, n.turn):
			n.counts.Revisions++
		default:
			now.lastID = furtherUse(e, content)
			n.counts.Reused++
		}
	}
	now.lastContent, now.lastTime, now.turn, now.revision, now.file = content, e.DeviceUnixNs, n.turn, e.Revision, file
	if known && now.lastID == was.lastID && was.lastTime != 0 {
		now.lastTime = was.lastTime // of the use, not of its latest version
	}
	n.keep(plain, now)
	return now.lastID
}

// revises says whether a line is a later version of the last use of its number,
// by what the device says itself, by its clock, and by the order of its lines.
func (m *Map) revises(e *event.Entry, was *number, file, turn uint64) bool {
	timed := e.DeviceUnixNs != 0 && was.lastTime != 0
	switch {
	case e.Deleted:
		return true
	case timed && e.DeviceUnixNs == was.lastTime:
		return true
	case m.revision >= 0:
		return e.Revision > was.revision
	case timed:
		later := time.Duration(e.DeviceUnixNs - was.lastTime)
		return later > 0 && later <= rewrittenWithin && was.turn == turn
	case m.scopeGiven && m.scope == scopeDevice:
		return true // the map says that a number names one shot for ever
	}
	return file == was.file && was.turn == turn
}

// furtherUse names a shot whose number an earlier one has: by the device's
// clock, or by its line.
func furtherUse(e *event.Entry, content uint64) event.ShotID {
	by := "line " + strconv.FormatUint(content, 16)
	if e.DeviceUnixNs != 0 {
		by = "at " + strconv.FormatInt(e.DeviceUnixNs, 10)
	}
	return event.ShotIDFor(e.Device, e.DeviceShotId+"\x1f"+by)
}

// Relearn takes in an entry that an earlier life made, in the order of the
// journal, so that a restart forgets no number.
func (n *Numbers) Relearn(e *event.Entry) {
	if e.DeviceShotId == "" || !e.Valid() {
		return
	}
	plain, content := event.ShotIDFor(e.Device, e.DeviceShotId), e.Content()
	n.mu.Lock()
	defer n.mu.Unlock()
	if plain != n.last {
		n.turn, n.last = n.turn+1, plain
	}
	now, known := n.find(plain)
	if !known && e.ID() == plain {
		now.firstContent, now.firstTime = content, e.DeviceUnixNs
	}
	if !known || now.lastID != e.ID() || now.lastTime == 0 {
		now.lastTime = e.DeviceUnixNs
	}
	now.lastContent, now.lastID, now.turn, now.revision, now.file = content, e.ID(), n.turn, e.Revision, lineHash([]byte(e.File))
	n.keep(plain, now)
}

func (n *Numbers) find(id event.ShotID) (number, bool) {
	if v, ok := n.young[id]; ok {
		return v, true
	}
	v, ok := n.old[id]
	return v, ok
}

// keep notes a number. What was not met for long falls out: a counter that
// begins again meets its numbers all the time, and one that never does needs
// no memory.
func (n *Numbers) keep(id event.ShotID, v number) {
	if n.young == nil || len(n.young) >= rememberedNumbers {
		n.old, n.young = n.young, make(map[event.ShotID]number, min(len(n.young), rememberedNumbers))
	}
	n.young[id] = v
}
