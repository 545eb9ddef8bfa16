package profile

import (
	"fmt"
	"io"
	"strings"

	"fairlead/ingest/contract/unit"
	"fairlead/ingest/contract/unit/table"
)

var swingColumns = []table.Column{
	table.Of(unit.Speed, "speed", "head_speed", "club_speed", "clubhead_speed"),
	table.Of(unit.Angle, "attack", "attack_angle"),
	table.Of(unit.Angle, "path", "club_path"),
	table.Of(unit.Angle, "face", "face_angle"),
	table.Of(unit.Angle, "face_to_path"),
	table.Of(unit.Angle, "dynamic_loft"),
	table.Of(unit.Length, "strike_x"),
	table.Of(unit.Length, "strike_y"),
	table.Of(unit.Ratio, "tempo"),
}

// HalfError says that there is no such half.
type HalfError struct{ Half string }

func (e *HalfError) Error() string { return fmt.Sprintf("--half %q: use a or b", e.Half) }

// WrongUse marks what another command line mends.
func (*HalfError) WrongUse() {}

// ReadProfile reads swings, one row a shot, and describes them; half is a or b for
// only one half of the shots, which share none.
func ReadProfile(in io.Reader, name string, o Options, half string) (Profile, error) {
	rows, err := table.Read(in, name, swingColumns)
	if err != nil {
		return Profile{}, err
	}
	shots := make([]Shot, len(rows))
	for i, r := range rows {
		opt := func(column string) Opt { return Opt{V: r.Cells[column].V, Known: r.Cells[column].Known} }
		shots[i] = Shot{Speed: opt("speed"), Attack: opt("attack"), Path: opt("path"), Face: opt("face"), FaceToPath: opt("face_to_path"),
			DynamicLoft: opt("dynamic_loft"), StrikeX: opt("strike_x"), StrikeY: opt("strike_y"), Tempo: opt("tempo")}
	}
	a, b := Split(len(shots))
	switch half {
	case "":
	case "a":
		o.Use = append([]int{}, a...)
	case "b":
		o.Use = append([]int{}, b...)
	default:
		return Profile{}, &HalfError{half}
	}
	p, err := FromShots(shots, o)
	if err != nil {
		return p, fmt.Errorf("%s: %w", name, err)
	}
	return p, nil
}

// ParseSetting reads what else differs at a later visit.
func ParseSetting(differs []string) (Setting, error) {
	var s Setting
	for _, d := range differs {
		switch strings.TrimSpace(d) {
		case "ball":
			s.Ball = true
		case "surface":
			s.Surface = true
		case "device":
			s.Device = true
		default:
			return s, fmt.Errorf("%q: use ball, surface or device", d)
		}
	}
	return s, nil
}
