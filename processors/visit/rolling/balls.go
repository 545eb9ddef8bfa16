package rolling

import (
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
	"fairlead/processors/visit/trial"
)

// ballOf names the ball of a setting; empty: nobody said which.
func ballOf(s *visit.Setting) string { return strings.TrimSpace(s.BallModel + " " + s.BallClass) }

// ball of a row: that of its last shot that counts.
func (r *row) ball() string {
	if shots := r.counting(); len(shots) > 0 {
		return ballOf(&shots[len(shots)-1].Tag.Setting)
	}
	return ""
}

// besideBall is the circumstance of a row whatever the ball.
func (r *row) besideBall() (c trial.Circumstance, ok bool) {
	if c, ok = r.circumstance(); ok {
		shots := r.counting()
		s := shots[len(shots)-1].Tag.Setting
		s.BallModel, s.BallClass = "", ""
		c.Setting = s.ID()
	}
	return c, ok
}

// ballPair is one club with two balls: which of them is it to be played with.
type ballPair struct {
	pair
	club      *club
	ball, was string
}

// ballsOf compares, of each club that was hit with several balls, every other ball
// with the one that it was hit with first: swings of each length by themselves, in what
// was the same but for the ball. A ball that nobody named is compared with none.
func ballsOf(clubs []*club) (out []ballPair) {
	for _, c := range clubs {
		var balls []string
		for _, r := range c.rows {
			if b := r.ball(); b != "" && !slices.Contains(balls, b) {
				balls = append(balls, b)
			}
		}
		for i := 1; i < len(balls); i++ {
			out = append(out, c.withBalls(balls[0], balls[i])...)
		}
	}
	return out
}

// withBalls are the comparisons of a club's rows with two balls, what was hit last first.
func (k *club) withBalls(was, ball string) (out []ballPair) {
	hit := func(with string, c trial.Circumstance) (rows []*row) {
		for _, r := range k.rows {
			if have, ok := r.besideBall(); ok && have == c && r.ball() == with {
				rows = append(rows, r)
			}
		}
		return rows
	}
	var last []trial.Circumstance
	for _, r := range k.rows {
		if have, ok := r.besideBall(); ok && r.ball() == ball {
			last = slices.DeleteFunc(last, func(l trial.Circumstance) bool {
				return l.Class == have.Class && l.ClassLength == have.ClassLength
			})
			last = append(last, have)
		}
	}
	for _, c := range slices.Backward(last) {
		if before := hit(was, c); len(before) > 0 {
			out = append(out, ballPair{pair{class: event.ShotClass(c.Class), length: c.ClassLength, baseline: before, candidate: hit(ball, c)},
				k, ball, was})
		}
	}
	return out
}
