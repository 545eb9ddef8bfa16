package sim

import (
	"encoding/binary"
	"fmt"
	"math"

	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
	"fairlead/processors/visit/trial"
)

// words collects texts as dictionary and keys.
type words struct {
	store.Words
	at map[string]uint32
}

func (w *words) key(s string) uint32 {
	k, ok := w.at[s]
	if !ok {
		if w.at == nil {
			w.at = map[string]uint32{}
		}
		k = uint32(len(w.Dict))
		w.Dict = append(w.Dict, s)
		w.at[s] = k
	}
	return k
}

func (w *words) add(s string) { w.Keys = append(w.Keys, w.key(s)) }

// bayRows are the rows of one bay, entries and trials, by columns.
type bayRows struct {
	studio, bay, journal string
	bias                 *bayBias
	seq                  uint64
	now                  int64 // Unix ns, where the bay's day is
	today                int   // sessions

	// Of each shot.
	fields                         [len(fleetFields)][]float64
	direction                      []float64
	ids                            [][16]byte
	effective                      []int64
	status, visit, session, trial  words
	build, player, fitter, hand    words
	category, instruction, setting words
	surface, ballModel             words
	ball, settingID                string // of the trial at hand, where they are not the category's
	number, part, instructions     []uint16
	orderTrial, orderSession, swap []uint32

	// Of each part of a trial.
	t trialRows
}

type trialRows struct {
	session, trial, visit, player, fitter, hand, category, build, name words
	head, shaft, flex, instruction, kind, setting, surface, ball, grip words
	part, level, order                                                 []uint16
	gamer                                                              []bool
	attributes                                                         [attributes]store.Gaps
	firstOrder, n, excluded                                            []uint32
	first, last                                                        []int64
	carry, offline, cc, co, oo, direction, dss, d4, c4                 []float64
	field                                                              store.Lists[uint8]
	fieldN                                                             store.Lists[uint32]
	fieldMean, fieldSS                                                 store.Lists[float64]
	landings                                                           []uint32
	given                                                              choice // of the part that is added next
	choice                                                             words
	chance                                                             []float64
	offered                                                            []uint8
}

const (
	second        = int64(1e9)
	betweenShots  = 22 * second
	betweenTrials = 95 * second
	fleetVersion  = 1
)

// fleetSettings are the settings of the categories: the ball and the place are
// the same everywhere.
var fleetSettings = [...]visit.Setting{
	{Place: "indoor", Surface: "tee", BallModel: "Buoy Tour", BallClass: "premium"},
	{Place: "indoor", Surface: "mat", BallModel: "Buoy Tour", BallClass: "premium"},
	putting: {Place: "indoor", Surface: "green", BallModel: "Buoy Tour", BallClass: "premium"},
}

var fleetSettingIDs = [...]string{fleetSettings[0].ID(), fleetSettings[1].ID(), fleetSettings[putting].ID()}

// categoryWords are the fleet's categories and putters.
var categoryWords = [...]string{fleetCategories[0], fleetCategories[1], "putter"}

// settingOf is the setting and the ball of what is hit now.
func (b *bayRows) settingOf(category int) (id, ball string) {
	if b.settingID != "" {
		return b.settingID, b.ball
	}
	return fleetSettingIDs[category], fleetSettings[category].BallModel
}

func (f *Fleet) newBayRows(studio, bay int) *bayRows {
	bias := &f.bays[studio*len(fleetBays)+bay]
	b := &bayRows{studio: bias.Studio, bay: bias.Bay, journal: fmt.Sprintf("%016x", f.Options.Seed<<32|uint64(studio)<<8|uint64(bay)),
		bias: bias, now: f.Options.Start}
	b.grow(min(f.Options.PerStudio, f.Options.Players) * f.Options.Shots * 10 / len(fleetBays))
	return b
}

// grow makes room for about so many shots, since copying grown columns costs
// as much as drawing them.
func (b *bayRows) grow(shots int) {
	for i := range b.fields {
		b.fields[i] = make([]float64, 0, shots)
	}
	b.direction, b.ids, b.effective = make([]float64, 0, shots), make([][16]byte, 0, shots), make([]int64, 0, shots)
	for _, w := range []*words{&b.status, &b.visit, &b.session, &b.trial, &b.build, &b.player, &b.fitter, &b.hand, &b.category,
		&b.instruction,
		&b.setting, &b.surface, &b.ballModel} {
		w.Keys = make([]uint32, 0, shots)
	}
	for _, n := range []*[]uint16{&b.number, &b.part, &b.instructions} {
		*n = make([]uint16, 0, shots)
	}
	for _, n := range []*[]uint32{&b.orderTrial, &b.orderSession, &b.swap} {
		*n = make([]uint32, 0, shots)
	}
}

// session draws one session of a player and appends its rows.
func (f *Fleet) session(b *bayRows, p *FleetPlayer, number, category int) {
	r := p.r
	o := &f.Options
	id := fmt.Sprintf("s%08d-%d", p.Number, number)
	fitter := fmt.Sprintf("f-%s-%d", b.studio, r.IntN(4))
	side, hand, biasSide := 1.0, "right", 1.0
	if p.Left {
		side, hand = -1, "left"
	}
	if o.MirrorAll {
		biasSide = -1
	}
	traits := p.Traits(fleetCategories[category])
	fast := p.Scores[0] > 0
	own := p.gamers[category]
	candidates := between(r, 3, 6)
	clubs, given := []*fleetBuild{f.builds.of(own, true, p.unknown)}, []choice{{}}
	for range candidates {
		c, how := f.choose(r, p, own, fast)
		clubs, given = append(clubs, c), append(given, how)
	}
	if chance(r, 0.6) {
		clubs, given = append(clubs, clubs[0]), append(given, choice{}) // the incumbent again
	}
	instructAt := -1
	if chance(r, o.Instructed) {
		instructAt = between(r, 1, candidates)
	}
	var circumstances []trial.Circumstance
	told, order := 0, 0
	firstRow := len(b.t.part)
	var before *fleetBuild
	swap := 0
	for i, club := range clubs {
		name := fmt.Sprintf("%s-%02d", id, i+1)
		shots := max(2, o.Shots-2+r.IntN(5))
		q := &f.Planted
		s := swingOf{category: category, traits: traits, side: side, biasSide: biasSide, bias: b.bias, tails: o.Tails, mishits: o.Mishits,
			excluded:  o.Excluded,
			direction: p.direction, loftChange: 0.8 * club.steps[Loft]}
		s.strike = math.Exp(traits[5])
		dirNoise, ccNoise, carryNoise := normal(r, 0, q.Direction.TrialSD), normal(r, 0, q.CarryControl.TrialSD), normal(r, 0, q.Carry.TrialSD)
		per := 4.85
		if category == 1 {
			per = 4.45
		}
		var wander [2]float64
		if o.Wander > 0 {
			wander = [2]float64{normal(r, 0, o.Wander), normal(r, 0, o.Wander)}
		}
		set := func() {
			x := &club.steps
			s.lnDirection = p.lnDirection + q.Direction.mean(x, &p.Direction, &p.Scores) + q.Direction.order(i) + dirNoise + b.bias.Scatter
			s.lnCC = p.lnCarry + q.CarryControl.mean(x, &p.CarryControl, &p.Scores) + q.CarryControl.order(i) + ccNoise + b.bias.Scatter
			s.carry = max(20, per*p.reach*traits[0]+q.Carry.mean(x, &p.Carry, &p.Scores)+q.Carry.order(i)+carryNoise)
			if told > 0 {
				s.lnDirection += q.Direction.Instruction
				s.lnCC += q.CarryControl.Instruction
				s.carry += q.Carry.Instruction
			}
			s.direction = p.direction + wander[0]*math.Exp(s.lnDirection)
			s.carry = max(20, s.carry*(1+wander[1]*math.Exp(s.lnCC)/100))
			s.settling = [2]float64{q.Direction.Settling, q.CarryControl.Settling}
		}
		set()
		if club != before {
			swap = 0
		}
		before = club
		var part []fleetShot
		partNumber, partOrder := 1, order
		var firstAt, lastAt int64
		inTrial := 0
		closePart := func() {
			if len(part) == 0 {
				return
			}
			row := summarize(part)
			b.t.given = given[i]
			row.first, row.last, row.firstOrder = firstAt, lastAt, partOrder
			b.addTrial(id, name, p.ID, fitter, hand, category, club, partNumber, told, i+1, &row)
			circumstances = append(circumstances, trial.Circumstance{Device: b.bias.Device, Setting: fleetSettingIDs[category], Instructions: told,
				Class: int32(event.ShotClass_CLASS_FULL)})
			part = part[:0]
		}
		for k := range shots {
			if i == instructAt && k == shots/2 {
				closePart()
				told++
				partNumber++
				firstAt = 0
				set()
			}
			shot := s.draw(r, swap)
			order++
			inTrial++
			swap++
			b.now += betweenShots + int64(r.IntN(int(8*second)))
			if !shot.excluded {
				if firstAt == 0 {
					firstAt, partOrder = b.now, order
				}
				lastAt = b.now
			}
			part = append(part, shot)
			b.addShot(&shot, id, name, p.ID, fitter, hand, category, club, i+1, partNumber, told, inTrial, order, swap, r.Uint64(), r.Uint64())
		}
		closePart()
		b.now += betweenTrials
	}
	for i, level := range trial.Levels(circumstances) {
		b.t.level[firstRow+i] = uint16(level)
	}
	b.rest()
}

// rest moves the bay on to its next session: eight a day.
func (b *bayRows) rest() {
	b.now += 600 * second
	if b.today++; b.today%8 == 0 {
		const day = 86400 * second
		b.now = (b.now/day+1)*day + 8*3600*second
	}
}

const instructionText = "slower back"

func (b *bayRows) addShot(s *fleetShot, session, name, player, fitter, hand string, category int, club *fleetBuild, number, part, told,
	inTrial, order, swap int, id1, id2 uint64) {
	b.seq++
	for i, v := range s.v {
		b.fields[i] = append(b.fields[i], v)
	}
	b.direction = append(b.direction, s.direction)
	var id [16]byte
	binary.BigEndian.PutUint64(id[:8], id1)
	binary.BigEndian.PutUint64(id[8:], id2)
	b.ids = append(b.ids, id)
	b.effective = append(b.effective, b.now)
	status := "counts"
	if s.excluded {
		status = "excluded"
	}
	b.status.same(status)
	// A run of shots shares most of its texts: look up only what is new.
	b.visit.same(session)
	b.session.same(session)
	b.trial.same(name)
	b.build.same(club.key)
	b.player.same(player)
	b.fitter.same(fitter)
	b.hand.same(hand)
	setting, ball := b.settingOf(category)
	b.category.same(categoryWords[category])
	b.setting.same(setting)
	b.ballModel.same(ball)
	b.surface.same(fleetSettings[category].Surface)
	text := ""
	if told > 0 {
		text = instructionText
	}
	b.instruction.same(text)
	b.number = append(b.number, uint16(number))
	b.part = append(b.part, uint16(part))
	b.instructions = append(b.instructions, uint16(told))
	b.orderTrial = append(b.orderTrial, uint32(inTrial))
	b.orderSession = append(b.orderSession, uint32(order))
	b.swap = append(b.swap, uint32(swap))
}

// same adds a text that is likely to be the one before.
func (w *words) same(s string) {
	if n := len(w.Keys); n > 0 && w.Dict[w.Keys[n-1]] == s {
		w.Keys = append(w.Keys, w.Keys[n-1])
		return
	}
	w.add(s)
}

func (b *bayRows) addTrial(session, name, player, fitter, hand string, category int, club *fleetBuild, part, told, number int,
	row *partRow) {
	t := &b.t
	t.session.add(session)
	t.trial.add(name)
	t.visit.add(session)
	t.player.add(player)
	t.fitter.add(fitter)
	t.hand.add(hand)
	t.category.add(categoryWords[category])
	t.build.add(club.key)
	t.name.add(club.name)
	t.head.add(club.head)
	t.shaft.add(club.shaft)
	t.flex.add(club.flex)
	text, kind := "", "setup"
	if told > 0 {
		text, kind = instructionText, "swing"
	}
	t.instruction.add(text)
	t.kind.add(kind)
	setting, ball := b.settingOf(category)
	t.setting.add(setting)
	t.ball.add(ball)
	t.grip.add(club.grip)
	t.surface.add(fleetSettings[category].Surface)
	t.choice.add(t.given.why)
	t.chance, t.offered = append(t.chance, t.given.chance), append(t.offered, t.given.offered)
	t.part = append(t.part, uint16(part))
	t.level = append(t.level, 0)
	t.order = append(t.order, uint16(number))
	t.gamer = append(t.gamer, club.gamer)
	for a := range attributes {
		t.attributes[a].Values = append(t.attributes[a].Values, club.values[a])
		t.attributes[a].Unknown = append(t.attributes[a].Unknown, !club.known[a])
	}
	t.firstOrder = append(t.firstOrder, uint32(row.firstOrder))
	t.n = append(t.n, uint32(row.n))
	t.excluded = append(t.excluded, uint32(row.excluded))
	t.first, t.last = append(t.first, row.first), append(t.last, row.last)
	landings := row.n
	if category == putting {
		landings, row.carryOffline, row.carry4 = 0, 0, 0
		for _, f := range []int{atCarry, atOffline} {
			row.mean[f], row.ss[f] = 0, 0
		}
	}
	t.landings = append(t.landings, uint32(landings))
	t.carry, t.offline = append(t.carry, row.mean[atCarry]), append(t.offline, row.mean[atOffline])
	t.cc, t.co, t.oo = append(t.cc, row.ss[atCarry]), append(t.co, row.carryOffline), append(t.oo, row.ss[atOffline])
	t.direction, t.dss, t.d4, t.c4 = append(t.direction, row.directionMean), append(t.dss, row.directionSS), append(t.d4, row.dir4),
		append(t.c4, row.carry4)
	if row.n > 0 {
		for i, field := range fleetFields {
			if category == putting && i != atBall && i != atLaunch {
				continue
			}
			t.field.Values = append(t.field.Values, uint8(field))
			t.fieldN.Values = append(t.fieldN.Values, uint32(row.n))
			t.fieldMean.Values = append(t.fieldMean.Values, row.mean[i])
			t.fieldSS.Values = append(t.fieldSS.Values, row.ss[i])
		}
	}
	end := uint64(len(t.field.Values))
	t.field.Ends, t.fieldN.Ends, t.fieldMean.Ends, t.fieldSS.Ends = append(t.field.Ends, end), append(t.fieldN.Ends, end),
		append(t.fieldMean.Ends, end), append(t.fieldSS.Ends, end)
}
