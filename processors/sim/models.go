package sim

import (
	"embed"
	"fmt"
	"strconv"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

//go:embed maps/*.yaml
var mapFiles embed.FS

// MapFile returns the field map of a device, as a YAML file.
func MapFile(device string) ([]byte, error) {
	data, err := mapFiles.ReadFile("maps/" + device + ".yaml")
	if err != nil {
		return nil, fmt.Errorf("field map of device %q: %w", device, err)
	}
	return data, nil
}

const (
	mph = unit.MPH
)

// ordinaryTroubles are those of a device that is looked after.
var ordinaryTroubles = Troubles{Dropout: 0.012, Misread: 0.008, Repeat: 0.006, Revise: 0.01, Withdraw: 0.004, Malformed: 0.006}

var models = []*Model{larch(), hazel(), sorrel(), cinder(), shoal()}

func constant(text string) func(*line) string { return func(*line) string { return text } }

func larch() *Model {
	return &Model{
		Name: "larch", Role: event.Role_ROLE_BALL, Numbered: true, Lag: 60 * time.Millisecond, Clock: -420 * time.Millisecond,
		Troubles: ordinaryTroubles,
		Style:    style{delimiter: ",", header: true, missing: "-"},
		Columns: []cell{
			{name: "Session", text: func(l *line) string { return l.session }},
			{name: "Shot", text: func(l *line) string { return strconv.Itoa(l.shot) }},
			{name: "Date", text: func(l *line) string { return l.at.UTC().Format("2006-01-02") }},
			{name: "Time", text: func(l *line) string { return l.at.UTC().Format("15:04:05.000") }},
			{name: "Club", text: func(l *line) string { return l.club }},
			{name: "Ball (mph)", field: event.Field_FIELD_BALL_SPEED, unit: "mph", decimals: 1, noise: 0.25 * mph},
			{name: "Launch (deg)", field: event.Field_FIELD_LAUNCH_ANGLE, unit: "deg", decimals: 1, noise: 0.2},
			{name: "Start (deg)", field: event.Field_FIELD_LAUNCH_DIRECTION, unit: "deg", decimals: 1, noise: 0.2, letters: true},
			{name: "Spin (rpm)", field: event.Field_FIELD_SPIN_RATE, unit: "rpm", noise: 60},
			{name: "Axis (deg)", field: event.Field_FIELD_SPIN_AXIS, unit: "deg", decimals: 1, noise: 0.8, letters: true},
			{name: "Carry (yd)", field: event.Field_FIELD_CARRY, unit: "yd", decimals: 1, noise: 0.8},
			{name: "Side (yd)", field: event.Field_FIELD_OFFLINE, unit: "yd", decimals: 1, noise: 0.6, letters: true},
			{name: "Apex (ft)", field: event.Field_FIELD_APEX, unit: "ft", decimals: 0, noise: 0.3},
			{name: "Descent (deg)", field: event.Field_FIELD_LANDING_ANGLE, unit: "deg", decimals: 1, noise: 0.4},
			{name: "Hang (s)", field: event.Field_FIELD_HANG_TIME, unit: "s", decimals: 2, noise: 0.03},
			{name: "Temp (F)", text: constant("68.0")},
			{name: "Baro (inHg)", text: constant("29.92")},
		},
	}
}

func hazel() *Model {
	return &Model{
		Name: "hazel", Role: event.Role_ROLE_CLUB, Numbered: true, Lag: 190 * time.Millisecond, Clock: 350 * time.Millisecond,
		Troubles: Troubles{Dropout: 0.02, Misread: 0.004, Repeat: 0.004, Malformed: 0.004},
		Style:    style{ndjson: true},
		Columns: []cell{
			{name: "n", text: func(l *line) string { return quoted(l.session + "." + strconv.Itoa(l.shot)) }},
			{name: "t", text: func(l *line) string { return strconv.FormatInt(l.at.UnixMilli(), 10) }},
			{name: "fw", text: constant(`"0.9.4"`)},
			{name: "club.speed", field: event.Field_FIELD_CLUBHEAD_SPEED, unit: "mph", decimals: 1, noise: 0.4 * mph},
			{name: "club.attack", field: event.Field_FIELD_ATTACK_ANGLE, unit: "deg", decimals: 1, noise: 0.3},
			{name: "club.path", field: event.Field_FIELD_CLUB_PATH, unit: "deg", decimals: 1, noise: 0.3, handed: true},
			{name: "club.face", field: event.Field_FIELD_FACE_ANGLE, unit: "deg", decimals: 1, noise: 0.4, handed: true},
			{name: "club.face_to_path", field: event.Field_FIELD_FACE_TO_PATH, unit: "deg", decimals: 1, noise: 0.4, handed: true},
			{name: "club.loft", field: event.Field_FIELD_DYNAMIC_LOFT, unit: "deg", decimals: 1, noise: 0.4},
			{name: "strike.toe", field: event.Field_FIELD_STRIKE_X, unit: "mm", decimals: 0, noise: 0.001},
			{name: "strike.up", field: event.Field_FIELD_STRIKE_Y, unit: "mm", decimals: 0, noise: 0.001},
		},
	}
}

func sorrel() *Model {
	return &Model{
		Name: "sorrel", Role: event.Role_ROLE_BALL, Lag: 90 * time.Millisecond, Clock: 1100 * time.Millisecond, Troubles: ordinaryTroubles,
		Style: style{delimiter: ";", header: true, comma: true, missing: "--"},
		Columns: []cell{
			{name: "When", text: func(l *line) string { return l.at.UTC().Format("02.01.2006 15:04:05,000") }},
			{name: "Head km/h", field: event.Field_FIELD_CLUBHEAD_SPEED, unit: "km/h", decimals: 1, noise: 0.2},
			{name: "Ball km/h", field: event.Field_FIELD_BALL_SPEED, unit: "km/h", decimals: 1, noise: 0.15},
			{name: "Smash", field: event.Field_FIELD_SMASH_FACTOR, decimals: 2, noise: 0.005},
			{name: "Attack", field: event.Field_FIELD_ATTACK_ANGLE, unit: "deg", decimals: 1, noise: 0.3},
			{name: "Path", field: event.Field_FIELD_CLUB_PATH, unit: "deg", decimals: 1, noise: 0.35, handed: true},
			{name: "Face", field: event.Field_FIELD_FACE_ANGLE, unit: "deg", decimals: 1, noise: 0.35, handed: true},
			{name: "Dyn loft", field: event.Field_FIELD_DYNAMIC_LOFT, unit: "deg", decimals: 1, noise: 0.4},
			{name: "Launch", field: event.Field_FIELD_LAUNCH_ANGLE, unit: "deg", decimals: 1, noise: 0.15},
			{name: "Start", field: event.Field_FIELD_LAUNCH_DIRECTION, unit: "deg", decimals: 1, noise: 0.15, handed: true},
			{name: "Spin", field: event.Field_FIELD_SPIN_RATE, unit: "rpm", noise: 90},
			{name: "Axis", field: event.Field_FIELD_SPIN_AXIS, unit: "deg", decimals: 1, noise: 1, handed: true},
			{name: "Carry m", field: event.Field_FIELD_CARRY, unit: "m", decimals: 1, noise: 0.9, bias: 0.8},
			{name: "Off m", field: event.Field_FIELD_OFFLINE, unit: "m", decimals: 1, noise: 0.7, handed: true},
			{name: "Total m", field: event.Field_FIELD_TOTAL, unit: "m", decimals: 1, noise: 1.5},
			{name: "Apex m", field: event.Field_FIELD_APEX, unit: "m", decimals: 1, noise: 0.3},
			{name: "Land", field: event.Field_FIELD_LANDING_ANGLE, unit: "deg", decimals: 1, noise: 0.5},
			{name: "Toe mm", field: event.Field_FIELD_STRIKE_X, unit: "mm", decimals: 0, noise: 0.0012},
			{name: "Up mm", field: event.Field_FIELD_STRIKE_Y, unit: "mm", decimals: 0, noise: 0.0012},
		},
	}
}

func cinder() *Model {
	return &Model{
		Name: "cinder", Role: event.Role_ROLE_BALL, Numbered: true, Revises: true, Lag: 140 * time.Millisecond, Clock: -80 * time.Millisecond,
		Troubles: ordinaryTroubles,
		Style:    style{ndjson: true},
		Columns: []cell{
			{name: "id", text: func(l *line) string { return quoted("c-" + l.session + "-" + strconv.Itoa(l.shot)) }},
			{name: "rev", text: func(l *line) string { return strconv.Itoa(l.revision) }},
			{name: "state", text: func(l *line) string {
				if l.withdraw {
					return `"void"`
				}
				return `"ok"`
			}},
			{name: "at", text: func(l *line) string { return quoted(l.at.UTC().Format("2006-01-02T15:04:05.000Z07:00")) }},
			{name: "club.name", text: func(l *line) string { return quoted(l.club) }},
			{name: "club.v", field: event.Field_FIELD_CLUBHEAD_SPEED, unit: "ft/s", decimals: 2, noise: 0.12},
			{name: "club.attack", field: event.Field_FIELD_ATTACK_ANGLE, unit: "deg", decimals: 2, noise: 0.2},
			{name: "club.path", field: event.Field_FIELD_CLUB_PATH, unit: "deg", decimals: 2, noise: 0.25, invert: true},
			{name: "club.face", field: event.Field_FIELD_FACE_ANGLE, unit: "deg", decimals: 2, noise: 0.25, invert: true},
			{name: "club.loft", field: event.Field_FIELD_DYNAMIC_LOFT, unit: "rad", decimals: 4, noise: 0.3},
			{name: "ball.kind", text: constant(`"premium"`)},
			{name: "ball.v", field: event.Field_FIELD_BALL_SPEED, unit: "ft/s", decimals: 2, noise: 0.1},
			{name: "ball.launch", field: event.Field_FIELD_LAUNCH_ANGLE, unit: "deg", decimals: 2, noise: 0.12},
			{name: "ball.side", field: event.Field_FIELD_LAUNCH_DIRECTION, unit: "deg", decimals: 2, noise: 0.12, invert: true},
			{name: "ball.back", field: event.Field_FIELD_BACK_SPIN, unit: "rpm", noise: 45},
			{name: "ball.sidespin", field: event.Field_FIELD_SIDE_SPIN, unit: "rpm", noise: 45, invert: true},
			{name: "flight.carry", field: event.Field_FIELD_CARRY, unit: "ft", decimals: 1, noise: 0.6, bias: -0.5},
			{name: "flight.side", field: event.Field_FIELD_OFFLINE, unit: "ft", decimals: 1, noise: 0.5, invert: true},
			{name: "flight.land", field: event.Field_FIELD_LANDING_ANGLE, unit: "deg", decimals: 1, noise: 0.3},
			{name: "strike.x", field: event.Field_FIELD_STRIKE_X, unit: "in", decimals: 2, noise: 0.0008},
			{name: "strike.y", field: event.Field_FIELD_STRIKE_Y, unit: "in", decimals: 2, noise: 0.0008},
		},
	}
}

func shoal() *Model {
	return &Model{
		Name: "shoal", Role: event.Role_ROLE_ROLL, Lag: 40 * time.Millisecond,
		Troubles: Troubles{Dropout: 0.01, Misread: 0.005, Malformed: 0.006},
		Style:    style{delimiter: "\t", missing: "n/a"},
		Columns: []cell{
			{name: "1", field: event.Field_FIELD_BALL_SPEED, unit: "ft/s", decimals: 2, noise: 0.01},
			{name: "2", field: event.Field_FIELD_LAUNCH_DIRECTION, unit: "deg", decimals: 2, noise: 0.08},
			{name: "3", field: event.Field_FIELD_LAUNCH_ANGLE, unit: "deg", decimals: 2, noise: 0.15},
			{name: "4", field: event.Field_FIELD_SKID_DISTANCE, unit: "in", decimals: 1, noise: 0.008},
			{name: "5", field: event.Field_FIELD_FORWARD_ROLL, unit: "rpm", decimals: 0, noise: 5},
			{name: "6", field: event.Field_FIELD_ROLL_SPEED, unit: "ft/s", decimals: 2, noise: 0.01},
			{name: "7", field: event.Field_FIELD_PUTT_DISTANCE, unit: "ft", decimals: 2, noise: 0.03},
			{name: "8", field: event.Field_FIELD_STROKE_ROTATION, unit: "deg", decimals: 1, noise: 0.3},
		},
	}
}

// ModelNames lists the devices by name.
func ModelNames() (out []string) {
	for _, m := range Models() {
		out = append(out, m.Name)
	}
	return out
}
