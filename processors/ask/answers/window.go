package answers

import (
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"

	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/flight/window"
)

// launched is how a trial's shots left, on average.
type launched struct{ ball, attack, launch, launchSS, spin, spinSS float64 }

// windows turns launches into distances to the launch window: 0 at the best
// launch and spin for the ball speed and attack angle, 1 at its edge, where 2 %
// of the carry is lost (package window). Computing a window takes some
// milliseconds, a fleet has millions of launches: so the loss of carry is
// computed at knots of ball speed and attack, as a polynomial of launch and
// spin at each, and taken linearly between.
type windows struct {
	category string
	once     sync.Once
	knots    [][]knot // by ball speed, by attack
	err      error
}

// knot is loss / within as a polynomial of fourth degree in x = launch/10° and
// y = spin/1000 rpm.
type knot [15]float64

// Knots of ball speed (m/s) and attack (deg); beyond them the last one holds.
const (
	lowBall, stepBall, ballKnots       = 36.0, 6.0, 9
	lowAttack, stepAttack, attackKnots = -6.0, 4.0, 4
)

var windowsOf = map[string]*windows{"driver": {category: "driver"}, "wood": {category: "wood"}}

// want is what must be read for a question.
func (f *Fleet) want(q Question) (reading, error) {
	if q.Outcome != "window" {
		return reading{}, nil
	}
	w := windowsOf[q.Filter.Category]
	if w == nil {
		return reading{}, &FilterError{"category", q.Filter.Category, "is not judged by a launch window for carry",
			"ask about driver or wood, or another outcome"}
	}
	w.once.Do(w.fill)
	return reading{windows: w}, w.err
}

func (w *windows) fill() {
	for i := range ballKnots {
		var row []knot
		for k := range attackKnots {
			found, err := window.Find(window.Player{BallSpeed: lowBall + float64(i)*stepBall, Attack: lowAttack + float64(k)*stepAttack,
				Category: w.category}, window.Carry, flight.Standard())
			if err != nil {
				w.err = fmt.Errorf("launch window: %w", err)
				return
			}
			row = append(row, fitKnot(found))
		}
		w.knots = append(w.knots, row)
	}
}

func terms(launch, spin float64) (t knot) {
	x, y, k := launch/10, spin/1000, 0
	for i, xi := 0, 1.0; i <= 4; i, xi = i+1, xi*x {
		for j, yj := 0, 1.0; i+j <= 4; j, yj = j+1, yj*y {
			t[k] = xi * yj
			k++
		}
	}
	return t
}

// fitKnot fits the loss where players launch: up to six windows off.
func fitKnot(w *window.Window) (k knot) {
	var rows, y []float64
	for _, p := range w.Surface.Points {
		if loss := p.Loss / w.Within; loss < 6 && p.Carry > 0 {
			t := terms(p.Launch, p.Spin)
			rows, y = append(rows, t[:]...), append(y, loss)
		}
	}
	if len(y) < 2*len(k) {
		return k
	}
	var q mat.VecDense
	if err := q.SolveVec(mat.NewDense(len(y), len(k), rows), mat.NewVecDense(len(y), y)); err != nil {
		return k
	}
	for i := range k {
		k[i] = q.AtVec(i)
	}
	return k
}

// loss is the carry lost in windows, with linear weights between knots.
func (w *windows) loss(ball, attack, launch, spin float64) float64 {
	u := math.Min(math.Max((ball-lowBall)/stepBall, 0), ballKnots-1)
	v := math.Min(math.Max((attack-lowAttack)/stepAttack, 0), attackKnots-1)
	i, k := min(int(u), ballKnots-2), min(int(v), attackKnots-2)
	u, v = u-float64(i), v-float64(k)
	t := terms(launch, spin)
	at := func(n knot) (s float64) {
		for j, c := range n {
			s += c * t[j]
		}
		return s
	}
	return (1-u)*((1-v)*at(w.knots[i][k])+v*at(w.knots[i][k+1])) + u*((1-v)*at(w.knots[i+1][k])+v*at(w.knots[i+1][k+1]))
}

// distance is a trial's distance with its sum of squares over n shots, by the
// delta method; launch and spin are taken to scatter independently. A nil
// windows knows none.
func (w *windows) distance(l *launched, n int) (d, ss float64, count int) {
	if w == nil || n < 2 || math.IsNaN(l.ball+l.attack+l.launch+l.spin) {
		return math.NaN(), 0, 0
	}
	// Losses grow with the square of the distance; the root is taken a little
	// off 0, where it has no slope.
	at := func(launch, spin float64) float64 {
		return math.Sqrt(math.Max(w.loss(l.ball, l.attack, launch, spin), 0) + 0.01)
	}
	d = at(l.launch, l.spin)
	gl, gs := (at(l.launch+0.5, l.spin) - at(l.launch-0.5, l.spin)), (at(l.launch, l.spin+100)-at(l.launch, l.spin-100))/200
	return d, gl*gl*l.launchSS + gs*gs*l.spinSS, n
}
