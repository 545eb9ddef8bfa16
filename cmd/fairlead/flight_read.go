package main

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
)

// flightShot is one shot read from stdin or the flags.
type flightShot struct {
	line     int
	id       string
	launch   flight.Launch
	measured *float64 // carry in m
	err      error    // why the row cannot be used
}

// flightFields are the columns that shots may have.
var flightFields = map[string]unit.Quantity{
	"ball_speed": unit.Speed, "launch": unit.Angle, "direction": unit.Angle,
	"spin": unit.Rotation, "axis": unit.Angle, "measured_carry": unit.Length,
}

// flightColumn is a column of the header: which field, and the unit of its
// values unless a value says its own.
type flightColumn struct {
	field string // "" for a column that is none of ours
	unit  string
}

// flightColumnOf reads a column's name: a field, alone or followed by its unit
// after an underscore or in brackets.
func flightColumnOf(name string) (flightColumn, error) {
	plain := strings.ToLower(strings.TrimSpace(strings.TrimPrefix(name, "\ufeff")))
	plain = strings.NewReplacer(" ", "_", "(", "", ")", "", "[", "", "]", "").Replace(plain)
	if plain == "id" {
		return flightColumn{field: "id"}, nil
	}
	for field, quantity := range flightFields {
		rest, ok := strings.CutPrefix(plain, field)
		if !ok || rest != "" && rest[0] != '_' {
			continue
		}
		name := strings.TrimPrefix(rest, "_")
		if name == "angle" || name == "rate" || strings.HasPrefix(name, "angle_") || strings.HasPrefix(name, "rate_") {
			_, name, _ = strings.Cut(name, "_")
		}
		if _, err := unit.Lookup(quantity, name); err != nil {
			return flightColumn{}, fmt.Errorf("column %q: %w", plain, err)
		}
		return flightColumn{field, name}, nil
	}
	return flightColumn{}, nil
}

// set puts a value of a column into the shot; an empty one leaves it.
func (s *flightShot) set(col flightColumn, text string) error {
	text = strings.TrimSpace(text)
	if text == "" || col.field == "" {
		return nil
	}
	if col.field == "id" {
		s.id = text
		return nil
	}
	if last := text[len(text)-1]; last >= '0' && last <= '9' || last == '.' { // no unit of its own
		text += col.unit
	}
	v, err := unit.Parse(flightFields[col.field], text)
	if err != nil {
		return fmt.Errorf("%s: %w", col.field, err)
	}
	switch col.field {
	case "ball_speed":
		s.launch.BallSpeed = v
	case "launch":
		s.launch.Angle = v
	case "direction":
		s.launch.Direction = v
	case "spin":
		s.launch.SpinRate = v
	case "axis":
		s.launch.SpinAxis = v
	case "measured_carry":
		s.measured = &v
	}
	return nil
}

// readFlightShots reads CSV with a header, or one JSON object a line: what
// starts with a brace is JSON. A row that cannot be read carries its error.
func readFlightShots(r io.Reader) ([]flightShot, error) {
	in := bufio.NewReader(r)
	for {
		b, err := in.ReadByte()
		if errors.Is(err, io.EOF) {
			return nil, &usageError{errors.New("stdin holds no shots: give a CSV header and rows, one JSON object a line, or --ball-speed")}
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
			return readFlightLines(in)
		}
		return readFlightCSV(in)
	}
}

func readFlightCSV(r io.Reader) ([]flightShot, error) {
	in := csv.NewReader(r)
	in.FieldsPerRecord = -1
	in.TrimLeadingSpace = true
	header, err := in.Read()
	if err != nil {
		return nil, &exitError{1, fmt.Errorf("shots: header: %w", err)}
	}
	columns := make([]flightColumn, len(header))
	have := map[string]bool{}
	for i, name := range header {
		if columns[i], err = flightColumnOf(name); err != nil {
			return nil, &exitError{1, fmt.Errorf("shots: line 1: %w", err)}
		}
		if f := columns[i].field; f != "" && have[f] {
			return nil, &exitError{1, fmt.Errorf("shots: line 1: column %s is there twice", f)}
		}
		have[columns[i].field] = true
	}
	if missing := missingFlightFields(have); missing != "" {
		return nil, &exitError{1, fmt.Errorf("shots: line 1 has no column %s: the header needs ball_speed, launch and spin", missing)}
	}
	var shots []flightShot
	for {
		record, err := in.Read()
		if errors.Is(err, io.EOF) {
			return shots, nil
		}
		var s flightShot
		if err != nil {
			var parse *csv.ParseError
			if !errors.As(err, &parse) {
				return nil, fmt.Errorf("shots: %w", err)
			}
			s.line, s.err = parse.StartLine, parse.Err
			shots = append(shots, s)
			continue
		}
		s.line, _ = in.FieldPos(0)
		given := map[string]bool{}
		for i, text := range record {
			if i >= len(columns) {
				break
			}
			if strings.TrimSpace(text) != "" {
				given[columns[i].field] = true
			}
			if err := s.set(columns[i], text); err != nil && s.err == nil {
				s.err = err
			}
		}
		if missing := missingFlightFields(given); missing != "" && s.err == nil {
			s.err = fmt.Errorf("no %s", missing)
		}
		shots = append(shots, s)
	}
}

// missingFlightFields names the first field that a shot cannot do without.
func missingFlightFields(have map[string]bool) string {
	for _, f := range []string{"ball_speed", "launch", "spin"} {
		if !have[f] {
			return f
		}
	}
	return ""
}

func readFlightLines(r io.Reader) ([]flightShot, error) {
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, 1<<20)
	var shots []flightShot
	for n := 1; lines.Scan(); n++ {
		text := strings.TrimSpace(lines.Text())
		if text == "" {
			continue
		}
		s := flightShot{line: n}
		s.err = s.fromJSON(text)
		shots = append(shots, s)
	}
	if err := lines.Err(); err != nil {
		return nil, &exitError{1, fmt.Errorf("shots: %w", err)}
	}
	return shots, nil
}

// fromJSON reads one object, whose keys are named as CSV columns are.
func (s *flightShot) fromJSON(text string) error {
	var object map[string]json.RawMessage
	if err := json.Unmarshal([]byte(text), &object); err != nil {
		return fmt.Errorf("not a JSON object: %w", err)
	}
	have := map[string]bool{}
	for key, raw := range object {
		col, err := flightColumnOf(key)
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
	if missing := missingFlightFields(have); missing != "" {
		return fmt.Errorf("no %s", missing)
	}
	return nil
}

// isTerminal says whether somebody would have to type the input.
func isTerminal(r io.Reader) bool {
	f, ok := r.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// flagText joins flags for people.
func flagText(flags []string) string { return strings.Join(flags, " ") }
