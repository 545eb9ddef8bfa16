package feed

import (
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// expectation is a piece of a device's file with what the map should make of
// it. All of a map are read in their order, as one file.
type expectation struct {
	at      node
	text    string
	nothing bool           // no entry: a header, a comment, a row that is left out
	refused *regexp.Regexp // a line that is no valid shot, and why
	shot    []pair         // values of a shot
}

// readExpected reads expect.
func (m *Map) readExpected(k map[string]node) error {
	n, ok := k["expect"]
	if !ok {
		return nil
	}
	for _, item := range n.list() {
		x, err := m.readExpectation(item)
		if err != nil {
			return err
		}
		m.expected = append(m.expected, x)
	}
	return nil
}

func (m *Map) readExpectation(n node) (x expectation, err error) {
	x.at = n
	k, err := n.keys(allowed("expect")...)
	if err != nil {
		return x, err
	}
	lines, ok := k["lines"]
	if !ok || len(k) != 2 {
		return x, n.bad("needs lines and one of shot, refused and nothing", "write {lines: TEXT OF THE FILE, shot: {carry: 150 m}}")
	}
	if x.text, err = lines.str(); err != nil {
		return x, err
	}
	if r, ok := k["refused"]; ok {
		text, err := r.str()
		if err != nil {
			return x, err
		}
		if x.refused, err = regexp.Compile("(?i)" + text); err != nil {
			return x, r.bad("is no pattern: "+err.Error(), "write a word of the reason")
		}
	}
	if b, ok := k["nothing"]; ok {
		if x.nothing, err = b.boolean(); err == nil && !x.nothing {
			err = b.bad("says nothing", "write nothing: true")
		}
		return x, err
	}
	if s, ok := k["shot"]; ok {
		x.shot, err = s.pairs()
	}
	return x, err
}

// checkExpected reads the map's own examples with it.
func (m *Map) checkExpected() error {
	if len(m.expected) == 0 {
		return nil
	}
	var wrong []error
	p := m.Parser("expect")
	for i := range m.expected {
		x := &m.expected[i]
		r := Reader{lines: newLines(&stream{r: strings.NewReader(x.text + "\n")}, m), p: p}
		if m.turned() { // each piece is a file
			plain := *m
			plain.enc, plain.holder = utf8Text, ""
			r = *NewReader(&plain, "expect", strings.NewReader(strings.Repeat("\n", m.csv.above)+x.text))
			r.p = m.Parser("expect")
		}
		r.lines.enc, r.lines.started = utf8Text, true // the map is UTF-8, whatever the device's file is
		var got []*event.Entry
		for {
			d, err := r.Next()
			if err == io.EOF {
				break
			}
			if err != nil {
				return x.at.bad("can't be read: "+err.Error(), "")
			}
			got = append(got, d.Finish(Stamp{Studio: "map", Bay: "map", Feed: "map", Received: m.expectedAt(d.Entry)}))
		}
		wrong = append(wrong, x.check(m, got)...)
	}
	return errors.Join(wrong...)
}

// expectedAt is a time at which the line may have been received.
func (m *Map) expectedAt(e *event.Entry) time.Time {
	if e.DeviceUnixNs != 0 {
		return time.Unix(0, e.DeviceUnixNs)
	}
	return probe
}

// check compares what came of the lines with what was expected.
func (x *expectation) check(m *Map, got []*event.Entry) (wrong []error) {
	bad := func(n node, reason, hint string) []error {
		return []error{&MapError{File: n.file, Line: n.line, Key: n.path, Reason: reason, Hint: hint}}
	}
	if x.nothing {
		if len(got) > 0 {
			return bad(x.at, fmt.Sprintf("is read as %d shots or rejects, and nothing was expected", len(got)),
				"check comment, skip_rows and the header's names in the map")
		}
		return nil
	}
	if len(got) != 1 {
		return bad(x.at, fmt.Sprintf("is read as %d shots or rejects, and one was expected", len(got)),
			"write one shot an item, the header with the first")
	}
	e := got[0]
	reasons := ""
	for _, r := range Rejects(m, e) {
		reasons += r.String() + "\n"
	}
	if x.refused != nil {
		if e.Valid() {
			return bad(x.at, "is read as a shot, and was expected to be refused", "")
		}
		if !x.refused.MatchString(reasons) {
			return bad(x.at, "is refused for another reason than expected: "+strings.TrimSpace(reasons), "")
		}
		return nil
	}
	if !e.Valid() {
		return bad(x.at, "is refused, and a shot was expected: "+strings.TrimSpace(reasons), "correct the map or what is expected")
	}
	for _, p := range x.shot {
		if reason := expectedValue(p, e); reason != "" {
			wrong = append(wrong, bad(p.value, reason, "correct the map or what is expected")...)
		}
	}
	return wrong
}

// expectedValue compares one value; "" when it is as expected.
func expectedValue(p pair, e *event.Entry) string {
	want := p.value.text()
	said := func(have string) string {
		if strings.EqualFold(want, have) {
			return ""
		}
		return fmt.Sprintf("is read as %q, and %q was expected", have, want)
	}
	switch p.key {
	case "shot_id":
		return said(e.DeviceShotId)
	case "role":
		return said(strings.ToLower(strings.TrimPrefix(e.Role.String(), "ROLE_")))
	case "device_club":
		return said(e.DeviceClub)
	case "deleted":
		return said(strconv.FormatBool(e.Deleted))
	case "revision":
		return said(strconv.FormatUint(uint64(e.Revision), 10))
	case "device_time":
		at, err := time.Parse(time.RFC3339Nano, want)
		if err != nil {
			return "is not a time such as 2026-05-01T09:10:02+02:00"
		}
		if e.DeviceUnixNs != at.UnixNano() {
			return said(time.Unix(0, e.DeviceUnixNs).In(at.Location()).Format(time.RFC3339Nano))
		}
		return ""
	}
	info, ok := event.FieldNamed(p.key)
	if !ok {
		return "is not a field; " + didYouMean(p.key) + ", device_time, shot_id, role, device_club, deleted, revision"
	}
	have, measured := e.Get(info.Field)
	if want == "none" {
		if measured {
			return fmt.Sprintf("is read as %.6g %s, and none was expected", have, unit.Stored(info.Quantity))
		}
		return ""
	}
	v, half, err := written(info.Quantity, want)
	switch {
	case err != nil:
		return err.Error()
	case !measured:
		return "is not read from the line"
	case math.Abs(v-have) > half:
		return fmt.Sprintf("is read as %.6g %s, and %.6g was expected", have, unit.Stored(info.Quantity), v)
	}
	return ""
}

// written reads a value with its unit, and how far off another may be that is
// written the same: half of the last digit.
func written(q unit.Quantity, text string) (v, half float64, err error) {
	if v, err = unit.Parse(q, text); err != nil {
		return 0, 0, err
	}
	number := leadingNumber.FindString(text)
	step := 1.0
	if _, decimals, ok := strings.Cut(number, "."); ok {
		step = math.Pow(10, -float64(len(decimals)))
	}
	one, err := unit.Parse(q, strings.Replace(text, number, strconv.FormatFloat(step/2, 'f', -1, 64), 1))
	zero, err0 := unit.Parse(q, strings.Replace(text, number, "0", 1))
	if err != nil || err0 != nil {
		return v, 1e-9 + 1e-6*math.Abs(v), nil
	}
	return v, math.Abs(one-zero) + 1e-9*(1+math.Abs(v)), nil
}

var leadingNumber = regexp.MustCompile(`^\s*[-+]?[0-9]*\.?[0-9]*`)
