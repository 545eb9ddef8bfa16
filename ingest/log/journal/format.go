package journal

import (
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"time"
)

// A segment file is a preamble and a run of frames, all numbers little-endian.
//
//	preamble   8 bytes "FLJRNL" 0 version, 8 bytes journal id
//	frame      magic   4   "\xf5FJr"
//	           kind    1   header, positions, entry or mark
//	           zero    3
//	           length  4   bytes of body
//	           crc     4   CRC-32C of the body
//	           seq     8   see the kinds
//	           at      8   wall time, ns since 1970
//	           crc     4   CRC-32C of the 32 bytes above
//	           body
//
// Both checksums begin with the journal's id, so bytes of another journal that
// ended up here are never taken for this one's. The header's own checksum lets
// a length be trusted before the body is; and since it covers the body's
// checksum, it binds the two together.
const (
	preambleLen = 16
	frameLen    = 36
	formatMajor = 1

	// MaxRecordBytes bounds a payload together with its positions.
	MaxRecordBytes = 8 << 20
)

var (
	preambleMagic = [8]byte{'F', 'L', 'J', 'R', 'N', 'L', 0, formatMajor}
	frameMagic    = []byte{0xf5, 'F', 'J', 'r'}
	castagnoli    = crc32.MakeTable(crc32.Castagnoli)
)

type kind byte

const (
	kindHeader    kind = 1 // first in each file; seq: the first the file will hold; body: segmentHeader
	kindPositions kind = 2 // read positions alone; seq: the next to be given out
	kindEntry     kind = 3 // seq: its own; body: positions, payload
	kindMark      kind = 4 // no body; everything before it is durable; seq: the last durable
)

// frame is one decoded frame. body points into the reader's buffer.
type frame struct {
	kind kind
	seq  uint64
	at   int64
	body []byte
}

// journalID is 8 random bytes, shown as 16 hex digits.
type journalID [8]byte

func (id journalID) String() string { return hex.EncodeToString(id[:]) }

func (id journalID) seed() uint32 { return crc32.Checksum(id[:], castagnoli) }

func parseID(s string) (id journalID, ok bool) {
	if len(s) != 2*len(id) {
		return id, false
	}
	_, err := hex.Decode(id[:], []byte(s))
	return id, err == nil
}

// appendFrame writes a frame whose body is what fill appends.
func appendFrame(b []byte, seed uint32, k kind, seq uint64, at time.Time, fill func([]byte) []byte) []byte {
	return frameAt(b, seed, k, seq, at.UnixNano(), fill)
}

func frameAt(b []byte, seed uint32, k kind, seq uint64, at int64, fill func([]byte) []byte) []byte {
	start := len(b)
	var head [frameLen]byte
	b = append(b, head[:]...)
	if fill != nil {
		b = fill(b)
	}
	h, body := b[start:start+frameLen], b[start+frameLen:]
	copy(h, frameMagic)
	h[4] = byte(k)
	binary.LittleEndian.PutUint32(h[8:], uint32(len(body)))
	binary.LittleEndian.PutUint32(h[12:], crc32.Update(seed, castagnoli, body))
	binary.LittleEndian.PutUint64(h[16:], seq)
	binary.LittleEndian.PutUint64(h[24:], uint64(at))
	binary.LittleEndian.PutUint32(h[32:], crc32.Update(seed, castagnoli, h[:32]))
	return b
}

// decodeHead reads the fixed part of a frame; n is the length of its body.
func decodeHead(h []byte, seed uint32) (f frame, n int, bodyCRC uint32, ok bool) {
	if len(h) < frameLen || string(h[:4]) != string(frameMagic) ||
		binary.LittleEndian.Uint32(h[32:]) != crc32.Update(seed, castagnoli, h[:32]) {
		return f, 0, 0, false
	}
	f.kind = kind(h[4])
	f.seq = binary.LittleEndian.Uint64(h[16:])
	f.at = int64(binary.LittleEndian.Uint64(h[24:]))
	length := binary.LittleEndian.Uint32(h[8:])
	if f.kind < kindHeader || f.kind > kindMark || length > MaxRecordBytes+maxNameBytes {
		return f, 0, 0, false
	}
	return f, int(length), binary.LittleEndian.Uint32(h[12:]), true
}

func appendPositions(b []byte, ps []Position) []byte {
	b = binary.AppendUvarint(b, uint64(len(ps)))
	for _, p := range ps {
		b = binary.AppendUvarint(b, uint64(len(p.Feed)))
		b = append(b, p.Feed...)
		b = binary.AppendUvarint(b, uint64(len(p.Data)))
		b = append(b, p.Data...)
	}
	return b
}

var errBody = errors.New("malformed body")

// decodePositions calls visit for each position and returns what follows them.
// The slices point into b.
func decodePositions(b []byte, visit func(feed, data []byte)) (rest []byte, err error) {
	n, b, ok := cutUvarint(b)
	if !ok || n > uint64(len(b)) {
		return nil, errBody
	}
	for ; n > 0; n-- {
		var feed, data []byte
		if feed, b, ok = cutBytes(b); !ok {
			return nil, errBody
		}
		if data, b, ok = cutBytes(b); !ok {
			return nil, errBody
		}
		if visit != nil {
			visit(feed, data)
		}
	}
	return b, nil
}

func cutUvarint(b []byte) (uint64, []byte, bool) {
	n, w := binary.Uvarint(b)
	if w <= 0 {
		return 0, nil, false
	}
	return n, b[w:], true
}

func cutBytes(b []byte) (cut, rest []byte, ok bool) {
	n, b, ok := cutUvarint(b)
	if !ok || n > uint64(len(b)) {
		return nil, nil, false
	}
	return b[:n], b[n:], true
}

// segmentHeader is the body of a file's first frame: JSON, so that it can be
// read with any pager, and grow.
type segmentHeader struct {
	Ordinal uint32 `json:"ordinal"` // place of the journal among those of its folder, from 1
	Machine string `json:"machine"` // hash of Options.Machine
	Studio  string `json:"studio"`
	Bay     string `json:"bay"`
	Created int64  `json:"created_ns"`         // when the journal began, ns since 1970
	Reason  string `json:"reason"`             // why the journal began
	Feeds   int    `json:"feeds"`              // how many read positions follow
	Before  string `json:"previous,omitempty"` // the journal before it
}

func (h segmentHeader) appendTo(b []byte) []byte {
	j, err := json.Marshal(h)
	if err != nil { // strings and integers always marshal
		panic(fmt.Sprintf("journal: segment header: %v", err))
	}
	return append(b, j...)
}

func decodeHeader(body []byte) (*segmentHeader, error) {
	var h segmentHeader
	if err := json.Unmarshal(body, &h); err != nil {
		return nil, fmt.Errorf("segment header: %w", err)
	}
	return &h, nil
}
