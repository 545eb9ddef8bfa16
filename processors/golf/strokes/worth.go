package strokes

import (
	"fmt"
	"math"
)

// Worth is what one club differs by from another on a hole, in strokes a shot: below 0 is
// fewer. Low to High is a 95 % interval, ProbFewer the probability of fewer, both by the
// shots alone.
type Worth struct {
	Change    float64 `json:"change"`
	Low       float64 `json:"ci_low"`
	High      float64 `json:"ci_high"`
	ProbFewer float64 `json:"prob_fewer"`
	// Tee says that shots are hit from the hole's tee, Hole m long, at a fairway Width m
	// wide; else at a flag Hole m off on a green Width m across.
	Tee   bool    `json:"from_tee"`
	Hole  float64 `json:"hole_m"`
	Width float64 `json:"width_m"`
	Of    string  `json:"of"`
}

// Short is the worth with its doubt.
func (w *Worth) Short() string {
	return fmt.Sprintf("%s a shot (%s to %s)", often(w.Change), often(w.Low), often(w.High))
}

// Where says by what it is worth so much; length writes metres for the reader.
func (w *Worth) Where(length func(m float64) string) string {
	where := fmt.Sprintf("from the tee of a hole of %s with a fairway of %s", length(w.Hole), length(w.Width))
	if !w.Tee {
		where = fmt.Sprintf("at a flag %s off on a green of %s (what it carries is not counted)", length(w.Hole), length(w.Width))
	}
	return fmt.Sprintf("%s, %s; fewer with odds of %.0f in 100 by these shots alone", where, w.Of,
		math.Round(100*min(max(w.ProbFewer, 0.01), 0.99)))
}

// Says is the worth in one sentence.
func (w *Worth) Says(length func(m float64) string) string { return w.Short() + ", " + w.Where(length) }

func often(x float64) string {
	switch r := math.Round(100*x) / 100; {
	case r < 0:
		return fmt.Sprintf("%.2f fewer", -r)
	case r > 0:
		return fmt.Sprintf("%.2f more", r)
	}
	return "as many"
}
