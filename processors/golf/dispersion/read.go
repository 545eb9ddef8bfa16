package dispersion

import (
	"errors"
	"fmt"
	"io"

	"fairlead/ingest/contract/unit"
	"fairlead/ingest/contract/unit/table"
)

// columns are the columns that a file of shots may have, each with or
// without a unit behind its name (carry_m, carry_yd, ball_speed_mph).
var columns = []table.Column{
	table.Of(unit.Length, "carry"),
	table.Of(unit.Length, "offline"),
	table.Of(unit.Speed, "ball_speed"),
	table.Of(unit.Angle, "launch", "launch_angle"),
	table.Of(unit.Rotation, "spin", "spin_rate"),
	table.Of(unit.Angle, "landing", "landing_angle"),
	table.Of(unit.Length, "strike_x"),
	table.Of(unit.Length, "strike_y"),
	table.Of(unit.Angle, "start"),
	table.Of(unit.Ratio, "skid"),
	table.Of(unit.Ratio, "position"),
	table.Of(unit.Ratio, "instructions"),
	table.Words("trial"),
	table.Words("swing", "class"),
}

// ReadShots reads a file of shots; those of need have to be among its columns. See
// table.ReadPartial for what is left out and what is an error.
func ReadShots(in io.Reader, name string, need ...string) (*table.Partial, error) {
	return table.ReadPartial(in, name, columns, need...)
}

// landing is one file's shots with the lines they came from.
type landing struct {
	shots   []Shot
	lines   []int
	strikes []Strike
	swings  []string // names of the swing lengths, in order of appearance
	bySwing map[string][]Shot
}

// landings picks the shots with carry and offline out of a file; a row without
// them, or with a carry that is none, is rejected by its line.
func landings(file *table.Partial, left bool) landing {
	out := landing{bySwing: map[string][]Shot{}}
	for _, row := range file.Rows {
		carry, okC := row.Value("carry")
		offline, okO := row.Value("offline")
		if !okC || !okO {
			file.Reject(row.Line, "carry or offline is empty")
			continue
		}
		s := Shot{Carry: carry, Offline: offline}
		if err := s.Check(0); err != nil {
			file.Reject(row.Line, "%s", reasonOf(err))
			continue
		}
		x, okX := row.Value("strike_x")
		y, okY := row.Value("strike_y")
		strike := Strike{X: x, Y: y}
		if _, err := SummariseStrikes([]Strike{strike}, 0.95); err != nil {
			file.Reject(row.Line, "%s", reasonOf(err))
			continue
		}
		s = Handed([]Shot{s}, left)[0]
		out.shots, out.lines = append(out.shots, s), append(out.lines, row.Line)
		if okX && okY {
			out.strikes = append(out.strikes, strike)
		}
		if swing := row.Cells["swing"]; swing.Known {
			if _, seen := out.bySwing[swing.Text]; !seen {
				out.swings = append(out.swings, swing.Text)
			}
			out.bySwing[swing.Text] = append(out.bySwing[swing.Text], s)
		}
	}
	return out
}

// reasonOf words what is wrong with a shot, without its number: the line
// says that.
func reasonOf(err error) string {
	var bad *ShotError
	if errors.As(err, &bad) {
		return fmt.Sprintf("%s %g %s", bad.Field, bad.Value, bad.Reason)
	}
	return err.Error()
}
