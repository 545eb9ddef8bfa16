package window

import (
	"errors"
	"fmt"
	"math"

	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/impact"
)

// Goal is what the launch is judged by.
type Goal string

// The goals.
const (
	Carry Goal = "carry" // carry farthest
	Green Goal = "green" // land at the wanted carry and stop soon
)

// Player is what the window is computed for.
type Player struct {
	BallSpeed float64 // m/s
	Attack    float64 // deg, positive when the head rises
	Category  string  // of impact.DefaultHead
	// Launch and Spin are the player's present launch angle (deg) and spin
	// rate (rpm); both 0 when they are not known.
	Launch, Spin float64
	// WantedCarry in m is for the goal Green; 0 takes the best carry of the
	// line, or the present carry when Launch and Spin are given.
	WantedCarry float64
}

// Point is a launch with its outcome.
type Point struct {
	Launch  float64 // deg
	Spin    float64 // rpm
	Carry   float64 // m
	Landing float64 // deg
	Stop    float64 // m from landing to rest, negative when it spins back; low confidence
	Loss    float64 // m short of the best by the goal; 0 at the best, negative where off the line is better
	// SpinShare is the spin over that of a centred strike with the same launch.
	SpinShare float64
}

// Reachable is a point of the line that a centred strike at the player's
// attack angle lies on.
type Reachable struct {
	Point
	DynamicLoft float64 // deg
}

// Window is the answer.
type Window struct {
	Goal        Goal
	Player      Player
	WantedCarry float64 // m, for Green
	Within      float64 // m of loss that counts as in the window: 2 % of the carry
	Best        Reachable
	Line        []Reachable // by rising dynamic loft
	Surface     Surface
	Present     *Point       // nil when the present launch is not known
	SpinCost    float64      // m of carry that the present spin costs against a centred strike's at the same launch
	Sensitivity *Sensitivity // what loft does about it; nil without Present, or when no centred strike launches so low
}

// Surface is the outcome on a grid, row by row: Points[i*len(Launches)+j]
// belongs to Spins[i] and Launches[j].
type Surface struct {
	Launches []float64 // deg, rising
	Spins    []float64 // rpm, rising
	Points   []Point
	Ceiling  Point // the best of the grid with at least LeastShare of a centred strike's spin
}

// LeastShare is the least spin, as a share of a centred strike's at the same
// launch, that a strike well above the centre of gravity or another ball can
// plausibly bring; MostShare the most that a poor one leaves. Between them lies
// what a player can do anything about.
const (
	LeastShare = 0.7
	MostShare  = 1.8
)

// share is the part of the carry that may be lost within the window.
const share = 0.02

// ErrOutOfReach says that a wanted carry is more than the ball speed gives.
var ErrOutOfReach = errors.New("the wanted carry is out of reach at this ball speed")

// Find computes the window. Conditions are those of the flight package. The
// error is an *flight.InputError, ErrOutOfReach, or an unknown category.
func Find(p Player, goal Goal, c flight.Conditions) (*Window, error) {
	if goal != Carry && goal != Green {
		return nil, fmt.Errorf("no goal %q: use carry or green", goal)
	}
	if !(p.BallSpeed >= 15 && p.BallSpeed <= 100) {
		return nil, &flight.InputError{Field: "ball speed", Value: p.BallSpeed, Unit: "m/s", Want: "15 to 100 m/s"}
	}
	if !(p.Attack >= -15 && p.Attack <= 15) {
		return nil, &flight.InputError{Field: "attack angle", Value: p.Attack, Unit: "deg", Want: "-15 to 15 deg"}
	}
	known := p.Launch != 0 || p.Spin != 0
	if known && !(p.Launch >= 0 && p.Launch <= 60 && p.Spin >= 0 && p.Spin <= 12000) {
		return nil, &flight.InputError{Field: "present launch or spin", Value: p.Spin, Unit: "rpm",
			Want: "a launch of 0 to 60 deg and a spin of 0 to 12000 rpm"}
	}
	if !(p.WantedCarry >= 0 && p.WantedCarry < 400) {
		return nil, &flight.InputError{Field: "wanted carry", Value: p.WantedCarry, Unit: "m", Want: "0 (the best) to 400 m"}
	}
	head, err := impact.DefaultHead(p.Category)
	if err != nil {
		return nil, err
	}
	s := search{player: p, goal: goal, head: head, c: c}
	w := &Window{Goal: goal, Player: p}
	line, err := s.line()
	if err != nil {
		return nil, err
	}
	if err := s.aim(line, known); err != nil {
		return nil, err
	}
	w.WantedCarry = s.wanted
	if w.Best, err = s.best(line); err != nil {
		return nil, err
	}
	if goal == Green && math.Abs(w.Best.Carry-s.wanted) > 1.01*share*s.wanted {
		return nil, fmt.Errorf("%w: %.1f m is wanted, and at this attack angle %.1f m is the nearest", ErrOutOfReach, s.wanted, w.Best.Carry)
	}
	s.zero = s.cost(w.Best.Point)
	w.Within = share * w.Best.Carry
	if goal == Green {
		w.Within = share * s.wanted
	}
	for i := range line {
		line[i].Loss, line[i].SpinShare = s.loss(line[i].Point), 1
	}
	w.Best.Loss, w.Best.SpinShare, w.Line = 0, 1, line
	if w.Surface, err = s.surface(line, w.Best); err != nil {
		return nil, err
	}
	if known {
		here, err := s.outcome(p.BallSpeed, p.Launch, p.Spin)
		if err != nil {
			return nil, err
		}
		here.Loss, here.SpinShare = s.loss(here), spinShare(line, here.Launch, here.Spin)
		w.Present = &here
		centred, err := s.outcome(p.BallSpeed, p.Launch, min(20000, here.Spin/max(here.SpinShare, 0.01)))
		if err != nil {
			return nil, err
		}
		w.SpinCost = centred.Carry - here.Carry
		if w.Sensitivity, err = s.sensitivity(here); err != nil {
			return nil, err
		}
	}
	return w, nil
}

// In says whether a point lies in the window.
func (w *Window) In(p Point) bool { return p.Loss <= w.Within }

// LineRange is the part of the line that lies in the window: its ends by
// launch. The best always belongs to it.
func (w *Window) LineRange() (low, high Point) {
	low, high = w.Best.Point, w.Best.Point
	for _, p := range w.Line {
		if !w.In(p.Point) {
			continue
		}
		if p.Launch < low.Launch {
			low = p.Point
		}
		if p.Launch > high.Launch {
			high = p.Point
		}
	}
	return low, high
}
