package journal

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"time"
)

// chain is one journal: the files that carry its id, in order.
type chain struct {
	id       journalID
	ordinal  uint32
	header   segmentHeader
	segments []*segment
	lost     []Quarantine
	floor    uint64 // everything below is confirmed by the store
}

// segment is one file of a journal. What changes is guarded by Journal.mu.
type segment struct {
	path   string
	first  uint64 // first seq it may hold
	last   uint64 // highest seq stored in it or known lost from it; first-1: none
	end    int64  // everything before is durable and may be read
	lastAt time.Time
	index  []indexPoint
	holes  []hole
	whole  bool // its header and the positions it began with are there
	torn   *Torn
	// unsynced: what was in the system's cache could not be made durable.
	unsynced bool
}

// Quarantine is a damaged stretch of a file. The file is left as it is; the
// stretch is skipped when reading.
type Quarantine struct {
	Journal string
	File    string
	Offset  int64 // where it begins in the file, bytes
	Bytes   int64 // its length; 0 when records are missing between two intact ones
	// First and Last are the records that were in it; First > Last when it
	// held none (only the log's own notes).
	First, Last uint64
}

// Records is how many entries the stretch held.
func (q Quarantine) Records() uint64 {
	if q.First > q.Last {
		return 0
	}
	return q.Last - q.First + 1
}

// Error makes an alarm of it; errors.Is(q, ErrDamaged) holds.
func (q Quarantine) Error() string {
	return fmt.Sprintf("%v: %d records of journal %s set aside (%d to %d), %d bytes at %d of %s",
		ErrDamaged, q.Records(), q.Journal, q.First, q.Last, q.Bytes, q.Offset, q.File)
}

func (q Quarantine) Unwrap() error { return ErrDamaged }

func (h hole) quarantine(id journalID, path string) Quarantine {
	return Quarantine{Journal: id.String(), File: path, Offset: h.from, Bytes: h.to - h.from, First: h.first, Last: h.last}
}

func (c *chain) tail() *segment {
	if len(c.segments) == 0 {
		return nil
	}
	return c.segments[len(c.segments)-1]
}

// bounds are the lowest and highest seq; last is first-1 when there is none.
func (c *chain) bounds() (first, last uint64) {
	if len(c.segments) == 0 {
		return 1, 0
	}
	return c.segments[0].first, c.tail().last
}

func (c *chain) createdAt() time.Time { return time.Unix(0, c.header.Created) }

// at returns the last indexed place at or before seq.
func (s *segment) at(seq uint64) int64 {
	off := int64(preambleLen)
	lo, hi := 0, len(s.index)
	for lo < hi {
		mid := (lo + hi) / 2
		if s.index[mid].seq <= seq {
			off, lo = s.index[mid].off, mid+1
		} else {
			hi = mid
		}
	}
	return off
}

// File names carry what is needed to read a file whose beginning is damaged.
var segmentName = regexp.MustCompile(`^(\d{6})-([0-9a-f]{16})-(\d{20})\.journal$`)

func segmentPath(dir string, ordinal uint32, id journalID, first uint64) string {
	return filepath.Join(dir, fmt.Sprintf("%06d-%s-%020d.journal", ordinal, id, first))
}

func parseSegmentName(name string) (ordinal uint32, id journalID, first uint64, ok bool) {
	m := segmentName.FindStringSubmatch(name)
	if m == nil {
		return 0, id, 0, false
	}
	o, err1 := strconv.ParseUint(m[1], 10, 32)
	first, err2 := strconv.ParseUint(m[3], 10, 64)
	id, ok = parseID(m[2])
	return uint32(o), id, first, ok && err1 == nil && err2 == nil && first > 0
}

// IDs lists the journals of which a folder holds files, whether one is open
// there or not.
func IDs(dir string) (out []string, err error) {
	files, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, err
	}
	for _, f := range files {
		if _, id, _, ok := parseSegmentName(f.Name()); ok && !slices.Contains(out, id.String()) {
			out = append(out, id.String())
		}
	}
	return out, nil
}
