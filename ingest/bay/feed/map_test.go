package feed

import (
	"errors"
	"strings"
	"testing"
)

const goodMap = `map: 1
device: alder
role: ball
format: csv
shot_id: {column: No}
fields:
  carry: {column: Carry, unit: yd}
`

// TestBadMaps names, for each mistake, the line, the key and what to try.
func TestBadMaps(t *testing.T) {
	for name, c := range map[string]struct {
		old, new string
		line     int
		key      string
		says     string
	}{
		"unknown key":    {"role: ball", "role: ball\nrolle: ball", 4, "rolle", "use one of map, device"},
		"unknown subkey": {"unit: yd", "unit: yd, units: m", 7, "fields.carry.units", "column, constant, unit"},
		"version":        {"map: 1", "map: 2", 1, "map", "map: 1"},
		"device":         {"alder", "Alder One", 2, "device", "a-z"},
		"role":           {"ball", "bal", 3, "role", "ball, club"},
		"format":         {"format: csv", "format: toml", 4, "format", "csv, ndjson"},
		"encoding":       {"format: csv", "format: csv\nencoding: ascii", 5, "encoding", "windows-1252"},
		"missing part":   {"role: ball\n", "", 0, "role", "is missing"},
		"unknown field":  {"carry:", "carry_distance:", 7, "fields.carry_distance", "use one of carry, "},
		"no unit":        {", unit: yd", "", 7, "fields.carry", "yd"},
		"wrong unit":     {"unit: yd", "unit: mph", 7, "fields.carry.unit", "use one of"},
		"wrong type":     {"unit: yd", "unit: [yd]", 7, "fields.carry.unit", "not a text"},
		"no sides":       {"unit: yd", "unit: yd, sign: handed", 7, "fields.carry.sign", "no left and right"},
		"air of an angle": {"carry: {column: Carry, unit: yd}", "club_path: {column: P, unit: deg, air: adjusted}", 7, "fields.club_path.air",
			"distances only"},
		"letters":         {"unit: yd", "unit: yd, letters: {positive: R}", 7, "fields.carry.letters", "both positive and negative"},
		"equal letters":   {"unit: yd", "unit: yd, letters: {positive: R, negative: r}", 7, "fields.carry.letters", "same mark"},
		"column 0":        {"column: Carry", "column: Carry, constant: 4", 7, "fields.carry", "either column or constant"},
		"constant":        {"column: Carry", "constant: 4000", 7, "fields.carry.constant", "not plausible"},
		"name, no header": {"format: csv", "format: csv\ncsv: {header: false}", 6, "shot_id.column", "number from 1"},
		"csv of ndjson":   {"format: csv", "format: ndjson\ncsv: {skip: 1}", 5, "csv", "ndjson"},
		"delimiter":       {"format: csv", "format: csv\ncsv: {delimiter: ab}", 5, "csv.delimiter", "one character"},
		"thousands":       {"format: csv", "format: csv\nnumbers: {decimal: \",\", thousands: \",\"}", 5, "numbers.thousands", "decimal"},
		"zone": {"shot_id", "time: {column: T, layout: \"2006-01-02 15:04:05\", zone: Londn}\nshot_id", 5, "time.zone",
			"Europe/London"},
		"no zone":           {"shot_id", "time: {column: T, layout: \"2006-01-02 15:04:05\"}\nshot_id", 5, "time", "needs a zone"},
		"layout":            {"shot_id", "time: {column: T, layout: \"HH:mm:ss\", zone: UTC}\nshot_id", 5, "time.layout", "15:04:05"},
		"half-day layout":   {"shot_id", "time: {column: T, layout: \"2006-01-02 03:04:05\", zone: UTC}\nshot_id", 5, "time.layout", "15:04:05"},
		"nothing to count":  {"shot_id: {column: No}\n", "", 0, "shot_id", "scope: file"},
		"scope undecided":   {"{column: No}", "{}", 5, "shot_id", "scope: file"},
		"day without time":  {"{column: No}", "{column: No, scope: day}", 5, "shot_id", "time"},
		"deleted, no id":    {"shot_id: {column: No}", "shot_id: {scope: file}\ndeleted: {column: D, values: [x]}", 6, "deleted", "shot id"},
		"twice":             {"role: ball", "role: ball\nrole: club", 4, "", "already defined"},
		"syntax":            {"{column: No}", "{column: No", 6, "", "must be specified"},
		"list at the top":   {goodMap, "- 1", 1, "", "keys and values"},
		"empty":             {goodMap, "# nothing\n", 0, "", "empty"},
		"two documents":     {"fields:", "---\nfields:", 7, "", "second document"},
		"anchor":            {"column: Carry", "column: &c Carry", 7, "fields.carry.column", "not a text"},
		"fields is a value": {"fields:\n  carry: {column: Carry, unit: yd}", "fields: 3", 6, "fields", "keys and values"},
	} {
		text := strings.Replace(goodMap, c.old, c.new, 1)
		_, err := ParseMap("x.yaml", []byte(text))
		var bad *MapError
		if !errors.As(err, &bad) {
			t.Errorf("%s: error %v", name, err)
			continue
		}
		if bad.File != "x.yaml" || c.line != 0 && bad.Line != c.line || c.key != "" && bad.Key != c.key ||
			!strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v\n want line %d, key %q, %q", name, err, c.line, c.key, c.says)
		}
	}
	if _, err := ParseMap("x.yaml", []byte(goodMap)); err != nil {
		t.Errorf("the good map: %v", err)
	}
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		text      string
		decimal   rune
		thousands rune
		want      float64
		bad       bool
	}{
		{"1.5", '.', 0, 1.5, false}, {"-1.5e1", '.', 0, -15, false}, {"−2", '.', 0, -2, false}, {"+.5", '.', 0, .5, false},
		{"1,5", ',', 0, 1.5, false}, {"1.234,5", ',', '.', 1234.5, false}, {"1 234 567", '.', ' ', 1234567, false},
		{"12,345", '.', ',', 12345, false}, {"1'000", '.', '\'', 1000, false},
		{"1,5", '.', 0, 0, true}, {"1.5", ',', 0, 0, true}, {"155.4", ',', '.', 0, true}, {"1234.567,0", ',', '.', 0, true},
		{"1,23,456", '.', ',', 0, true}, {"nan", '.', 0, 0, true}, {"inf", '.', 0, 0, true}, {"0x1p3", '.', 0, 0, true},
		{"1e999", '.', 0, 0, true}, {"", '.', 0, 0, true}, {"-", '.', 0, 0, true}, {"1-2", '.', 0, 0, true}, {".", '.', ',', 0, true},
	} {
		got, err := numberStyle{decimal: c.decimal, thousands: c.thousands}.parse(c.text)
		if (err != nil) != c.bad || got != c.want {
			t.Errorf("%q with decimal %q thousands %q = %v, %v; want %v", c.text, c.decimal, c.thousands, got, err, c.want)
		}
	}
}
