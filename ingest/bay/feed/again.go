package feed

import (
	"bytes"
	"maps"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
)

// Again reads lines that a journal holds anew, with a corrected map. What a
// line then says is another entry of the same shot, marked with the time of the
// reading; a shot that the line no longer is, or is under another number, is
// withdrawn. When a shot was hit stays as it was. It serves one goroutine and
// one feed, and wants every line of the feed in the order of its journals.
type Again struct {
	m       *Map
	layout  string // for lines of before their layout was kept
	parsers map[string]*Parser
	numbers Numbers
}

// NewAgain begins; layout holds the lines that stand above a table, such as its
// header, for files whose entries do not tell.
func NewAgain(m *Map, layout string) *Again {
	return &Again{m: m, layout: layout, parsers: map[string]*Parser{}}
}

// Turn says what became of a line.
type Turn int

const (
	Same      Turn = iota // as before
	Changed               // the same shot with other values
	Renamed               // a shot under another identity
	Returned              // was refused, and is a shot
	Withdrawn             // was a shot, and is none: left out, or refused
	Headless              // can't be read without the table's header
	Forgotten             // its text is not kept any more
)

// Line reads a line again. now holds the entries by which it stands at present:
// the original alone, or those of its latest reading. It returns the entries
// that are to be added, marked with at.
func (a *Again) Line(original *event.Entry, now []*event.Entry, at time.Time) (Turn, []*event.Entry) {
	if len(original.Raw) == 0 || original.ErasedContent != nil {
		return Forgotten, nil
	}
	p := a.parser(original)
	if a.m.NeedsHeader() && p.header == nil {
		return Headless, nil
	}
	p.line = max(p.line, uint64(a.m.csv.skip)) // the line is no part of what stands above
	var next *event.Entry
	if d, ok, _ := p.Line(original.Raw); ok {
		next = a.finish(d, original)
	}
	return settle(original, now, next, at)
}

// parser is that of the entry's file, with what stood above the line.
func (a *Again) parser(e *event.Entry) *Parser {
	p, ok := a.parsers[e.File]
	if !ok {
		p = a.m.Parser(e.File)
		a.parsers[e.File] = p
		if a.layout != "" && e.Layout == "" {
			p.takeLayout(a.layout)
		}
	}
	if e.Layout != "" {
		p.takeLayout(e.Layout)
	}
	p.enc, _ = a.m.enc.start(nil)
	if e.Encoding != "" {
		p.enc = encodingByName(e.Encoding)
	}
	return p
}

// finish gives the new reading the place, the times and, where it is the same
// shot, the identity of the first one.
func (a *Again) finish(d Draft, original *event.Entry) *event.Entry {
	e := d.Entry
	e.Contract, e.Line = original.Contract, original.Line
	d.Finish(Stamp{
		Studio: original.Studio, Bay: original.Bay, Feed: original.Feed,
		Received: time.Unix(0, original.ReceivedUnixNs), Effective: time.Unix(0, original.EffectiveUnixNs), Certainty: original.Certainty,
		Numbers: &a.numbers,
	})
	e.EffectiveUnixNs, e.Boot, e.ReadMonoNs, e.SeenMonoNs = original.EffectiveUnixNs, original.Boot, original.ReadMonoNs, original.SeenMonoNs
	e.EarliestUnixNs, e.LatestUnixNs = original.EarliestUnixNs, original.LatestUnixNs
	// A line that the device did not number is known by itself; a number that
	// stays keeps what was made of it.
	if e.Device == original.Device && (!e.Valid() || e.DeviceShotId == "" || original.Valid() && e.DeviceShotId == original.DeviceShotId) &&
		(original.DeviceShotId == "" || e.DeviceShotId == original.DeviceShotId) {
		e.ShotId = original.ShotId
	}
	e.Layout, e.Encoding = "", original.Encoding
	return e
}

// settle compares what stands with what should.
func settle(original *event.Entry, now []*event.Entry, next *event.Entry, at time.Time) (turn Turn, add []*event.Entry) {
	is := next != nil && next.Valid()
	was := false
	for _, e := range now {
		if !e.Valid() || e.Deleted && e.RereadUnixNs != 0 && len(e.Measures) == 0 && !original.Deleted {
			continue
		}
		was = true
		if is && bytes.Equal(e.ShotId, next.ShotId) {
			if alike(e, next) {
				return Same, nil
			}
			turn = Changed
			continue
		}
		gone := proto.CloneOf(e)
		gone.Deleted, gone.Measures, gone.Faults, gone.Layout = true, nil, nil, ""
		gone.RereadUnixNs, gone.Journal, gone.Seq = at.UnixNano(), "", 0
		add = append(add, gone)
	}
	switch {
	case !is && !was:
		return Same, nil
	case !is:
		return Withdrawn, add
	case !was:
		turn = Returned
	case turn != Changed:
		turn = Renamed
	}
	next.RereadUnixNs = at.UnixNano()
	return turn, append(add, next)
}

// alike says whether two readings of a line say the same.
func alike(a, b *event.Entry) bool {
	same := a.DeviceShotId == b.DeviceShotId && a.DeviceUnixNs == b.DeviceUnixNs && a.Revision == b.Revision && a.Deleted == b.Deleted &&
		a.Role == b.Role && a.DeviceClub == b.DeviceClub && a.Firmware == b.Firmware && maps.Equal(a.Settings, b.Settings) &&
		len(a.Measures) == len(b.Measures)
	for i := 0; same && i < len(a.Measures); i++ {
		same = proto.Equal(b.Measure(a.Measures[i].Field), a.Measures[i])
	}
	return same
}
