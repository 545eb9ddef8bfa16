package feed

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"unicode/utf8"

	"fairlead/ingest/bay/sheet"
	"fairlead/ingest/contract/event"
)

// MapVersion is the version of the field map format that this program reads.
const MapVersion = 1

// Map is a field map: what the columns of one device mean. It is never changed
// after loading and may be used by any number of goroutines.
type Map struct {
	file    string
	version string // see Version
	device  string
	role    event.Role
	// Where one device writes strokes of several kinds, what a column says of each.
	roleSlot int // -1: all of one
	roles    map[string]event.Role
	preamble []preambleValue
	parts    []partValue
	expected []expectation
	ndjson   bool
	kind     string // csv | ndjson | json | xml | keys | text
	holder   string // xlsx | sqlite: a file that holds the table; empty: the file is the table
	sheet    string // xlsx: the sheet, or a pattern for several
	table    sheet.Table
	records  string // json: key of the list of shots; xml: name of a shot's element; keys: line, blank or file
	keys     keyStyle
	rows     []rowRule
	enc      encoding
	comment  []string
	missing  map[string]bool
	csv      csvStyle
	num      numberStyle
	cols     []column // the distinct columns that anything below reads
	fields   []fieldMap
	time     *timeMap
	id       []int // slots of the device's own shot id
	scope    string
	// scopeGiven: the map itself says within what a number is unique.
	scopeGiven bool
	revision   int // slot, -1 when not mapped
	deleted    int
	deletes    []string
	club       textMap
	firmware   textMap
	settings   []textMap
}

// Scopes within which a shot id, or the text of a line, names one shot.
const (
	scopeDevice = "device"
	scopeDay    = "day"
	scopeFile   = "file"
)

type csvStyle struct {
	delimiter rune
	quote     rune // 0: none
	header    bool
	skip      int
	units     bool  // a row of units follows the header
	widths    []int // columns of fixed width, in characters; nil: by delimiter
	multiline bool  // a quoted cell may hold line ends
	cells     int   // expected cells without a header; 0: any
	// Tables that are read as a whole, see plain.
	transposed bool        // a column is a shot
	long       *sheet.Long // a row is a value
	above      int         // lines before them
}

// column is a place in a line: by name, by index, or by path in NDJSON.
type column struct {
	name  string   // as in the map, for messages
	also  []string // folded: names it has in other versions
	match string   // folded name; "" when by index
	index int      // from 0; -1 by name
	path  []string // NDJSON
	need  bool     // a header without it can't be used
	above int      // from 1: the value of the preamble that it is; 0: none
	part  int      // from 1: the part of the line that it is; 0: none
}

// textMap is a text taken from a column, or a constant (slot -1).
type textMap struct {
	name     string
	slot     int
	constant string
}

// LoadMap reads a field map from a file. What is wrong with it is a *MapError.
func LoadMap(path string) (*Map, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, &MapError{File: path, Reason: "cannot be read: " + err.Error(), Hint: "check the path and the permissions"}
	}
	return ParseMap(path, data)
}

// ParseMap reads a field map, and reads the lines with it that the map itself
// expects something of; file is its name in errors. What is wrong with it is a
// *MapError, or several of them joined, in the order of the file: a map is
// corrected in one go.
func ParseMap(file string, data []byte) (*Map, error) {
	if !utf8.Valid(data) {
		return nil, &MapError{File: file, Reason: "is not UTF-8 text", Hint: "save the map as UTF-8"}
	}
	root, err := parseYAML(file, data)
	if err != nil {
		return nil, err
	}
	w := wrongs{without: root.without}
	for {
		m, err := parseMap(root, MapVersionOf(data))
		if err == nil && len(w.said) == 0 {
			err = m.checkExpected()
			w.take(err)
		}
		if err == nil || !w.take(err) {
			return m.unless(w.joined())
		}
	}
}

// unless is the map where nothing is wrong with it.
func (m *Map) unless(err error) (*Map, error) {
	if err != nil {
		return nil, err
	}
	return m, nil
}

// parseMap reads a map from its root, without what was found wrong before.
func parseMap(root node, version string) (*Map, error) {
	k, err := root.keys(allowed("")...)
	if err != nil {
		return nil, err
	}
	m := &Map{file: root.file, version: version, missing: map[string]bool{"": true}, csv: csvStyle{delimiter: ',', quote: '"', header: true},
		num: numberStyle{decimal: '.'}, revision: -1, deleted: -1, roleSlot: -1, scope: scopeDevice}
	var wrong []error
	for _, key := range []string{"map", "device", "role", "format", "fields"} {
		if _, ok := k[key]; !ok && !root.without[key] {
			wrong = append(wrong, &MapError{File: m.file, Key: key, Reason: "is missing", Hint: "a map needs map, device, role, format and fields"})
		}
	}
	if len(wrong) > 0 {
		return nil, errors.Join(wrong...)
	}
	if n, ok := k["map"]; ok {
		if _, err := n.integer(MapVersion, MapVersion); err != nil {
			wrong = append(wrong, n.bad("is not a version that this program reads", fmt.Sprintf("write `map: %d`", MapVersion)))
		}
	}
	for _, step := range []func(map[string]node) error{
		m.readFormat, m.readPreamble, m.readParts, m.readDevice, m.readTexts, m.readIdentity, m.readRows, m.readFields, m.readExpected,
	} {
		if err := step(k); err != nil {
			wrong = append(wrong, err)
		}
	}
	if len(wrong) == 0 && len(root.without) == 0 {
		if err := m.checkWhole(k); err != nil {
			return nil, err
		}
	}
	return m, errors.Join(wrong...)
}

func (m *Map) readDevice(k map[string]node) (err error) {
	if n, ok := k["device"]; ok {
		if m.device, err = n.str(); err == nil && event.CheckName("device", m.device) != nil {
			err = n.bad("is not a device name", "use 1 to 32 of a-z, 0-9 and -, beginning with a letter or digit")
		}
	}
	if n, ok := k["role"]; ok {
		err = errors.Join(err, m.readRole(n))
	}
	return err
}

func (m *Map) readTexts(k map[string]node) (err error) {
	if n, ok := k["device_club"]; ok {
		if m.club, err = m.readText("device_club", n); err != nil {
			return err
		}
	}
	if n, ok := k["firmware"]; ok {
		if m.firmware, err = m.readText("firmware", n); err != nil {
			return err
		}
	}
	if n, ok := k["settings"]; ok {
		pairs, err := n.pairs()
		if err != nil {
			return err
		}
		for _, p := range pairs {
			t, err := m.readText(p.key, p.value)
			if err != nil {
				return err
			}
			m.settings = append(m.settings, t)
		}
	}
	return nil
}

func (m *Map) readText(name string, n node) (textMap, error) {
	t := textMap{name: name, slot: -1}
	k, err := n.keys(allowed("said")...)
	if err != nil {
		return t, err
	}
	if len(k) != 1 {
		return t, n.bad("needs either column or constant", "write {column: NAME} or {constant: TEXT}")
	}
	if c, ok := k["constant"]; ok {
		t.constant, err = c.str()
		return t, err
	}
	t.slot, err = m.slot(k["column"], false)
	return t, err
}

// slot returns the place of a column in m.cols, adding it when it is new.
func (m *Map) slot(n node, need bool) (int, error) {
	names := n.list()
	if len(names) == 0 {
		return -1, n.bad("names no column", "write one name, or a list of the names that it has")
	}
	at, err := m.slotNamed(names[0], need)
	if err != nil || len(names) == 1 {
		return at, err
	}
	for _, other := range names[1:] {
		name, err := other.str()
		if err != nil {
			return -1, err
		}
		m.cols[at].also = append(m.cols[at].also, strings.TrimSpace(name))
	}
	return at, nil
}

func (m *Map) slotNamed(n node, need bool) (int, error) {
	name, err := n.str()
	if err != nil {
		return -1, err
	}
	if name = strings.TrimSpace(name); name == "" {
		return -1, n.bad("a column without a name", "write the name as in the file's header, or its number from 1")
	}
	c := column{name: name, index: -1, need: need, above: m.above(name), part: m.part(name)}
	index, indexErr := n.integer(1, 4096)
	switch {
	case c.above > 0 || c.part > 0:
	case m.ndjson:
		c.path = strings.Split(name, ".")
	case indexErr == nil:
		c.index = index - 1
	case !m.csv.header:
		return -1, n.bad("is a name, and the file has no header", "write the column's number from 1, or `header: true` under csv")
	default:
		c.match = fold(name)
	}
	for i, have := range m.cols {
		if have.index == c.index && have.match == c.match && have.above == c.above && have.part == c.part && slices.Equal(have.path, c.path) {
			m.cols[i].need = have.need || need
			return i, nil
		}
	}
	m.cols = append(m.cols, c)
	return len(m.cols) - 1, nil
}

func (m *Map) slots(n node) (out []int, err error) {
	for _, item := range n.list() {
		s, err := m.slot(item, true)
		if err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	if len(out) == 0 {
		return nil, n.bad("names no column", "list at least one")
	}
	return out, nil
}

// checkWhole refuses maps whose parts are right alone and not together.
func (m *Map) checkWhole(k map[string]node) error {
	if len(m.fields) == 0 {
		return k["fields"].bad("maps no field", "name at least one, such as ball_speed")
	}
	if m.scope == scopeDay && m.time == nil {
		return k["shot_id"].bad("scope day needs the device's time", "add time, or use scope file")
	}
	if n, ok := k["shot_id"]; (!ok || m.scope == "") && m.time == nil && m.id == nil {
		if !ok {
			n = node{file: m.file, path: "shot_id"}
		}
		return n.bad("this device gives neither a time nor a number of its own, so equal lines must be told apart by rule",
			"write `shot_id: {scope: file}` (equal lines in two files are two shots; for values that repeat easily) or `{scope: device}` (a file "+
				"read again under another name is the same shots)")
	}
	if m.id == nil && (m.revision >= 0 || m.deleted >= 0) {
		key := "revision"
		if m.revision < 0 {
			key = "deleted"
		}
		return k[key].bad("needs the device's own shot id", "add shot_id, or the shot that is meant can't be known")
	}
	return nil
}

// Device is the device's name in the map.
func (m *Map) Device() string { return m.device }

// Version names the map's text: it stands in every entry that was read with
// it, so that what a corrected map changes can be found again.
func (m *Map) Version() string { return m.version }

// MapVersionOf is the version of a map's text.
func MapVersionOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:6])
}

// Role is what the device describes of a hit.
func (m *Map) Role() event.Role { return m.role }

// FieldInfo is what a map says of one field.
type FieldInfo struct {
	Info event.FieldInfo
	Unit string // as written in the map
}

// Fields lists what the map reads, in the order of the map.
func (m *Map) Fields() (out []FieldInfo) {
	for _, f := range m.fields {
		out = append(out, FieldInfo{f.info, f.unitName})
	}
	return out
}

// HasID says whether the device numbers its shots.
func (m *Map) HasID() bool { return m.id != nil }

// HasTime says whether the device gives a time.
func (m *Map) HasTime() bool { return m.time != nil }

// NeedsHeader says whether lines mean nothing without a header before them.
func (m *Map) NeedsHeader() bool { return !m.ndjson && m.csv.header }

// Column names the column or columns that a field, or device_time, shot_id,
// revision or deleted, is read from, for messages; "" when there is none.
func (m *Map) Column(field string) string {
	var slots []int
	switch field {
	case "device_time":
		if m.time != nil {
			slots = m.time.slots
		}
	case "shot_id":
		slots = m.id
	case "revision":
		slots = []int{m.revision}
	case "deleted":
		slots = []int{m.deleted}
	default:
		for _, f := range m.fields {
			if f.info.Name == field {
				slots = []int{f.slot}
			}
		}
	}
	var names []string
	for _, s := range slots {
		if s >= 0 {
			names = append(names, m.cols[s].name)
		}
	}
	return strings.Join(names, " + ")
}

func fold(s string) string { return strings.ToLower(strings.TrimSpace(s)) }
