package rolling

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
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
	// above what one look would need. Simulated over sessions of four trials
	// without a forgotten swap (change_test.go): none of 400 with unlike clubs
	// was asked about at any of 36 looks, one in fifty between clubs that hardly
	// differ with eight mishits in a hundred. Within eight shots of a forgotten
	// swap it asks in 97 of 100 sessions where launch differs by 2.5 deg and spin
	// by 15 %, in 57 at 1.5 deg and 8 %; the shots that it then names are right to
	// within two in 95 and 80 of 100. Clubs that hit alike can't be told apart.
	suspectLn = 9
	// shotCap bounds what one shot may add, either way, so that a mishit convinces nobody.
	shotCap = 2.5
)

// feature is a quantity in which builds differ more than swings do, with the
// scatter that is assumed before the session has shown its own.
type feature struct {
	field event.Field
	ln    bool
	sd    float64
}

func featuresOf(c glossary.Category) []feature {
	if c == glossary.Putter {
		return []feature{{event.Field_FIELD_LAUNCH_ANGLE, false, 0.5}, {event.Field_FIELD_FORWARD_ROLL, false, 15}}
	}
	return []feature{{event.Field_FIELD_LAUNCH_ANGLE, false, 1.5}, {event.Field_FIELD_SPIN_RATE, true, 0.12},
		{event.Field_FIELD_BALL_SPEED, true, 0.03}}
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

	scatter *mat.SymDense // about its mean; nil until it is needed
	df      int
}

// suspect looks for a run of shots under the wrong build: the last ones of the
// running trial (the swap was not entered at all: they fit an earlier build),
// the last ones of the trial before it (the swap was entered late: they fit the
// running build), and the first ones of the running trial (entered too early).
//
// The scatter is taken as common to all builds of the session: the pooled
// within-row covariance, shrunk toward typical values by priorDF degrees. A
// shot's density under a build is the predictive Student t of its other shots.
func suspect(category glossary.Category, all []*row, running *visit.Trial) *Suspicion {
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
	look := looking{sets: sets, features: features}
	look.dropMishits()
	var runs []run
	take := func(kind string, at int, from, to int, other int) {
		if ln, ok := look.ratio(at, from, to, other); ok && ln > suspectLn {
			runs = append(runs, run{kind, at, from, to, other, ln})
		}
	}
	sets = look.sets
	n := len(sets[current].x)
	before := look.previous(current)
	for k := leastSuspect; k <= mostSuspect; k++ {
		for other := range sets[:current] {
			if k <= n && !look.again(other, current) {
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
	if len(runs) == 0 {
		return nil
	}
	best := slices.MaxFunc(runs, func(a, b run) int { return cmp.Compare(a.ln, b.ln) })
	for _, r := range runs {
		if r.kind == best.kind && r.at == best.at && r.other == best.other && r.ln >= best.ln-shortLn && r.to-r.from < best.to-best.from {
			best = r
		}
	}
	return look.suspicion(best)
}

// run is a run of shots that fits another build better.
type run struct {
	kind     string
	at       int // its row
	from, to int // [from, to) of the row's shots
	other    int
	ln       float64
}

// shortLn is by how much a longer run must fit better to be preferred: to leave
// a shot where it is harms less than to move a right one.
const shortLn = 1.5

// looking is a session in which suspects are looked for.
type looking struct {
	sets     []pts
	features []feature
	chol     *mat.Cholesky // of the scatter, less the run that is looked at
	df       float64
}

// mishitFar is the squared distance from its row's middle beyond which a shot
// says nothing of the club.
const mishitFar = 14

// dropMishits takes shots out that are far from all others of their row.
func (l *looking) dropMishits() {
	if !l.scale(-1, 0, 0) {
		return
	}
	kept := make([]pts, len(l.sets))
	for i, s := range l.sets {
		kept[i].row = s.row
		if len(s.x) == 0 {
			continue
		}
		m := middle(s.x)
		for k, x := range s.x {
			if l.distance(x, m) <= mishitFar {
				kept[i].shots, kept[i].x = append(kept[i].shots, s.shots[k]), append(kept[i].x, x)
			}
		}
	}
	l.sets = kept
}

// middle is the median of each quantity.
func middle(x [][]float64) []float64 {
	m := make([]float64, len(x[0]))
	for i := range m {
		column := make([]float64, len(x))
		for k := range x {
			column[k] = x[k][i]
		}
		slices.Sort(column)
		m[i] = (column[(len(column)-1)/2] + column[len(column)/2]) / 2
	}
	return m
}

// again says whether the club of the row at i was hit again before the row at
// end, in a row that speaks for it.
func (l *looking) again(i, end int) bool {
	for j := i + 1; j < end; j++ {
		if l.sets[j].row.club == l.sets[i].row.club && comparable(l.sets[j].row.key, l.sets[i].row.key) {
			return true
		}
	}
	return false
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
	if len(mine) < reference || len(theirs) < reference || !l.scale(at, from, to) {
		return 0, false
	}
	m1, m2 := centre(mine), centre(theirs)
	sum := 0.0
	for i := from; i < to; i++ {
		if own.shots[i].Tag.Moved {
			return 0, false
		}
		d := l.density(own.x[i], m2, len(theirs)) - l.density(own.x[i], m1, len(mine))
		if d <= 0 && (i == from || i == to-1) {
			return 0, false // the run does not begin or end here
		}
		sum += max(min(d, shotCap), -shotCap)
	}
	return sum, true
}

// density is the log of the predictive density of a shot given n shots of a
// build with the mean m, up to a constant.
func (l *looking) density(x, m []float64, n int) float64 {
	d := float64(len(x))
	scale := 1 + 1/float64(n)
	q := l.distance(x, m) / scale
	return -0.5*d*math.Log(scale) - 0.5*(l.df+d)*math.Log1p(q/l.df)
}

// distance is the squared distance of a shot from a middle, in scatters.
func (l *looking) distance(x, m []float64) float64 {
	diff := mat.NewVecDense(len(x), nil)
	for i := range x {
		diff.SetVec(i, x[i]-m[i])
	}
	var solved mat.VecDense
	if err := l.chol.SolveVecTo(&solved, diff); err != nil {
		return 0
	}
	return mat.Dot(diff, &solved)
}

func (l *looking) suspicion(r run) *Suspicion {
	own, alien := &l.sets[r.at], &l.sets[r.other]
	s := &Suspicion{Kind: r.kind, From: own.row.trial.ID, To: alien.row.trial.ID, FromName: own.row.called, ToName: alien.row.called,
		Odds: math.Exp(min(r.ln, 20))}
	first, last := own.shots[r.from].Tag.OrderInSession, own.shots[r.to-1].Tag.OrderInSession
	for _, shot := range own.row.counting() { // mishits in between go along
		if n := shot.Tag.OrderInSession; n >= first && (n <= last || r.kind != "early") {
			s.Shots = append(s.Shots, shot.Key.ID.String())
			s.Numbers = append(s.Numbers, n)
		}
	}
	k := len(s.Shots)
	switch r.kind {
	case "early":
		s.Text = fmt.Sprintf("The first %d shots of trial %d look like %s, not like %s: was the swap entered before it was made?", k,
			own.row.trial.Number, s.ToName, s.FromName)
	case "late":
		s.Text = fmt.Sprintf("The last %d shots of trial %d look like %s, not like %s: was the swap entered late?", k, own.row.trial.Number,
			s.ToName, s.FromName)
	default:
		s.Text = fmt.Sprintf("It looks as if the club changed %d shots ago: they fit %s, not %s.", k, s.ToName, s.FromName)
	}
	return s
}

// priorDF is the weight, in shots, of typical scatter against the session's own.
const priorDF = 6

// leastDF is how many degrees of freedom the session itself must give.
const leastDF = 6

// scale makes the pooled covariance of all rows about their own means, less the
// shots [from, to) of one row; false where the session gives too little.
func (l *looking) scale(at, from, to int) bool {
	p := len(l.features)
	a := mat.NewSymDense(p, nil)
	df := 0
	for j := range l.sets {
		s := &l.sets[j]
		if j == at {
			rest := append(append([][]float64(nil), s.x[:from]...), s.x[to:]...)
			df += addScatter(a, rest)
			df += addScatter(a, s.x[from:to]) // whatever club it was, the run scatters about its own mean
			continue
		}
		if s.scatter == nil {
			s.scatter = mat.NewSymDense(p, nil)
			s.df = addScatter(s.scatter, s.x)
		}
		a.AddSym(a, s.scatter)
		df += s.df
	}
	if df < leastDF {
		return false
	}
	l.df = float64(df + priorDF)
	for i := range p {
		for j := i; j < p; j++ {
			v := a.At(i, j)
			if i == j {
				v += priorDF * l.features[i].sd * l.features[i].sd
			}
			a.SetSym(i, j, v/l.df)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return false
	}
	l.chol = &chol
	return true
}

// addScatter adds the squares of points about their mean to a and returns their
// degrees of freedom.
func addScatter(a *mat.SymDense, x [][]float64) int {
	if len(x) < 2 {
		return 0
	}
	m := centre(x)
	for _, v := range x {
		for i := range m {
			for j := i; j < len(m); j++ {
				a.SetSym(i, j, a.At(i, j)+(v[i]-m[i])*(v[j]-m[j]))
			}
		}
	}
	return len(x) - 1
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
