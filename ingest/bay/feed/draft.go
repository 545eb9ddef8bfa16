package feed

import (
	"fmt"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
)

// Draft is an entry as far as a line and its map go. Finish makes it whole.
type Draft struct {
	// Entry lacks studio, bay, feed, the times of the bay, the shot id and the
	// faults of its values. It belongs to whoever got the draft.
	Entry *event.Entry
	// OtherUnixNs is the other moment that the device's time may name, where an
	// hour comes twice and the order of the lines does not tell; 0: there is none.
	OtherUnixNs int64

	m          *Map
	occurrence uint64
	cut        bool // the line was longer than MaxLine
}

// Stamp is what the bay knows of a line and the line does not say.
type Stamp struct {
	Studio, Bay, Feed string
	Received          time.Time // wall clock of the bay
	Effective         time.Time // on the hub's clock
	Certainty         event.Certainty
	// Numbers tells shots apart whose device used one number for both; without
	// it (nil) a number names one shot for ever.
	Numbers *Numbers
}

// Finish stamps the entry, validates it and gives it its shot id: the device's
// own for a valid shot that has one, else one of the line's text and its
// how-manieth occurrence in its file. It returns d.Entry, and is to be called
// once.
func (d Draft) Finish(s Stamp) *event.Entry {
	e := d.Entry
	e.MapVersion = d.m.version
	e.Studio, e.Bay, e.Feed = s.Studio, s.Bay, s.Feed
	e.ReceivedUnixNs, e.EffectiveUnixNs, e.Certainty = unixNano(s.Received), unixNano(s.Effective), s.Certainty
	id := d.lineID()
	e.ShotId = id[:]
	refused := !e.Valid()
	for _, f := range event.ValidateEntry(e, s.Received) {
		if refused && f.Field == "" {
			continue // that there is no value follows from what was refused before
		}
		if said := d.asWritten(f.Field); said != "" && f.Hint != "" {
			f.Hint += " (" + said + ")"
		}
		e.Faults = append(e.Faults, f)
	}
	if e.Valid() && e.DeviceShotId != "" {
		if id = event.ShotIDFor(e.Device, e.DeviceShotId); s.Numbers != nil {
			id = s.Numbers.identify(d.m, e)
		}
		e.ShotId = id[:]
	}
	return e
}

// asWritten gives a field's value in the unit of the map, to be found again in
// the device's file; "" when the field is no column of it.
func (d Draft) asWritten(field string) string {
	for i := range d.m.fields {
		f := &d.m.fields[i]
		if f.info.Name != field || f.slot < 0 {
			continue
		}
		if v, ok := d.Entry.Get(f.info.Field); ok {
			return strings.TrimSpace(fmt.Sprintf("read as %.6g %s", f.conv.From(v), f.unitName))
		}
	}
	return ""
}

func unixNano(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixNano()
}

func (d Draft) lineID() event.ShotID {
	device := d.Entry.Device
	if d.m.scope == scopeFile && d.m.id == nil {
		device += "/" + d.Entry.File
	}
	return event.ShotIDForLine(device, d.Entry.Raw, d.occurrence)
}
