package guess

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

const firstShots = "expect:  # the first shots of the sample, as this map reads them\n"

// Unbound is the map without the shots that it is held to: while it is still told and
// corrected by hand, what the first draft made of them is no measure.
func (p *Proposal) Unbound() string {
	text, _, _ := strings.Cut(p.Map, firstShots)
	return text
}

// expected adds the first shots of the sample to a drafted map, with what the
// map makes of them, so that whoever changes it later sees at once what moves.
// A map whose pieces of a file can't stand alone stays as it is.
func (d *draft) expected(text string) string {
	m, err := feed.ParseMap("drafted map", []byte(text))
	if err != nil || len(d.t.Texts) == 0 || d.t.Transposed || d.t.Long != nil {
		return text
	}
	var shots []*event.Entry
	source := d.t.Texts[0]
	r := feed.NewReader(m.OfText(), "expect", strings.NewReader("\ufeff"+source))
	for len(shots) < 2 {
		draft, err := r.Next()
		if err != nil {
			if !errors.Is(err, io.EOF) {
				return text
			}
			break
		}
		received := time.Now() // no matter: the device's own clock is asked of
		if draft.Entry.DeviceUnixNs != 0 {
			received = time.Unix(0, draft.Entry.DeviceUnixNs)
		}
		if e := draft.Finish(feed.Stamp{Studio: "map", Bay: "map", Feed: "map", Received: received}); e.Valid() && len(e.Raw) < 4000 {
			shots = append(shots, e)
		}
	}
	for _, pieces := range d.pieces(source, shots) {
		var b strings.Builder
		b.WriteString(text + firstShots)
		for i, lines := range pieces {
			fmt.Fprintf(&b, "  - lines: %s\n    shot: {%s}\n", strconv.Quote(lines), d.said(shots[i], m))
		}
		if _, err := feed.ParseMap("drafted map", []byte(b.String())); err == nil {
			return b.String()
		}
	}
	return text
}

// pieces are the ways in which shots may stand alone.
func (d *draft) pieces(source string, shots []*event.Entry) (out [][]string) {
	if len(shots) == 0 {
		return nil
	}
	forms := []string{"%s\n%s", "{" + strconv.Quote(d.t.Records) + ": [%[2]s]}", "{" + strconv.Quote(d.t.Records) + ": {%[2]s}}", "%[2]s"}
	for _, form := range forms {
		var pieces []string
		for _, e := range shots {
			text := string(e.Raw)
			if e.Encoding != "" || !strings.Contains(source, text) {
				return nil
			}
			pieces = append(pieces, strings.TrimPrefix(fmt.Sprintf(form, e.Layout, text), "\n"))
		}
		out = append(out, pieces)
	}
	// With all that stands before the first one, as it stands.
	if at := strings.Index(source, string(shots[0].Raw)); at > 0 && at < 4000 && d.t.Format == "csv" {
		pieces := []string{strings.ReplaceAll(source[:at], "\r", "") + string(shots[0].Raw)}
		for _, e := range shots[1:] {
			pieces = append(pieces, string(e.Raw))
		}
		out = append([][]string{pieces}, out...)
	}
	return out
}

// said writes what a shot's entry holds, as a map expects it.
func (d *draft) said(e *event.Entry, m *feed.Map) string {
	var parts []string
	if e.DeviceShotId != "" {
		parts = append(parts, "shot_id: "+strconv.Quote(e.DeviceShotId))
	}
	if e.DeviceUnixNs != 0 && d.at != nil && d.at.zone != "local" {
		parts = append(parts, "device_time: "+time.Unix(0, e.DeviceUnixNs).UTC().Format(time.RFC3339Nano))
	}
	for _, f := range m.Fields() {
		v, ok := e.Get(f.Info.Field)
		if !ok {
			parts = append(parts, f.Info.Name+": none")
			continue
		}
		conv, err := unit.Lookup(f.Info.Quantity, f.Unit)
		if err != nil {
			continue
		}
		parts = append(parts, strings.TrimSpace(fmt.Sprintf("%s: %s %s", f.Info.Name, strconv.FormatFloat(conv.From(v), 'f', 4, 64), f.Unit)))
	}
	return strings.Join(parts, ", ")
}
