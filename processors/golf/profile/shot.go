package profile

import (
	"fmt"
	"math"
)

// Opt is a value that may not have been measured; the zero Opt is unmeasured.
type Opt struct {
	V     float64
	Known bool
}

// Some is a measured value.
func Some(v float64) Opt { return Opt{v, true} }

func (o Opt) negated() Opt {
	if o.Known {
		o.V = -o.V
	}
	return o
}

// Shot is what one shot says about the swing: SI, degrees, positive right,
// strike toward the toe and up. Any field may be unmeasured.
type Shot struct {
	Speed       Opt // m/s, clubhead speed
	Attack      Opt // deg, attack angle, positive upward
	Path        Opt // deg, club path
	Face        Opt // deg, face angle
	FaceToPath  Opt // deg; taken as face − path where only those are measured
	DynamicLoft Opt // deg
	StrikeX     Opt // m from the face's geometric centre, toe positive
	StrikeY     Opt // m, up positive
	Tempo       Opt // backswing time over downswing time
}

// Handed returns the shot as a right-hander's: for a left-hander path, face
// and face to path are mirrored. It also completes face to path from face and
// path, or face from path and face to path.
func (s Shot) Handed(left bool) Shot {
	if left {
		s.Path, s.Face, s.FaceToPath = s.Path.negated(), s.Face.negated(), s.FaceToPath.negated()
	}
	switch {
	case !s.FaceToPath.Known && s.Face.Known && s.Path.Known:
		s.FaceToPath = Some(s.Face.V - s.Path.V)
	case !s.Face.Known && s.FaceToPath.Known && s.Path.Known:
		s.Face = Some(s.Path.V + s.FaceToPath.V)
	}
	return s
}

// ShotError says which field of which shot cannot be right. Shot counts from
// 1, as a person counts lines; 0 is not about a shot.
type ShotError struct {
	Shot   int
	Field  string
	Reason string
	Try    string
}

func (e *ShotError) Error() string {
	where := e.Field
	if e.Shot > 0 {
		where = fmt.Sprintf("shot %d: %s", e.Shot, e.Field)
	}
	return fmt.Sprintf("%s: %s; %s", where, e.Reason, e.Try)
}

// at is where the quantity of a term stands; nil for the strike's scatter, which is of all
// shots, not of one.
func (s *Shot) at(t Term) *Opt {
	switch t {
	case Speed:
		return &s.Speed
	case Attack:
		return &s.Attack
	case Path:
		return &s.Path
	case Face:
		return &s.Face
	case FaceToPath:
		return &s.FaceToPath
	case DynamicLoft:
		return &s.DynamicLoft
	case StrikeX:
		return &s.StrikeX
	case StrikeY:
		return &s.StrikeY
	case Tempo:
		return &s.Tempo
	}
	return nil
}

// get returns the quantity of a term.
func (s Shot) get(t Term) Opt {
	if v := s.at(t); v != nil {
		return *v
	}
	return Opt{}
}

// Set takes a measured quantity of a term; of the strike's scatter nothing.
func (s *Shot) Set(t Term, measured float64) {
	if v := s.at(t); v != nil {
		*v = Some(measured)
	}
}

// check refuses a shot that no swing makes; number is its line.
func (s Shot) check(number int) error {
	for _, t := range Terms() {
		v := s.get(t)
		f := facts[t]
		switch {
		case !v.Known || t == StrikeScatter:
		case math.IsNaN(v.V) || math.IsInf(v.V, 0):
			return &ShotError{number, string(t), "is no number", "leave it out where it was not measured"}
		case v.V < f.low || v.V > f.high:
			return &ShotError{number, string(t), fmt.Sprintf("%.4g %s is outside %g to %g", v.V, f.unit, f.low, f.high),
				"check the unit and the sign of the column"}
		}
	}
	return nil
}
