package event

import (
	"encoding/binary"
	"math"
	"math/bits"
	"unicode/utf8"

	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
)

// Reader decodes entries in bulk: what the entries of a bay have in common
// (studio, device, feed, file) is kept once, entries and their readings stand
// in large pieces of memory, and no object is made for a measure. What it does
// not know at a glance (faults, settings, fields of a later contract) it leaves
// to the protobuf library, so that it reads exactly what that reads. It is not
// safe for concurrent use.
type Reader struct {
	words   map[string]string
	last    [40]string // word of a field in the entry before: it mostly comes again
	entries []Entry    // room for entries to come
	values  []float64  // room for their readings
	read    int        // entries
}

// NewReader makes a Reader.
func NewReader() *Reader { return &Reader{words: map[string]string{}} }

// maxWords bounds the words kept: files are named by the day, devices are few.
const maxWords = 512

// Line is an entry as it is worked with.
type Line struct {
	Entry *Entry // without its measures
	Given Readings
	Bytes []byte // all of it, as it was written
}

// Read decodes an entry. It keeps data, and the entry's shot id and raw line
// lie in it: the caller may not change it while the line is in use.
func (r *Reader) Read(data []byte) (Line, error) {
	if len(r.entries) == 0 { // more at a time, the more come
		r.entries = make([]Entry, min(r.read+1, 32))
	}
	r.read++
	l := Line{Entry: &r.entries[0], Bytes: data}
	var values [64]float64
	if r.decode(l.Entry, &l.Given, &values, data) {
		r.entries = r.entries[1:]
		n := bits.OnesCount64(l.Given.Has)
		if len(r.values) < n {
			r.values = make([]float64, n*min(r.read, 32))
		}
		l.Given.gather(&values, r.values[:n:n])
		r.values = r.values[n:]
		return l, nil
	}
	proto.Reset(l.Entry)
	e := &Entry{}
	if err := proto.Unmarshal(data, e); err != nil {
		return Line{}, err
	}
	l.Entry, l.Given = e, ReadingsOf(e)
	e.Measures = nil
	return l, nil
}

// word returns the text of a field, the same piece of memory each time it comes.
func (r *Reader) word(number protowire.Number, b []byte) (string, bool) {
	if last := r.last[number]; last == string(b) {
		return last, true
	}
	w, ok := r.words[string(b)]
	if !ok {
		if !utf8.Valid(b) {
			return "", false
		}
		if len(r.words) >= maxWords {
			clear(r.words)
		}
		w = string(b)
		r.words[w] = w
	}
	r.last[number] = w
	return w, true
}

// varint is protowire.ConsumeVarint, quick where it takes one byte.
func varint(data []byte) (v uint64, n int) {
	if len(data) > 0 && data[0] < 0x80 {
		return uint64(data[0]), 1
	}
	return protowire.ConsumeVarint(data)
}

// decode reports whether it understood all of data.
func (r *Reader) decode(e *Entry, readings *Readings, values *[64]float64, data []byte) bool {
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
			size, n := varint(data)
			if n < 0 || size > uint64(len(data)-n) {
				return false
			}
			b := data[n : n+int(size)]
			data = data[n+int(size):]
			if number != 20 {
				if !r.setText(e, number, b) {
					return false
				}
				continue
			}
			if !readings.read(values, b) {
				return false
			}
		default:
			return false
		}
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
	case 27:
		e.ReadMonoNs = int64(v)
	case 28:
		e.SeenMonoNs = int64(v)
	case 29:
		e.EarliestUnixNs = int64(v)
	case 30:
		e.LatestUnixNs = int64(v)
	case 32:
		e.RereadUnixNs = int64(v)
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
	case 26:
		to = &e.MapVersion
	case 31:
		to = &e.Boot
	case 33:
		to = &e.Layout
	case 34:
		to = &e.Encoding
	default:
		return false
	}
	w, ok := r.word(number, b)
	*to = w
	return ok
}

// read takes a measure in and reports whether it understood all of data.
func (r *Readings) read(values *[64]float64, data []byte) bool {
	var field, provenance, handed, air uint64
	var value float64
	// Nearly every measure is a field, a value and where it comes from.
	if len(data) == 13 && data[0] == 0x08 && data[1] < 0x80 && data[2] == 0x11 && data[11] == 0x18 && data[12] < 0x80 {
		field, value, provenance = uint64(data[1]), math.Float64frombits(binary.LittleEndian.Uint64(data[3:])), uint64(data[12])
		data = nil
	}
	for len(data) > 0 {
		tag, n := varint(data)
		if n < 0 {
			return false
		}
		data = data[n:]
		const fixed = 2<<3 | uint64(protowire.Fixed64Type)
		if tag == fixed {
			if len(data) < 8 {
				return false
			}
			value, data = math.Float64frombits(binary.LittleEndian.Uint64(data)), data[8:]
			continue
		}
		v, n := varint(data)
		if n < 0 || protowire.Type(tag&7) != protowire.VarintType {
			return false
		}
		data = data[n:]
		switch tag >> 3 {
		case 1:
			field = v
		case 3:
			provenance = v
		case 4:
			handed = v
		case 5:
			air = v
		default:
			return false
		}
	}
	r.note(values, Field(field), value, Provenance(provenance), AirAdjusted(air), protowire.DecodeBool(handed))
	return true
}
