package flight

import (
	"fmt"
	"io"

	"fairlead/ingest/contract/unit"
)

// Asked is what somebody asks of flights, as it is written down.
type Asked struct {
	BallSpeed, Launch, Direction, Spin, Axis *unit.Value
	Measured                                 *unit.Value // carry that a device measured
	Asking
}

// AskedError says what is missing or too much. Another command line mends it.
type AskedError struct{ Reason string }

func (e *AskedError) Error() string { return e.Reason }

// WrongUse says that another command line mends it.
func (e *AskedError) WrongUse() {}

// ErrNoShots is returned where the input holds none.
var ErrNoShots = &AskedError{"stdin holds no shots: give a CSV header and rows, one JSON object a line, or --ball-speed"}

// Shots are the one that was written down or, without a ball speed, those that in
// holds; in is nil where somebody would have to type them.
func (a *Asked) Shots(in io.Reader) ([]Shot, error) {
	switch {
	case a.Points != 0 && (a.Points < 2 || a.Points > 10_000):
		return nil, &AskedError{fmt.Sprintf("--path %d: give 2 to 10000 points", a.Points)}
	case a.BallSpeed.Given:
		s := Shot{Launch: Launch{
			BallSpeed: a.BallSpeed.V, Angle: a.Launch.V, Direction: a.Direction.V, SpinRate: a.Spin.V, SpinAxis: a.Axis.V,
		}}
		if a.Measured.Given {
			s.Measured = &a.Measured.V
		}
		return []Shot{s}, nil
	case unit.AnyGiven(a.Launch, a.Spin, a.Direction, a.Axis, a.Measured):
		return nil, &AskedError{"a shot needs --ball-speed too; without it shots are read from stdin"}
	case in == nil:
		return nil, &AskedError{"give --ball-speed, --launch and --spin, or shots as CSV or JSON lines on stdin"}
	}
	return ReadShots(in)
}
