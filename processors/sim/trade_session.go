package sim

import (
	"fmt"
	"math"
	"math/rand/v2"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit/trial"
)

// sitting is one session of a trade while it is drawn.
type sitting struct {
	f        *Fleet
	b        *bayRows
	p        *FleetPlayer
	r        *rand.Rand
	id       string
	fitter   string
	category int
	order    int // shots so far
	trials   int
	before   *fleetBuild
	swap     int
	faded    float64 // by how much wider a club has become since
	at       []trial.Circumstance
	firstRow int
}

func (f *Fleet) sit(b *bayRows, p *FleetPlayer, r *rand.Rand, id string, fitter, category int) *sitting {
	return &sitting{f: f, b: b, p: p, r: r, id: id, fitter: fmt.Sprintf("f-%s-%d", b.studio, fitter), category: category,
		firstRow: len(b.t.part)}
}

// truth is what a club does for the player beside the standard club: ln of the
// spread of directions, ln of carry in percent, m of carry.
func (f *Fleet) truth(p *FleetPlayer, c *fleetBuild) (direction, control, carry float64) {
	q, x, t := &f.Planted, &c.steps, f.Planted.Trade
	extra, further := c.direction, c.carry
	if c.gamer {
		extra, further = t.own(c)
	}
	direction = q.Direction.mean(x, &p.Direction, &p.Scores) + extra
	if f.Options.Trade.Pairs {
		direction += t.Pair * x[Length] * x[ShaftWeight]
	}
	if f.Options.Trade.Strikes {
		direction += 100 * (t.Toe*p.strike[0]*x[HeadWeight] + t.High*p.strike[1]*x[Loft])
	}
	return direction, q.CarryControl.mean(x, &p.CarryControl, &p.Scores), q.Carry.mean(x, &p.Carry, &p.Scores) + further
}

// hit draws one trial with a ball, and says its name.
func (s *sitting) hit(club *fleetBuild, ball Part, shots int) string {
	s.trials++
	f, b, p, r := s.f, s.b, s.p, s.r
	name := fmt.Sprintf("%s-%02d", s.id, s.trials)
	b.ball = ball.Model
	b.settingID = f.stock.setting(s.category, ball.Model)
	side, hand := 1.0, "right"
	if p.Left {
		side, hand = -1, "left"
	}
	direction, control, carry := f.truth(p, club)
	if !club.gamer {
		direction += s.faded
	}
	traits := p.Traits(fleetCategories[0])
	d := swingOf{traits: traits, strike: math.Exp(traits[5]), side: side, biasSide: 1, bias: b.bias, tails: f.Options.Tails,
		direction:  p.direction,
		loftChange: 0.8 * club.steps[Loft], centre: p.strike,
		lnDirection: p.lnDirection + direction + ball.Direction + normal(r, 0, f.Planted.Direction.TrialSD),
		lnCC:        p.lnCarry + control + normal(r, 0, f.Planted.CarryControl.TrialSD),
		carry:       max(20, 4.85*p.reach*traits[0]+carry+ball.Carry+normal(r, 0, f.Planted.Carry.TrialSD))}
	if club != s.before {
		s.swap = 0
	}
	s.before = club
	var part []fleetShot
	var row partRow
	from := s.order + 1
	for k := range shots {
		shot := d.draw(r, s.swap)
		if s.category == putting {
			shot = d.putt(r)
		}
		s.order++
		s.swap++
		b.now += betweenShots + int64(r.IntN(int(8*second)))
		if k == 0 {
			row.first = b.now
		}
		row.last = b.now
		part = append(part, shot)
		b.addShot(&shot, s.id, name, p.ID, s.fitter, hand, s.category, club, s.trials, 1, 0, k+1, s.order, s.swap, r.Uint64(), r.Uint64())
	}
	first, last := row.first, row.last
	row = summarize(part)
	row.first, row.last, row.firstOrder = first, last, from
	b.addTrial(s.id, name, p.ID, s.fitter, hand, s.category, club, 1, 0, s.trials, &row)
	s.at = append(s.at, trial.Circumstance{Device: b.bias.Device, Setting: b.settingID, Class: int32(event.ShotClass_CLASS_FULL)})
	b.now += betweenTrials
	return name
}

// end numbers the levels: what may be compared.
func (s *sitting) end() {
	for i, level := range trial.Levels(s.at) {
		s.b.t.level[s.firstRow+i] = uint16(level)
	}
	s.b.ball, s.b.settingID = "", ""
}

// own is a player's own driver.
func (f *Fleet) own(p *FleetPlayer) *fleetBuild {
	return f.builds.of(p.gamers[0], true, false)
}

// trade draws a player's whole story: a fitting, perhaps putters, perhaps a hit
// check later. Of them it returns the verdict, if there was one.
func (f *Fleet) trade(b *bayRows, p *FleetPlayer) (verdicts []store.VerdictRow, sessions int) {
	r, o, t := source(f.Options.Seed, "fleet trade", p.ID), &f.Options.Trade, f.Planted.Trade
	if o.Years > 0 {
		b.now = max(b.now, f.when(r, p.Number))
	}
	fitter := r.IntN(len(t.Promised))
	day := b.now
	s := f.sit(b, p, r, fmt.Sprintf("s%08d-1", p.Number), fitter, 0)
	own, shots := f.own(p), f.Options.Shots
	s.hit(own, t.Balls[0], shots)
	baseline := s.hit(own, t.Balls[0], shots)
	tried := map[*fleetBuild]string{}
	for range 5 {
		c := pick(r, f.stock.drivers)
		tried[c] = s.hit(c, t.Balls[0], shots)
	}
	if o.Balls {
		s.hit(own, t.Balls[1+r.IntN(len(t.Balls)-1)], shots)
	}
	s.end()
	sessions++
	if o.Verdicts {
		v, chosen := s.decide(tried, own, baseline, day, fitter)
		if chosen != nil && chance(r, o.Checks) {
			now := b.now
			v.CheckTrial = s.check(chosen, own)
			b.now = now
			sessions++
		}
		verdicts = append(verdicts, v)
	}
	if chance(r, o.Putters) {
		s := f.sit(b, p, r, fmt.Sprintf("s%08d-3", p.Number), fitter, putting)
		for range 5 {
			s.hit(pick(r, f.stock.putters), t.Balls[0], shots)
		}
		s.end()
		sessions++
	}
	b.rest()
	return verdicts, sessions
}

// decide ends a session: the own club stays, or one of those tried is taken, by
// how gladly its parts are.
func (s *sitting) decide(tried map[*fleetBuild]string, own *fleetBuild, baseline string, day int64, fitter int) (store.VerdictRow,
	*fleetBuild) {
	f, r, t := s.f, s.r, s.f.Planted.Trade
	v := store.VerdictRow{Place: stream.Place{Studio: s.b.studio, Bay: s.b.bay}, ID: "v" + s.id, Version: 1, Visit: s.id, Session: s.id,
		Player: s.p.ID, Category: fleetCategories[0], At: s.b.now, Live: true,
		Given: &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_KEEP_GAMER, Trial: baseline, Baseline: baseline, Build: own.build}}
	if !chance(r, min(0.95, t.Sold+t.Growth*f.months(day))) {
		return v, nil
	}
	total, chosen := 0.0, (*fleetBuild)(nil)
	for _, c := range f.stock.drivers { // in one order, whatever the map's
		if tried[c] != "" && c.chosen > 0 {
			if total += c.chosen; r.Float64()*total < c.chosen {
				chosen = c
			}
		}
	}
	if chosen == nil {
		return v, nil
	}
	from, _, short := f.truth(s.p, own)
	to, _, long := f.truth(s.p, chosen)
	const sure, sureCarry = 0.08, 2.0
	d := to - from - t.Promised[fitter] + normal(r, 0, sure)
	c := long - short + normal(r, 0, sureCarry)
	v.Given = &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD, Trial: tried[chosen], Baseline: baseline, Build: chosen.build,
		Promises: []*event.Promise{
			{Outcome: "direction", Change: d, Low: d - 1.96*sure, High: d + 1.96*sure, ProbabilityBetter: below(-d / sure)},
			{Outcome: "carry", Change: c, Low: c - 1.96*sureCarry, High: c + 1.96*sureCarry, ProbabilityBetter: below(c / sureCarry)}}}
	return v, chosen
}

func below(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// check hits the delivered club again, at collection or months later, beside the
// own one more often than not.
func (s *sitting) check(chosen, own *fleetBuild) (name string) {
	f, b, r := s.f, s.b, s.r
	days, faded := between(r, 10, 40), 0.0
	if chance(r, 0.5) {
		days, faded = between(r, 90, 250), f.Planted.Trade.Fades
	}
	b.now += int64(days) * 86400 * second
	c := f.sit(b, s.p, r, fmt.Sprintf("s%08d-2", s.p.Number), 0, 0)
	c.fitter, c.faded = s.fitter, faded
	ball, shots := f.Planted.Trade.Balls[0], 3*f.Options.Shots
	c.hit(own, ball, shots)
	name = c.hit(chosen, ball, shots)
	c.end()
	return name
}

// putting is the category of putters, which players have beside those of fleets.
const putting = len(fleetCategories)

// putt draws a putt of six metres: start line and ball speed, and nothing that
// flies.
func (s *swingOf) putt(r *rand.Rand) (out fleetShot) {
	for i := range out.v {
		out.v[i] = math.NaN()
	}
	out.direction = s.side * math.Round(100*(0.2*s.direction+math.Exp(s.lnDirection-math.Log(3.1))*r.NormFloat64())) / 100
	out.v[atBall] = math.Round(100*(2.2+0.06*math.Exp(s.lnCC-math.Log(4.6))*r.NormFloat64())) / 100
	out.v[atLaunch] = tenth(2 + 0.4*r.NormFloat64())
	return out
}
