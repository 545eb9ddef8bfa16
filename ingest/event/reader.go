package event

import (
	"math"
	"unicode/utf8"

	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
)

// Reader decodes entries in bulk: what the entries of a bay have in common
// (studio, device, feed, file) is kept once, and the measures of an entry
// stand in one piece of memory. What it does not know at a glance (faults,
// settings, fields of a later contract) it leaves to the protobuf library, so
// that it reads exactly what that reads. It is not safe for concurrent use.
type Reader struct{ words map[string]string }

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

// read reports whether it understood all of data.
func (r *Reader) read(e *Entry, data []byte) bool {
	count := 0
	for rest := data; len(rest) > 0; {
		number, _, n := protowire.ConsumeField(rest)
		if n < 0 {
			return false
		}
		if number == 20 {
			count++
		}
		rest = rest[n:]
	}
	measures := make([]Measure, count)
	e.Measures = make([]*Measure, count)
	next := 0
	for len(data) > 0 {
		number, kind, n := protowire.ConsumeTag(data)
		if n < 0 {
			return false
		}
		data = data[n:]
		switch kind {
		case protowire.VarintType:
			v, n := protowire.ConsumeVarint(data)
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
			if number == 20 {
				m := &measures[next]
				e.Measures[next] = m
				next++
				if !m.read(b) {
					return false
				}
			} else if !r.setText(e, number, b) {
				return false
			}
		default:
			return false
		}
	}
	if count == 0 {
		e.Measures = nil
	}
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
		number, kind, n := protowire.ConsumeTag(data)
		if n < 0 {
			return false
		}
		data = data[n:]
		if number == 2 && kind == protowire.Fixed64Type {
			v, n := protowire.ConsumeFixed64(data)
			if n < 0 {
				return false
			}
			m.Value, data = math.Float64frombits(v), data[n:]
			continue
		}
		if kind != protowire.VarintType {
			return false
		}
		v, n := protowire.ConsumeVarint(data)
		if n < 0 {
			return false
		}
		data = data[n:]
		switch number {
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
