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
	buf      []float64
	levels   []levelRows
	shared   *reader
	left     map[string]int // trials left out, by reason
	tried    []int          // by column: players who hit it at two values within a level
	sessions []int          // by column: levels in which it varies
	trials   int
	carry    running // of trials that count
	value    running // the outcome
	err      error
}

// NewStream begins a question whose design and noise are known: from a Survey of
// the same trials, or from an earlier answer.
func NewStream(q Question, d *Design, k Noise) (*Stream, error) {
	o, ok := FindOutcome(q.Outcome)
	if !ok {
		return nil, fmt.Errorf("outcome %q is not known: use %s", q.Outcome, OutcomeWords())
	}
	b, err := NewBuilder(d.model(q))
	if err != nil {
		return nil, err
	}
	w := d.width()
	return &Stream{question: q, outcome: o, design: d, noise: k, b: b, shared: newReader(d.Shared),
		row: make([]float64, w), left: map[string]int{}, tried: make([]int, w),
		sessions: make([]int, w)}, nil
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

// placed is the row of a trial that counts; levelRows are those of one level.
type placed struct {
	of     *Trial
	y, v   float64
	cols   []float64
	shared [len(sharedFacts)]int32
}

type levelRows struct {
	session string
	level   int
	rows    []placed
}

// place puts a row to its level.
func (s *Stream) place(t *Trial, r placed) {
	for i := range s.levels {
		if l := &s.levels[i]; l.level == t.Level && l.session == t.Session {
			l.rows = append(l.rows, r)
			return
		}
	}
	if n := len(s.levels); n < cap(s.levels) {
		s.levels = s.levels[:n+1] // keeps the rows' memory of an earlier player
		l := &s.levels[n]
		l.session, l.level, l.rows = t.Session, t.Level, append(l.rows[:0], r)
		return
	}
	s.levels = append(s.levels, levelRows{t.Session, t.Level, []placed{r}})
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
	d.expected(traits)
	// Rows by level, in order of appearance; a player has a handful of levels.
	w := len(s.row)
	s.buf = need(s.buf, len(set)*w)
	s.levels = s.levels[:0]
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
		if t.Shots.Carry > 0 {
			s.carry.add(t.Shots.Carry)
		}
		s.value.add(y)
		cols := s.buf[i*w : (i+1)*w]
		zero(cols)
		if err := d.fill(cols, t.Attributes); err != nil {
			var u *UnknownError
			errors.As(err, &u)
			s.left["no "+u.Name]++
			continue
		}
		if d.Order {
			o := d.OrderColumns(t, before)
			copy(cols[w-3:], o[:])
		}
		p := placed{of: t, y: y, v: v, cols: cols}
		copy(p.shared[:], s.shared.read(t))
		s.place(t, p)
	}
	if len(s.levels) == 0 {
		return nil
	}
	if err := s.b.Player(set[0].Player, traits); err != nil {
		return err
	}
	varied := make([]bool, w)
	for _, l := range s.levels {
		if err := s.b.Session(0); err != nil {
			return err
		}
		if len(l.rows) == 1 {
			s.left["alone in its level"]++
			continue
		}
		if len(s.noise.Devices) > 0 {
			level := make([]gauged, len(l.rows))
			for i := range l.rows {
				r := &l.rows[i]
				level[i] = gauged{r.of, &r.y, &r.v}
			}
			s.noise.steady(s.outcome, level)
		}
		for c := range varied {
			for _, r := range l.rows[1:] {
				if math.Abs(r.cols[c]-l.rows[0].cols[c]) > 1e-9 {
					varied[c] = true
					s.sessions[c]++
					break
				}
			}
		}
		for _, r := range l.rows {
			if err := s.b.Row(r.y, r.v, r.cols, r.shared[:len(d.Shared)]...); err != nil {
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

// typical is the middle of what was streamed.
func (s *Stream) typical() Typical {
	t := Typical{Carry: s.carry.mean}
	if s.outcome.Log && s.value.n > 0 {
		t.Spread = math.Exp(s.value.mean)
	}
	return t
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
