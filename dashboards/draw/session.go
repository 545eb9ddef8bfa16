package draw

import (
	"fmt"
	"math"
	"slices"

	"fairlead/dashboards/figure"
	"fairlead/processors/golf/dispersion"
	"fairlead/processors/visit/rolling"
)

// Session draws the figures of a session's state: the same on the page and on
// paper. Swings of another length stand apart: a Session is of full swings or of
// partial ones, never of both.
type Session struct {
	state   *rolling.State
	units   figure.Units
	runs    []*run
	putts   bool
	partial bool
	all     map[string]*rolling.Trial
}

// run is the shots of one row of the session, or of one club.
type run struct {
	number int
	label  string
	name   string
	filled bool
	trial  *rolling.Trial // the row, or the club's longest
	shots  []*rolling.ShotRow
}

// Full are the figures of a session's full swings, one series a trial.
func Full(state *rolling.State, units figure.Units) *Session { return sessionOf(state, units, false) }

// Partial are those of its partial swings.
func Partial(state *rolling.State, units figure.Units) *Session {
	return sessionOf(state, units, true)
}

func sessionOf(state *rolling.State, units figure.Units, partial bool) *Session {
	s := &Session{state: state, units: units, partial: partial, all: map[string]*rolling.Trial{}}
	s.putts = state.Session != nil && state.Session.Category == "putter"
	byRow := map[string]*run{}
	for i := range state.Trials {
		t := &state.Trials[i]
		s.all[t.Key] = t
		if (t.Class == "partial") != partial {
			continue
		}
		r := &run{number: t.Number, label: fmt.Sprint(t.Number), name: t.Name, filled: t.Running, trial: t}
		if t.Parts > 1 {
			r.label = fmt.Sprintf("%d.%d", t.Number, t.Part)
		}
		if partial && t.ClassLength > 0 {
			d := units.Distance()
			d.Digits = 0
			r.name += ", " + d.Text(t.ClassLength)
		}
		byRow[t.Key] = r
		s.runs = append(s.runs, r)
	}
	for i := range state.Shots {
		shot := &state.Shots[i]
		if r := byRow[shot.Row]; r != nil && (shot.Status == "counts" || shot.Status == "excluded") {
			r.shots = append(r.shots, shot)
		}
	}
	s.runs = slices.DeleteFunc(s.runs, func(r *run) bool { return len(r.shots) == 0 })
	return s
}

// Clubs keeps the shots of some clubs of the session, one series a club, the last
// of them filled: what was chosen against what the player came with.
func (s *Session) Clubs(numbers ...int) *Session {
	out := &Session{state: s.state, units: s.units, putts: s.putts, partial: s.partial, all: s.all}
	for k, club := range numbers {
		var one *run
		for _, r := range s.runs {
			switch {
			case r.trial.Club != club:
			case one == nil:
				c := *r
				c.label, c.filled, c.number = string(rune('A'+k)), k == len(numbers)-1, k+1
				c.shots = slices.Clone(r.shots)
				one = &c
			default:
				one.shots = append(one.shots, r.shots...)
				if r.trial.N > one.trial.N {
					one.trial = r.trial
				}
			}
		}
		if one != nil {
			out.runs = append(out.runs, one)
		}
	}
	return out
}

// Series is how many series the session's figures have.
func (s *Session) Series() int { return len(s.runs) }

// fewestForRegion is how many shots a region is drawn from: with fewer it is
// wider than the picture.
const fewestForRegion = 6

// regionShare is the share of next shots that a region holds.
const regionShare = 0.9

// Landed is where the shots came down; for putts how they set off: ball speed
// over start line. nil where nothing is known.
func (s *Session) Landed() *Picture { return s.landed(Ground{}) }

// Small is Landed for a board of many bays: no legend, and larger for its size.
func (s *Session) Small() *Picture { return s.landed(Ground{Width: smallWidth, Bare: true}) }

const smallWidth = 260.0

// landed draws it on a ground that says how large and how bare.
func (s *Session) landed(as Ground) *Picture {
	g := Ground{Width: as.Width, Bare: as.Bare,
		Title: "Where the shots landed, seen from above", X: s.units.Distance(), Y: s.units.Distance()}
	xc, yc := "offline_m", "carry_m"
	if s.putts {
		g.Title, g.Own, g.X, g.Y = "Ball speed of the putts over their start line", true, figure.In("°", 1, 1), s.units.Speed()
		xc, yc = "launch_direction_deg", "ball_speed_mps"
	}
	regions := false
	for _, r := range s.runs {
		c := Cloud{Number: r.number, Label: r.label, Name: r.name, Filled: r.filled}
		var points []dispersion.Shot
		for _, shot := range r.shots {
			x, ok1 := shot.Values[xc]
			y, ok2 := shot.Values[yc]
			if !ok1 || !ok2 {
				continue
			}
			c.Dots = append(c.Dots, Dot{X: x, Y: y, ID: fmt.Sprint(shot.Number), Out: shot.Status != "counts", Latest: s.latest(shot),
				Tip: fmt.Sprintf("Shot %d, %s: %s, %s", shot.Number, r.name, g.Y.Text(y), sided(g.X, x))})
			if shot.Status == "counts" {
				points = append(points, dispersion.Shot{Carry: y, Offline: x})
			}
		}
		if !s.putts && len(points) >= fewestForRegion {
			if scatter, err := dispersion.NewScatter(dispersion.Metres(points)); err == nil {
				if e, err := scatter.NextShotEllipse(regionShare); err == nil {
					c.Region, regions = &e, true
				}
			}
		}
		if len(c.Dots) > 0 {
			g.Trials = append(g.Trials, c)
		}
	}
	if len(g.Trials) == 0 {
		return nil
	}
	if set := s.state.Setting; !s.putts && !s.partial && set != nil && set.TargetDistanceM != nil {
		g.Aim = &[2]float64{0, *set.TargetDistanceM}
		g.Notes = append(g.Notes, "ringed cross: the target")
	}
	if regions {
		g.Notes = append(g.Notes, "line: where 9 in 10 next shots should land")
	}
	return g.Draw()
}

// latest says that a shot is the session's last.
func (s *Session) latest(shot *rolling.ShotRow) bool {
	return len(s.state.Shots) > 0 && shot == &s.state.Shots[len(s.state.Shots)-1]
}

// mean is the mean of a column over the shots of a run that count.
func (r *run) mean(column string) (mean float64, ok bool) {
	n := 0
	for _, shot := range r.shots {
		if x, has := shot.Values[column]; has && shot.Status == "counts" {
			mean, n = mean+x, n+1
		}
	}
	return mean / max(float64(n), 1), n > 0
}

// sided writes an angle or a distance with its side of the target.
func sided(u figure.Unit, x float64) string {
	text := u.Short(math.Abs(x))
	switch {
	case text == "0":
		return "on line"
	case x < 0:
		return u.With(text) + " left"
	}
	return u.With(text) + " right"
}
