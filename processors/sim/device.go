package sim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// Model is an invented device: what it measures, how well, and how it writes.
type Model struct {
	Name    string
	Role    event.Role
	Style   style
	Columns []cell
	// Numbered: writes its own shot ids, so a line that is written twice is one shot.
	Numbered bool
	// Revises: writes later versions of a shot, and withdraws shots.
	Revises bool
	// Lag is how long after the hit its line appears; Clock is how far its own
	// clock is off.
	Lag, Clock time.Duration
	Troubles   Troubles
}

// Troubles are how often a device goes wrong, as shares of its lines.
type Troubles struct {
	Dropout   float64 // of a value: missing
	Misread   float64 // of a line: a value far off, still plausible
	Repeat    float64 // of a line: written twice; numbered devices only
	Revise    float64 // of a line: a later version follows
	Withdraw  float64 // of a line: taken back by a later one
	Malformed float64 // of a line: damaged, no valid shot
}

// style is how a model writes its lines.
type style struct {
	ndjson    bool
	delimiter string
	comma     bool // decimal comma
	header    bool
	missing   string
}

// cell is one column of a line: a measured field, or text that write makes.
type cell struct {
	name     string
	field    event.Field
	unit     string
	decimals int
	noise    float64 // sd of the device's error in the stored unit
	bias     float64 // its constant error in the stored unit
	handed   bool    // counts by the player's hand
	invert   bool    // counts left of target as positive
	letters  bool    // 3.2 R
	text     func(l *line) string
}

// line is what the text columns need to know.
type line struct {
	at       time.Time // on the device's clock
	session  string
	shot     int
	revision int
	withdraw bool
	club     string
}

// Device is a model at work in a bay. It serves one goroutine.
type Device struct {
	*Model
	r       *rand.Rand
	session string
	shots   int
	conv    map[string]unit.Converter
}

// NewDevice starts a device; start names its session, so that the shots of two
// runs have different numbers.
func NewDevice(m *Model, r *rand.Rand, start time.Time) *Device {
	return &Device{Model: m, r: r, session: start.UTC().Format("060102-150405")}
}

// Header is the first line of a file, empty when the model writes none.
func (d *Device) Header() string {
	if !d.Style.header {
		return ""
	}
	names := make([]string, len(d.Columns))
	for i, c := range d.Columns {
		names[i] = c.name
	}
	return joinCells(names, d.Style.delimiter)
}

// Kind says what a line is meant to be.
type Kind string

// The kinds of lines.
const (
	KindShot      Kind = "shot"
	KindRepeat    Kind = "repeat"    // the line before once more: one shot
	KindRevision  Kind = "revision"  // a later version of a shot
	KindWithdrawn Kind = "withdrawn" // takes a shot back
	KindMalformed Kind = "malformed" // no valid shot; what was hit is lost
)

// Line is one line as written, and what it is.
type Line struct {
	Text    string
	Kind    Kind
	Misread event.Field // which value is far off; FIELD_NONE: none
	Dropped int         // values that are missing
	Lag     time.Duration
}

// Write makes the lines that a device writes for a hit at some time of the
// bay's clock: at least one, more when it repeats, revises or withdraws it.
func (d *Device) Write(h *Hit, at time.Time, club string) []Line {
	d.shots++
	info := line{at: at.Add(d.Clock), session: d.session, shot: d.shots, club: club}
	if d.Revises {
		info.revision = 1
	}
	values := d.measure(h)
	first := Line{Kind: KindShot, Lag: d.Lag}
	if chance(d.r, d.Troubles.Misread) {
		first.Misread = d.misread(values)
	}
	for _, c := range d.Columns {
		if _, has := values[c.field]; has && c.field != event.Field_FIELD_BALL_SPEED && c.field != event.Field_FIELD_CLUBHEAD_SPEED &&
			chance(d.r, d.Troubles.Dropout) {
			delete(values, c.field)
			first.Dropped++
		}
	}
	first.Text = d.text(h, values, &info)
	t := d.Troubles
	switch x := d.r.Float64(); {
	case x < t.Malformed:
		return []Line{{Text: d.damage(first.Text), Kind: KindMalformed, Lag: d.Lag}}
	case x < t.Malformed+t.Repeat && d.Numbered:
		return []Line{first, {Text: first.Text, Kind: KindRepeat, Misread: first.Misread, Dropped: first.Dropped, Lag: d.Lag}}
	case x < t.Malformed+t.Repeat+t.Revise && d.Revises:
		info.revision++
		again := d.measure(h)
		return []Line{first, {Text: d.text(h, again, &info), Kind: KindRevision, Lag: 3 * d.Lag}}
	case x < t.Malformed+t.Repeat+t.Revise+t.Withdraw && d.Revises:
		info.revision++
		info.withdraw = true
		return []Line{first, {Text: d.text(h, values, &info), Kind: KindWithdrawn, Lag: 3 * d.Lag}}
	}
	return []Line{first}
}

// measure returns what the device sees of a hit, in the target frame: what it
// has a column for, with its error, where it is plausible at all.
func (d *Device) measure(h *Hit) map[event.Field]float64 {
	all := h.Values()
	out := map[event.Field]float64{}
	for _, c := range d.Columns {
		v, ok := all[c.field]
		if !ok {
			continue
		}
		v += c.bias + c.noise*d.r.NormFloat64()
		info, _ := c.field.Info()
		if info.Distance || info.Quantity == unit.Speed {
			v = max(v, info.Min)
		}
		if v >= info.Min && v <= info.Max {
			out[c.field] = v
		}
	}
	return out
}

// misread puts one value far off, and returns which.
func (d *Device) misread(values map[event.Field]float64) event.Field {
	for _, f := range []event.Field{event.Field_FIELD_SPIN_RATE, event.Field_FIELD_BACK_SPIN, event.Field_FIELD_SKID_DISTANCE,
		event.Field_FIELD_DYNAMIC_LOFT} {
		if v, ok := values[f]; ok {
			values[f] = v * 0.45
			if f == event.Field_FIELD_BACK_SPIN {
				values[event.Field_FIELD_SIDE_SPIN] *= 0.45
			}
			return f
		}
	}
	return event.Field_FIELD_NONE
}

// damage makes a line that is no valid shot.
func (d *Device) damage(text string) string {
	switch d.r.IntN(3) {
	case 0: // cut short, as when the power went
		return text[:len(text)/3]
	case 1:
		return "#!~ sensor restart " + fmt.Sprint(d.r.IntN(1000))
	default: // two lines in one
		return text + text
	}
}

// side turns a value of the target frame into the device's own counting.
func (c *cell) side(v float64, left bool) float64 {
	if info, _ := c.field.Info(); info.Mirrors && c.handed && left {
		v = -v
	}
	if c.invert {
		v = -v
	}
	return v
}

func (d *Device) converter(c *cell) unit.Converter {
	if d.conv == nil {
		d.conv = map[string]unit.Converter{}
	}
	key := fmt.Sprint(c.field, c.unit)
	if conv, ok := d.conv[key]; ok {
		return conv
	}
	info, _ := c.field.Info()
	conv, err := unit.Lookup(info.Quantity, c.unit)
	if err != nil {
		panic("sim: " + d.Name + ": " + err.Error()) // a table of this package; a test reads all of it
	}
	d.conv[key] = conv
	return conv
}

// plausible says whether every number is finite; a device writes no others.
func plausible(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// Models returns the invented devices.
func Models() []*Model { return slices.Clone(models) }

// ModelNamed finds a device by the name in its field map.
func ModelNamed(name string) (*Model, error) {
	var names []string
	for _, m := range models {
		if m.Name == name {
			return m, nil
		}
		names = append(names, m.Name)
	}
	return nil, fmt.Errorf("no simulated device writes for a map of device %q: there are %v", name, names)
}
