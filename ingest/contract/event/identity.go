package event

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"strings"
	"time"
)

// ShotID names a shot wherever it is read.
type ShotID [16]byte

// ShotIDFor returns the id of a shot that the device numbers itself.
func ShotIDFor(device, deviceShotID string) ShotID {
	return hashID("id", device, deviceShotID)
}

// ShotIDForLine returns the id of a line of a device that does not number its
// shots: the line and its how-manieth occurrence (from 1) in its file. A file
// that is read again, under any name, gives the same ids.
func ShotIDForLine(device string, raw []byte, occurrence uint64) ShotID {
	return hashID("line", device, string(raw), fmt.Sprint(occurrence))
}

func hashID(parts ...string) (id ShotID) {
	h := sha256.New()
	for _, p := range parts {
		var n [4]byte
		binary.LittleEndian.PutUint32(n[:], uint32(len(p)))
		h.Write(n[:])
		h.Write([]byte(p))
	}
	copy(id[:], h.Sum(nil))
	return id
}

// String writes the id as the store does: 8-4-4-4-12 hex digits.
func (id ShotID) String() string {
	s := hex.EncodeToString(id[:])
	return s[:8] + "-" + s[8:12] + "-" + s[12:16] + "-" + s[16:20] + "-" + s[20:]
}

// ParseShotID reads what String writes; dashes may be left out.
func ParseShotID(s string) (id ShotID, err error) {
	b, err := hex.DecodeString(strings.ReplaceAll(s, "-", ""))
	if err != nil || len(b) != len(id) {
		return id, fmt.Errorf("%q is not a shot id: 32 hex digits, as `fairlead tail` prints them", s)
	}
	copy(id[:], b)
	return id, nil
}

// ID returns the entry's shot id; the zero id when it has none.
func (e *Entry) ID() (id ShotID) {
	copy(id[:], e.GetShotId())
	return id
}

// Content is a hash of what the line says, to tell a line that was read twice
// from a later version of the same shot. An erased entry keeps the hash.
func (e *Entry) Content() uint64 {
	if e.GetErasedContent() != 0 {
		return e.GetErasedContent()
	}
	sum := sha256.Sum256(e.GetRaw())
	return binary.LittleEndian.Uint64(sum[:])
}

// NewID returns a fresh id for a visit, a session, a trial or an event: 10 hex
// digits of the time in ms and 12 random ones, so that ids sort by birth.
func NewID(now time.Time) string {
	var r [6]byte
	rand.Read(r[:])
	return fmt.Sprintf("%010x%s", now.UnixMilli()&0xffffffffff, hex.EncodeToString(r[:]))
}
