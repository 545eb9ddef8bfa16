package flight

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"fairlead/ingest/contract/unit"
)

// Shot is one launch that somebody asks about.
type Shot struct {
	Line     int // of the input, 0 where there is none
	ID       string
	Launch   Launch
	Measured *float64 // carry in m
	Err      error    // why the row cannot be used
}

// shotFields are the columns that shots may have.
var shotFields = map[string]unit.Quantity{
	"ball_speed": unit.Speed, "launch": unit.Angle, "direction": unit.Angle,
	"spin": unit.Rotation, "axis": unit.Angle, "measured_carry": unit.Length,
}

// shotColumn is a column of the header: which field, and the unit of its
// values unless a value says its own.
type shotColumn struct {
	field string // "" for a column that is none of ours
	unit  string
}

// shotColumnOf reads a column's name: a field, alone or followed by its unit
// after an underscore or in brackets.
func shotColumnOf(name string) (shotColumn, error) {
	plain := strings.ToLower(strings.TrimSpace(strings.TrimPrefix(name, "\ufeff")))
	plain = strings.NewReplacer(" ", "_", "(", "", ")", "", "[", "", "]", "").Replace(plain)
	if plain == "id" {
		return shotColumn{field: "id"}, nil
	}
	for field, quantity := range shotFields {
		rest, ok := strings.CutPrefix(plain, field)
		if !ok || rest != "" && rest[0] != '_' {
			continue
		}
		name := strings.TrimPrefix(rest, "_")
		if name == "angle" || name == "rate" || strings.HasPrefix(name, "angle_") || strings.HasPrefix(name, "rate_") {
			_, name, _ = strings.Cut(name, "_")
		}
		if _, err := unit.Lookup(quantity, name); err != nil {
			return shotColumn{}, fmt.Errorf("column %q: %w", plain, err)
		}
		return shotColumn{field, name}, nil
	}
	return shotColumn{}, nil
}

// set puts a value of a column into the shot; an empty one leaves it.
func (s *Shot) set(col shotColumn, text string) error {
	text = strings.TrimSpace(text)
	if text == "" || col.field == "" {
		return nil
	}
	if col.field == "id" {
		s.ID = text
		return nil
	}
	if last := text[len(text)-1]; last >= '0' && last <= '9' || last == '.' { // no unit of its own
		text += col.unit
	}
	v, err := unit.Parse(shotFields[col.field], text)
	if err != nil {
		return fmt.Errorf("%s: %w", col.field, err)
	}
	switch col.field {
	case "ball_speed":
		s.Launch.BallSpeed = v
	case "launch":
		s.Launch.Angle = v
	case "direction":
		s.Launch.Direction = v
	case "spin":
		s.Launch.SpinRate = v
	case "axis":
		s.Launch.SpinAxis = v
	case "measured_carry":
		s.Measured = &v
	}
	return nil
}

// ReadShots reads CSV with a header, or one JSON object a line: what
// starts with a brace is JSON. A row that cannot be read carries its error.
func ReadShots(r io.Reader) ([]Shot, error) {
	in := bufio.NewReader(r)
	for {
		b, err := in.ReadByte()
		if errors.Is(err, io.EOF) {
			return nil, ErrNoShots
		}
		if err != nil {
			return nil, fmt.Errorf("shots: %w", err)
		}
		if b == ' ' || b == '\n' || b == '\r' || b == '\t' {
			continue
		}
		if err := in.UnreadByte(); err != nil {
			return nil, fmt.Errorf("shots: %w", err)
		}
		if b == '{' {
			return readShotLines(in)
		}
		return readShotTable(in)
	}
}

func readShotTable(r io.Reader) ([]Shot, error) {
	in := csv.NewReader(r)
	in.FieldsPerRecord = -1
	in.TrimLeadingSpace = true
	header, err := in.Read()
	if err != nil {
		return nil, fmt.Errorf("shots: header: %w", err)
	}
	columns := make([]shotColumn, len(header))
	have := map[string]bool{}
	for i, name := range header {
		if columns[i], err = shotColumnOf(name); err != nil {
			return nil, fmt.Errorf("shots: line 1: %w", err)
		}
		if f := columns[i].field; f != "" && have[f] {
			return nil, fmt.Errorf("shots: line 1: column %s is there twice", f)
		}
		have[columns[i].field] = true
	}
	if missing := missingShotFields(have); missing != "" {
		return nil, fmt.Errorf("shots: line 1 has no column %s: the header needs ball_speed, launch and spin", missing)
	}
	var shots []Shot
	for {
		record, err := in.Read()
		if errors.Is(err, io.EOF) {
			return shots, nil
		}
		var s Shot
		if err != nil {
			var parse *csv.ParseError
			if !errors.As(err, &parse) {
				return nil, fmt.Errorf("shots: %w", err)
			}
			s.Line, s.Err = parse.StartLine, parse.Err
			shots = append(shots, s)
			continue
		}
		s.Line, _ = in.FieldPos(0)
		given := map[string]bool{}
		for i, text := range record {
			if i >= len(columns) {
				break
			}
			if strings.TrimSpace(text) != "" {
				given[columns[i].field] = true
			}
			if err := s.set(columns[i], text); err != nil && s.Err == nil {
				s.Err = err
			}
		}
		if missing := missingShotFields(given); missing != "" && s.Err == nil {
			s.Err = fmt.Errorf("no %s", missing)
		}
		shots = append(shots, s)
	}
}

// missingShotFields names the first field that a shot cannot do without.
func missingShotFields(have map[string]bool) string {
	for _, f := range []string{"ball_speed", "launch", "spin"} {
		if !have[f] {
			return f
		}
	}
	return ""
}

func readShotLines(r io.Reader) ([]Shot, error) {
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, 1<<20)
	var shots []Shot
	for n := 1; lines.Scan(); n++ {
		text := strings.TrimSpace(lines.Text())
		if text == "" {
			continue
		}
		s := Shot{Line: n}
		s.Err = s.fromJSON(text)
		shots = append(shots, s)
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("shots: %w", err)
	}
	return shots, nil
}

// fromJSON reads one object, whose keys are named as CSV columns are.
func (s *Shot) fromJSON(text string) error {
	var object map[string]json.RawMessage
	if err := json.Unmarshal([]byte(text), &object); err != nil {
		return fmt.Errorf("not a JSON object: %w", err)
	}
	have := map[string]bool{}
	for key, raw := range object {
		col, err := shotColumnOf(key)
		if err != nil {
			return err
		}
		if col.field == "" || string(raw) == "null" {
			continue
		}
		if have[col.field] {
			return fmt.Errorf("%s is there twice", col.field)
		}
		have[col.field] = true
		value := string(raw)
		var quoted string
		if json.Unmarshal(raw, &quoted) == nil {
			value = quoted
		}
		if err := s.set(col, value); err != nil {
			return err
		}
	}
	if missing := missingShotFields(have); missing != "" {
		return fmt.Errorf("no %s", missing)
	}
	return nil
}
