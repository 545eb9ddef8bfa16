package event

import (
	"math"
	"slices"
	"unicode/utf8"

	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
)

// Reader decodes entries in bulk: what the entries of a bay have in common
// (studio, device, feed, file) is kept once, and the measures of an entry
// stand in one piece of memory. What it does not know at a glance (faults,
// settings, fields of a later contract) it leaves to the protobuf library, so
// that it reads exactly what that reads. It is not safe for concurrent use.
type Reader struct {
	words    map[string]string
	measures int // of the last entry: the next one mostly has as many
}

// NewReader makes a Reader.
func NewReader() *Reader { return &Reader{words: map[string]string{}} }

// maxWords bounds the words kept: files are named by the day, devices are few.
const maxWords = 512

// Entry decodes an entry. Its shot id and raw line lie in data, which the
// caller may not change while the entry is in use.
func (r *Reader) Entry(data []byte) (*Entry, error) {
	e := &Entry{}
	if r.read(e, data) {
		return e, nil
	}
	e = &Entry{}
	return e, proto.Unmarshal(data, e)
}

// word returns the text, the same piece of memory each time it comes.
func (r *Reader) word(b []byte) (string, bool) {
	if w, ok := r.words[string(b)]; ok {
		return w, true
	}
	if !utf8.Valid(b) {
		return "", false
	}
	if len(r.words) >= maxWords {
		clear(r.words)
	}
	w := string(b)
	r.words[w] = w
	return w, true
}

// varint is protowire.ConsumeVarint, quick where it takes one byte.
func varint(data []byte) (v uint64, n int) {
	if len(data) > 0 && data[0] < 0x80 {
		return uint64(data[0]), 1
	}
	return protowire.ConsumeVarint(data)
}

// read reports whether it understood all of data.
func (r *Reader) read(e *Entry, data []byte) bool {
	var room []Measure
	for len(data) > 0 {
		tag, n := varint(data)
		if n < 0 || tag>>3 > 1<<16 { // no number of ours; nor may it wrap to one
			return false
		}
		data = data[n:]
		number := protowire.Number(tag >> 3)
		switch protowire.Type(tag & 7) {
		case protowire.VarintType:
			v, n := varint(data)
			if n < 0 || !e.setNumber(number, v) {
				return false
			}
			data = data[n:]
		case protowire.BytesType:
			b, n := protowire.ConsumeBytes(data)
			if n < 0 {
				return false
			}
			data = data[n:]
			if number != 20 {
				if !r.setText(e, number, b) {
					return false
				}
				continue
			}
			if len(room) == 0 {
				room = make([]Measure, max(r.measures-len(e.Measures), 4))
				e.Measures = slices.Grow(e.Measures, len(room))
			}
			if !room[0].read(b) {
				return false
			}
			e.Measures, room = append(e.Measures, &room[0]), room[1:]
		default:
			return false
		}
	}
	r.measures = len(e.Measures)
	return true
}

func (e *Entry) setNumber(number protowire.Number, v uint64) bool {
	switch number {
	case 1:
		e.Contract = uint32(v)
	case 5:
		e.Seq = v
	case 9:
		e.Role = Role(v)
	case 12:
		e.Line = v
	case 14:
		e.DeviceUnixNs = int64(v)
	case 15:
		e.ReceivedUnixNs = int64(v)
	case 16:
		e.EffectiveUnixNs = int64(v)
	case 17:
		e.Certainty = Certainty(v)
	case 18:
		e.Revision = uint32(v)
	case 19:
		e.Deleted = protowire.DecodeBool(v)
	default:
		return false
	}
	return true
}

func (r *Reader) setText(e *Entry, number protowire.Number, b []byte) bool {
	var to *string
	switch number {
	case 6:
		e.ShotId = b[:len(b):len(b)]
		return len(b) > 0
	case 13:
		e.Raw = b[:len(b):len(b)]
		return len(b) > 0
	case 8: // of every shot its own
		e.DeviceShotId = string(b)
		return utf8.Valid(b)
	case 2:
		to = &e.Studio
	case 3:
		to = &e.Bay
	case 4:
		to = &e.Journal
	case 7:
		to = &e.Device
	case 10:
		to = &e.Feed
	case 11:
		to = &e.File
	case 21:
		to = &e.DeviceClub
	case 22:
		to = &e.Firmware
	default:
		return false
	}
	w, ok := r.word(b)
	*to = w
	return ok
}

// read reports whether it understood all of data.
func (m *Measure) read(data []byte) bool {
	for len(data) > 0 {
		tag, n := varint(data)
		if n < 0 {
			return false
		}
		data = data[n:]
		const value = 2<<3 | uint64(protowire.Fixed64Type)
		if tag == value {
			v, n := protowire.ConsumeFixed64(data)
			if n < 0 {
				return false
			}
			m.Value, data = math.Float64frombits(v), data[n:]
			continue
		}
		v, n := varint(data)
		if n < 0 || protowire.Type(tag&7) != protowire.VarintType {
			return false
		}
		data = data[n:]
		switch tag >> 3 {
		case 1:
			m.Field = Field(v)
		case 3:
			m.Provenance = Provenance(v)
		case 4:
			m.Handed = protowire.DecodeBool(v)
		case 5:
			m.AirAdjusted = AirAdjusted(v)
		default:
			return false
		}
	}
	return true
}
