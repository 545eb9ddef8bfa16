package rolling

import (
	"math"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/dispersion"
	"fairlead/processors/visit/tag"
	"fairlead/processors/visit/trial"
)

// stats fills the numbers of a row from its shots.
func (r *row) stats(out *Trial, category glossary.Category, aim dispersion.Aim) {
	shots := make([]trial.Shot, len(r.shots))
	for i, s := range r.shots {
		shots[i] = trial.Shot{Values: s.Values, Counts: s.Tag.Status == tag.Counts, Excluded: s.Tag.Status == tag.Excluded,
			Effective: s.Tag.At, Order: s.Tag.OrderInSession, Device: s.Device}
	}
	computed := trial.Compute(shots)
	out.N, out.Excluded, out.SetAside, out.Landing = computed.N, computed.Excluded, computed.SetAside, computed.Landing
	out.Fields = map[string]Mean{}
	for _, m := range computed.Fields {
		if info, ok := m.Field.Info(); ok {
			out.Fields[info.Column] = meanOf(m.N, m.Mean, m.SS)
		}
	}
	if computed.Directed > 0 {
		m := meanOf(computed.Directed, computed.DirectionMean, computed.DirectionSS)
		out.Direction = &m
	}
	counting := r.counting()
	if category == glossary.Putter {
		r.putts(out, counting)
	} else {
		r.landings(out, counting, category, aim)
	}
	out.Strike = strikes(counting)
	out.LastFive, out.Drifting = lastFive(counting)
}

func meanOf(n int, mean, ss float64) Mean {
	m := Mean{N: n, Mean: mean}
	if n > 1 {
		sd := math.Sqrt(ss / float64(n-1))
		m.SD = &sd
	}
	return m
}

// landingPoints are where the shots came down; a shot that did not fly has no place
// among them.
func landingPoints(shots []*Shot) (points []dispersion.Shot, of []*Shot) {
	for _, s := range shots {
		if carry, offline, ok := s.Values.Landing(); ok {
			p := dispersion.Shot{Carry: carry, Offline: offline}
			if p.Check(0) == nil {
				points, of = append(points, p), append(of, s)
			}
		}
	}
	return points, of
}

func (r *row) landings(out *Trial, shots []*Shot, category glossary.Category, aim dispersion.Aim) {
	points, _ := landingPoints(shots)
	s, err := dispersion.Brief(category, points, aim)
	if err != nil {
		return // no such category: the numbers of the fields stand
	}
	out.Carry, out.Offline = statOf(s.Carry.Mean), statOf(s.Offline.Mean)
	out.CarrySD, out.DirSD, out.WidthM = statOf(s.CarrySDPct), statOf(s.DirectionSDDeg), statOf(s.WidthM)
	out.NextShot = ellipseOf(s.NextShot)
	if s.N > 0 {
		out.Scatter = &Scatter{s.Metres.N, s.Metres.Mean, s.Metres.A}
	}
	stats := map[glossary.Name]dispersion.Stat{
		glossary.Direction: s.DirectionSDDeg, glossary.Carry: s.Carry.Mean, glossary.DistanceControl: s.CarrySDPct,
	}
	for _, o := range category.Primary() {
		out.Primary = append(out.Primary, Judged{o.Measured(category), Stat(stats[o.Name])})
	}
}

// putts judges putts by their start: line and speed. How far they would roll is
// not asked, so the green's speed does not matter.
func (r *row) putts(out *Trial, shots []*Shot) {
	var putts []dispersion.Putt
	for _, s := range shots {
		speed, ok1 := s.Values.Get(event.Field_FIELD_BALL_SPEED)
		start, ok2 := s.Values.Get(event.Field_FIELD_LAUNCH_DIRECTION)
		launch, ok3 := s.Values.Get(event.Field_FIELD_LAUNCH_ANGLE)
		if ok1 && ok2 && speed > 0 && speed <= 30 && math.Abs(start) <= 90 {
			putts = append(putts, dispersion.Putt{Start: start, Speed: speed, Launch: launch, HasLaunch: ok3})
		}
	}
	s, err := dispersion.SummarisePutts(putts, dispersion.Green{Run: 3, Friction: 0.4}, 0, 0.95)
	if err != nil {
		return
	}
	stats := map[glossary.Name]dispersion.Stat{glossary.Direction: s.Start.SD, glossary.DistanceControl: s.SpeedSDPct}
	for _, o := range glossary.Putter.Primary() {
		out.Primary = append(out.Primary, Judged{o.Measured(glossary.Putter), Stat(stats[o.Name])})
	}
}

func strikes(shots []*Shot) *Strike {
	var points []dispersion.Strike
	for _, s := range shots {
		x, ok1 := s.Values.Get(event.Field_FIELD_STRIKE_X)
		y, ok2 := s.Values.Get(event.Field_FIELD_STRIKE_Y)
		if ok1 && ok2 {
			points = append(points, dispersion.Strike{X: x, Y: y})
		}
	}
	if len(points) == 0 {
		return nil
	}
	s, err := dispersion.SummariseStrikes(points, 0.95)
	if err != nil {
		return nil
	}
	out := &Strike{N: s.N, OffMean: Stat(s.OffCentre), Next: ellipseOf(s.NextStrike), SpreadLn: Stat(s.SpreadLn)}
	for _, p := range points {
		out.X += p.X / float64(len(points))
		out.Y += p.Y / float64(len(points))
	}
	return out
}

// recentFields are what a tired or changing player, or a slipping device, shows
// first.
var recentFields = []event.Field{
	event.Field_FIELD_BALL_SPEED, event.Field_FIELD_LAUNCH_ANGLE, event.Field_FIELD_SPIN_RATE, event.Field_FIELD_CARRY,
	event.Field_FIELD_LAUNCH_DIRECTION,
}

const (
	lastShots = 5
	// driftT is the difference in standard errors from which the last five are
	// marked. Five fields are looked at after each shot, so it is far out: with
	// ten shots before, Student's t exceeds it once in 1,700 looks a field.
	driftT = 4.5
)

// lastFive compares the last five shots with those before them, where there are
// at least five of either.
func lastFive(shots []*Shot) (out []Recent, drifting bool) {
	for _, f := range recentFields {
		info, _ := f.Info()
		var values []float64
		for _, s := range shots {
			if x, ok := s.Values.Get(f); ok {
				values = append(values, x)
			}
		}
		cut := len(values) - lastShots
		if cut < lastShots {
			continue
		}
		before, last := scatter1(values[:cut]), scatter1(values[cut:])
		df := float64(len(values) - 2)
		sd := math.Sqrt((before.ss + last.ss) / df)
		r := Recent{Column: info.Column, Last: last.mean, Before: before.mean}
		if sd > 0 {
			r.T = (last.mean - before.mean) / (sd * math.Sqrt(1/float64(cut)+1.0/lastShots))
		}
		out = append(out, r)
		drifting = drifting || math.Abs(r.T) >= driftT
	}
	return out, drifting
}

type moment struct{ mean, ss float64 }

func scatter1(values []float64) (m moment) {
	for _, x := range values {
		m.mean += x / float64(len(values))
	}
	for _, x := range values {
		m.ss += (x - m.mean) * (x - m.mean)
	}
	return m
}
