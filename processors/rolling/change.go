package rolling

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"fairlead/ingest/event"
	"fairlead/processors/dispersion"
	"fairlead/processors/visit"
)

// Suspicion says that shots fit another build of the session better than the
// one they stand under, as they do when a club was changed and not entered.
// Nothing is moved because of it: one tap of the fitter does.
type Suspicion struct {
	Kind     string   `json:"kind"`     // late, forgotten, early
	Shots    []string `json:"shot_ids"` // in order
	Numbers  []int    `json:"numbers"`  // their places in the session
	From     string   `json:"from_trial"`
	To       string   `json:"to_trial"`
	FromName string   `json:"from_name"`
	ToName   string   `json:"to_name"`
	Odds     float64  `json:"odds"` // likelihood ratio, other build to this one
	Text     string   `json:"text"`
}

const (
	// suspectShots bounds the runs that are looked at.
	leastSuspect, mostSuspect = 2, 8
	// reference is how many shots either build needs beside the suspects.
	reference = 4
	// suspectLn is the log likelihood ratio from which a run is asked about. Up
	// to three places and seven lengths are looked at after every shot, so it is
	// far above what one look would need. Simulated (TestSuspicion): of sessions
	// without a forgotten swap, less than one in fifty is ever asked about.
	suspectLn = 9.5
	// shotCap bounds what one shot may add, so that a mishit convinces nobody.
	shotCap = 4
)

// feature is a quantity in which builds differ more than swings do, with the
// scatter that is assumed before the session has shown its own.
type feature struct {
	field event.Field
	ln    bool
	sd    float64
}

func featuresOf(c dispersion.Category) []feature {
	if c == dispersion.Putter {
		return []feature{{event.Field_FIELD_LAUNCH_ANGLE, false, 0.5}, {event.Field_FIELD_FORWARD_ROLL, false, 15}}
	}
	return []feature{{event.Field_FIELD_LAUNCH_ANGLE, false, 1.5}, {event.Field_FIELD_SPIN_RATE, true, 0.12}, {event.Field_FIELD_BALL_SPEED, true, 0.03}}
}

// point is a shot in the features; ok is false where one is missing.
func point(s *Shot, features []feature) (x []float64, ok bool) {
	x = make([]float64, len(features))
	for i, f := range features {
		v, has := s.Values.Get(f.field)
		if !has || f.ln && v <= 0 {
			return nil, false
		}
		if f.ln {
			v = math.Log(v)
		}
		x[i] = v
	}
	return x, true
}

// pts are the shots of a row that can be judged.
type pts struct {
	row   *row
	shots []*Shot
	x     [][]float64
}

// suspect looks for a run of shots under the wrong build: the last ones of the
// running trial (the swap was not entered at all: they fit an earlier build),
// the last ones of the trial before it (the swap was entered late: they fit the
// running build), and the first ones of the running trial (entered too early).
//
// The scatter is taken as common to all builds of the session: the pooled
// within-row covariance, shrunk toward typical values by priorDF degrees. A
// shot's density under a build is the predictive Student t of its other shots.
func suspect(category dispersion.Category, all []*row, running *visit.Trial) *Suspicion {
	if running == nil {
		return nil
	}
	features := featuresOf(category)
	var sets []pts
	current := -1
	for _, r := range all {
		p := pts{row: r}
		for _, s := range r.counting() {
			if x, ok := point(s, features); ok {
				p.shots, p.x = append(p.shots, s), append(p.x, x)
			}
		}
		if r.trial == running {
			current = len(sets)
		}
		sets = append(sets, p)
	}
	if current < 0 {
		return nil
	}
	chol, df, ok := pooledCovariance(sets, features)
	if !ok {
		return nil
	}
	look := looking{sets: sets, chol: chol, df: df}
	var best *Suspicion
	bestLn := suspectLn
	take := func(kind string, at int, from, to int, other int) {
		if ln, ok := look.ratio(at, from, to, other); ok && ln > bestLn {
			bestLn = ln
			best = look.suspicion(kind, at, from, to, other, ln)
		}
	}
	n := len(sets[current].x)
	before := look.previous(current)
	for k := leastSuspect; k <= mostSuspect; k++ {
		for other := range sets[:current] {
			if k <= n {
				take("forgotten", current, n-k, n, other)
			}
		}
		if before >= 0 {
			if m := len(sets[before].x); k <= m {
				take("late", before, m-k, m, current)
			}
			if k <= n {
				take("early", current, 0, k, before)
			}
		}
	}
	return best
}

// looking is a session in which suspects are looked for.
type looking struct {
	sets []pts
	chol *mat.Cholesky
	df   float64
}

// previous is the row with shots before the one at i that has another build.
func (l *looking) previous(i int) int {
	for j := i - 1; j >= 0; j-- {
		if len(l.sets[j].x) > 0 {
			if l.sets[j].row.club == l.sets[i].row.club {
				return -1
			}
			return j
		}
	}
	return -1
}

// comparable says whether rows differ in nothing but the build.
func comparable(a, b rowKey) bool {
	return a.class == b.class && a.length == b.length && a.intent == b.intent
}

// ratio is the log likelihood ratio of the shots [from, to) of a row under the
// build of another row against their own; ok is false where there is too
// little to go on, a shot points the other way, or a hand has placed one.
func (l *looking) ratio(at, from, to, other int) (float64, bool) {
	own, alien := &l.sets[at], &l.sets[other]
	if own.row.club == alien.row.club || !comparable(own.row.key, alien.row.key) {
		return 0, false
	}
	var mine, theirs [][]float64
	for j := range l.sets {
		s := &l.sets[j]
		if !comparable(s.row.key, own.row.key) {
			continue
		}
		switch {
		case j == at:
			mine = append(append(mine, s.x[:from]...), s.x[to:]...)
		case s.row.club == own.row.club:
			mine = append(mine, s.x...)
		case s.row.club == alien.row.club:
			theirs = append(theirs, s.x...)
		}
	}
	if len(mine) < reference || len(theirs) < reference {
		return 0, false
	}
	m1, m2 := centre(mine), centre(theirs)
	sum := 0.0
	for i := from; i < to; i++ {
		if own.shots[i].Tag.Moved {
			return 0, false
		}
		d := l.density(own.x[i], m2, len(theirs)) - l.density(own.x[i], m1, len(mine))
		if d <= 0 {
			return 0, false
		}
		sum += min(d, shotCap)
	}
	return sum, true
}

// density is the log of the predictive density of a shot given n shots of a
// build with the mean m, up to a constant.
func (l *looking) density(x, m []float64, n int) float64 {
	d := float64(len(x))
	scale := 1 + 1/float64(n)
	diff := mat.NewVecDense(len(x), nil)
	for i := range x {
		diff.SetVec(i, x[i]-m[i])
	}
	var solved mat.VecDense
	if err := l.chol.SolveVecTo(&solved, diff); err != nil {
		return 0
	}
	q := mat.Dot(diff, &solved) / scale
	return -0.5*d*math.Log(scale) - 0.5*(l.df+d)*math.Log1p(q/l.df)
}

func (l *looking) suspicion(kind string, at, from, to, other int, ln float64) *Suspicion {
	own, alien := &l.sets[at], &l.sets[other]
	s := &Suspicion{Kind: kind, From: own.row.trial.ID, To: alien.row.trial.ID, FromName: nameOf(own.row), ToName: nameOf(alien.row),
		Odds: math.Exp(min(ln, 20))}
	for _, shot := range own.shots[from:to] {
		s.Shots = append(s.Shots, shot.Key.ID.String())
		s.Numbers = append(s.Numbers, shot.Tag.OrderInSession)
	}
	k := to - from
	switch kind {
	case "early":
		s.Text = fmt.Sprintf("The first %d shots of trial %d look like %s, not like %s: was the swap entered before it was made?", k, own.row.trial.Number, s.ToName, s.FromName)
	case "late":
		s.Text = fmt.Sprintf("The last %d shots of trial %d look like %s, not like %s: was the swap entered late?", k, own.row.trial.Number, s.ToName, s.FromName)
	default:
		s.Text = fmt.Sprintf("It looks as if the club changed %d shots ago: they fit %s, not %s.", k, s.ToName, s.FromName)
	}
	return s
}

// priorDF is the weight, in shots, of typical scatter against the session's own.
const priorDF = 6

// leastDF is how many degrees of freedom the session itself must give.
const leastDF = 6

func pooledCovariance(sets []pts, features []feature) (*mat.Cholesky, float64, bool) {
	p := len(features)
	a := mat.NewSymDense(p, nil)
	df := 0
	for _, s := range sets {
		if len(s.x) < 2 {
			continue
		}
		m := centre(s.x)
		df += len(s.x) - 1
		for _, x := range s.x {
			for i := range p {
				for j := i; j < p; j++ {
					a.SetSym(i, j, a.At(i, j)+(x[i]-m[i])*(x[j]-m[j]))
				}
			}
		}
	}
	if df < leastDF {
		return nil, 0, false
	}
	total := float64(df + priorDF)
	for i := range p {
		for j := i; j < p; j++ {
			v := a.At(i, j)
			if i == j {
				v += priorDF * features[i].sd * features[i].sd
			}
			a.SetSym(i, j, v/total)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return nil, 0, false
	}
	return &chol, total, true
}

func centre(x [][]float64) []float64 {
	m := make([]float64, len(x[0]))
	for _, p := range x {
		for i := range p {
			m[i] += p[i] / float64(len(x))
		}
	}
	return m
}
