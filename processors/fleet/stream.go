package fleet

import (
	"errors"
	"fmt"
	"math"
)

// Stream turns trials into the rows of a fit, one player at a time, so that
// millions of trials never stand in memory as trials. Give each player's trials
// in one run, sessions in one run, trials in the order hit.
type Stream struct {
	question Question
	outcome  Outcome
	design   *Design
	noise    Noise
	b        *Builder
	player   []Trial // the player at hand
	row      []float64
	left     map[string]int // trials left out, by reason
	tried    []int          // by column: players who hit it at two values within a level
	sessions []int          // by column: levels in which it varies
	trials   int
	err      error
}

// NewStream begins a question whose design and noise are known: from SQL
// aggregates, or from an earlier answer.
func NewStream(q Question, d *Design, k Noise) (*Stream, error) {
	o, ok := FindOutcome(q.Outcome)
	if !ok {
		return nil, fmt.Errorf("outcome %q is not known: use direction, carry_control, area, carry or window", q.Outcome)
	}
	b, err := NewBuilder(d.model(q))
	if err != nil {
		return nil, err
	}
	w := d.width()
	return &Stream{question: q, outcome: o, design: d, noise: k, b: b, row: make([]float64, w), left: map[string]int{}, tried: make([]int, w), sessions: make([]int, w)}, nil
}

// Grow makes room for what is to come.
func (s *Stream) Grow(players, sessions, trials int) { s.b.Grow(players, sessions, trials) }

// Add takes the next trial.
func (s *Stream) Add(t *Trial) error {
	if s.err != nil {
		return s.err
	}
	if len(s.player) > 0 && s.player[0].Player != t.Player {
		s.err = s.flush()
	}
	s.player = append(s.player, *t)
	return s.err
}

// row of a trial that passed, by its level.
type placed struct {
	y, v float64
	cols []float64
}

func (s *Stream) flush() error {
	set := s.player
	s.player = s.player[:0]
	if len(set) == 0 {
		return nil
	}
	s.trials += len(set)
	d := s.design
	// One profile a player: the mean over the player's trials.
	traits := make([]float64, len(d.Traits))
	for k, name := range d.Traits {
		i, n := traitIndex(name), 0.0
		for j := range set {
			if x := set[j].handed(i); finite(x) {
				traits[k] += x
				n++
			}
		}
		if n == 0 {
			s.left["no "+name] += len(set)
			return nil
		}
		traits[k] = (traits[k]/n - d.Center[k]) / d.Spread[k]
	}
	type level struct {
		session string
		level   int
	}
	rows := map[level][]placed{}
	var order []level
	for i := range set {
		t := &set[i]
		var before *Trial
		if i > 0 && set[i-1].Session == t.Session {
			before = &set[i-1]
		}
		y, v, ok := s.outcome.Value(t, s.noise)
		if !ok {
			s.left["too few shots for "+s.outcome.Name]++
			continue
		}
		cols := make([]float64, len(s.row))
		if err := d.fill(cols, t.Attributes); err != nil {
			var u *UnknownError
			errors.As(err, &u)
			s.left["no "+u.Name]++
			continue
		}
		if d.Order {
			o := d.OrderColumns(t, before)
			copy(cols[len(cols)-3:], o[:])
		}
		l := level{t.Session, t.Level}
		if _, ok := rows[l]; !ok {
			order = append(order, l)
		}
		rows[l] = append(rows[l], placed{y, v, cols})
	}
	if len(order) == 0 {
		return nil
	}
	if err := s.b.Player(set[0].Player, traits); err != nil {
		return err
	}
	varied := make([]bool, len(s.row))
	for _, l := range order {
		if err := s.b.Session(0); err != nil {
			return err
		}
		if len(rows[l]) == 1 {
			s.left["alone in its level"]++
			continue
		}
		for c := range varied {
			for _, r := range rows[l][1:] {
				if math.Abs(r.cols[c]-rows[l][0].cols[c]) > 1e-9 {
					varied[c] = true
					s.sessions[c]++
					break
				}
			}
		}
		for _, r := range rows[l] {
			if err := s.b.Row(r.y, r.v, r.cols); err != nil {
				return err
			}
		}
	}
	for c, v := range varied {
		if v {
			s.tried[c]++
		}
	}
	return nil
}

// data ends the stream.
func (s *Stream) data() (*Data, error) {
	if s.err == nil {
		s.err = s.flush()
	}
	if s.err != nil {
		return nil, s.err
	}
	return s.b.Data(), nil
}
