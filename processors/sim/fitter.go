package sim

import (
	"context"
	"math"

	"fairlead/ingest/contract/event"
)

// swap changes the club and lets the player hit it. One swap in ten the fitter
// does not enter; mostly that is noticed after a few shots, which are then moved.
func (b *bay) swap(ctx context.Context, c *Club) error {
	shots := fewestShots + b.r.IntN(mostShotsMore+1)
	b.hold(c)
	if !chance(b.r, b.o.Forget) {
		b.enter(ctx, c)
		return b.run(ctx, c, shots)
	}
	b.s.Forgotten++
	before := len(b.notes)
	notices := shots + 1
	if chance(b.r, mends) {
		notices = between(b.r, 2, shots)
	}
	if err := b.run(ctx, c, min(notices, shots)); err != nil {
		return err
	}
	slip := SlipRecord{Record: "slip", Bay: b.name, Session: b.session, What: "swap", Mended: notices <= shots}
	var ids [][]byte
	var moved []*hitNote
	for _, n := range b.notes[before:] {
		if n.club == c && n.trial == b.entered {
			moved = append(moved, n)
			ids = append(ids, n.ids...)
		}
	}
	slip.Shots = len(moved)
	b.truth.write(slip)
	if !slip.Mended {
		return nil
	}
	b.s.Mended++
	b.enter(ctx, c)
	if len(ids) > 0 {
		b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_ShotsMoved{ShotsMoved: &event.ShotsMoved{ShotIds: ids, Trial: b.entered.id}}})
		for _, n := range moved {
			n.trial = b.entered
		}
		b.s.MovedShots += len(ids)
	}
	return b.run(ctx, c, shots-notices)
}

// run lets the player hit so many shots, with what happens around them.
func (b *bay) run(ctx context.Context, c *Club, shots int) error {
	if shots <= 0 || b.over(ctx) {
		return nil
	}
	from := len(b.notes)
	if chance(b.r, rehearses) {
		n, ok, err := b.hit(ctx, b.swinger, event.HitterKind_HITTER_PLAYER, true)
		if err != nil || !ok {
			return err
		}
		if len(n.ids) > 0 {
			b.say(ctx,
				&event.VisitEvent{Body: &event.VisitEvent_ClassChanged{ClassChanged: &event.ClassChanged{Class: event.ShotClass_CLASS_PRACTICE,
					ShotIds: n.ids}}})
		}
	}
	shows := -1
	if chance(b.r, showsShot) {
		shows = b.r.IntN(shots)
	}
	for i := range shots {
		n, ok, err := b.hit(ctx, b.swinger, event.HitterKind_HITTER_PLAYER, false)
		if err != nil {
			return err
		}
		if !ok {
			break
		}
		b.lookAt(ctx, n)
		if i == shows {
			if err := b.show(ctx); err != nil {
				return err
			}
		}
	}
	if b.entered != nil && len(b.notes) > from && chance(b.r, 0.7) {
		words := feels
		if c.Category == "putter" {
			words = puttFeels
		}
		said := pick(b.r, words)
		b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_FeelNoted{FeelNoted: &event.FeelNoted{Trial: b.entered.id, Words: said,
			Liking: liking(said, int32(between(b.r, -2, 2)))}}})
	}
	return nil
}

// lookAt excludes a spoiled shot with its reason, nearly always; now and then
// the player wants it back in.
func (b *bay) lookAt(ctx context.Context, n *hitNote) {
	if n.mishit == "" || len(n.ids) == 0 || !chance(b.r, 0.9) {
		return
	}
	b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{ShotIds: n.ids, Reason: n.mishit}}})
	n.excluded = true
	if chance(b.r, 0.05) {
		b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_ShotsRestored{ShotsRestored: &event.ShotsRestored{ShotIds: n.ids,
			Reason: "that is a shot I hit on the course too"}}})
		n.excluded = false
	}
}

// show is the fitter hitting a shot with the club at hand. Sometimes nobody
// enters it; most of those are excluded when they are noticed.
func (b *bay) show(ctx context.Context) error {
	hidden := chance(b.r, hidesShow)
	change := func(kind event.HitterKind, who *Player) {
		h := &event.HitterChanged{Kind: kind}
		if kind != event.HitterKind_HITTER_PLAYER {
			h.Hitter, h.Hand = who.ID, who.Hand()
		}
		b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_HitterChanged{HitterChanged: h}})
		b.enteredHitter = kind
	}
	if !hidden {
		change(event.HitterKind_HITTER_FITTER, b.fitter)
	}
	s := NewSwinger(b.fitter, b.r, b.air)
	s.Warm(20)
	n, ok, err := b.hit(ctx, s, event.HitterKind_HITTER_FITTER, false)
	if !hidden {
		change(event.HitterKind_HITTER_PLAYER, b.player)
	}
	if err != nil || !ok || !hidden {
		return err
	}
	slip := SlipRecord{Record: "slip", Bay: b.name, Session: b.session, What: "hitter", Mended: chance(b.r, 0.7), Shots: 1}
	b.truth.write(slip)
	if slip.Mended && len(n.ids) > 0 {
		b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{ShotIds: n.ids,
			Reason: "hit by the fitter"}}})
		n.excluded = true
	}
	return nil
}

// between is what happens between two trials: mostly nothing, sometimes a
// pause in which a guest may hit a ball.
func (b *bay) between(ctx context.Context) {
	if !chance(b.r, pauses) {
		return
	}
	running := b.entered
	b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_TrialPaused{TrialPaused: &event.TrialPaused{}}})
	b.entered = nil
	if chance(b.r, 0.5) {
		guest := NewPlayer(b.o.Seed, 0xe000+b.number*100+b.visits%100)
		if _, _, err := b.hit(ctx, NewSwinger(guest, b.r, b.air), event.HitterKind_HITTER_GUEST, false); err != nil {
			b.o.Log.Warn("guest's shot not written", "bay", b.name, "err", err)
		}
	}
	b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_TrialResumed{TrialResumed: &event.TrialResumed{}}})
	b.entered = running
}

// instruct changes the player's swing, and says so.
func (b *bay) instruct(ctx context.Context) {
	kind, words := event.InstructionKind_INSTRUCTION_SWING, pick(b.r, swingWords)
	change := Effect{Path: normal(b.r, 0.8, 0.6), FaceToPath: normal(b.r, -0.4, 0.4), Spread: 0.08}
	if chance(b.r, 0.4) {
		kind, words = event.InstructionKind_INSTRUCTION_SETUP, pick(b.r, setupWords)
		change = Effect{Attack: normal(b.r, 0.7, 0.4)}
	}
	b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_InstructionNoted{InstructionNoted: &event.InstructionNoted{Words: words,
		Kind: kind}}})
	b.swinger.Instruct(change)
}

// verdict decides by eye, as people do: the trial that carried farthest, when
// the player is not set on the own club.
func (b *bay) verdict(ctx context.Context, gamer *Club) {
	own := b.carries(gamer)
	var best *trialNote
	bestMean := own.mean
	for _, t := range b.trials {
		if m := b.carries(t.club); t.club != gamer && m.n >= 3 && (best == nil || m.mean > bestMean) {
			best, bestMean = t, m.mean
		}
	}
	v := &event.VerdictGiven{Baseline: b.trials[0].id}
	switch x := b.r.Float64(); {
	case best == nil || x < 0.2:
		v.Kind, v.Words, v.Baseline = event.VerdictKind_VERDICT_KEEP_GAMER, "nothing beat it by enough", ""
	case x < 0.28:
		v.Kind, v.Words, v.Baseline = event.VerdictKind_VERDICT_SETUP, "ball position first, then clubs", ""
	case x < 0.36:
		v.Kind, v.Trial, v.Words = event.VerdictKind_VERDICT_TEST_AGAIN, best.id, "too close to call today"
	default:
		v.Kind, v.Trial, v.Build, v.Words = event.VerdictKind_VERDICT_BUILD, best.id, best.club.Build, "make it as tested"
		if m := b.carries(best.club); gamer.Category != "putter" && own.n >= 3 {
			se := math.Sqrt(m.variance/float64(m.n) + own.variance/float64(own.n))
			change := m.mean - own.mean
			v.Promises = []*event.Promise{{Outcome: "carry", Change: change, Low: change - 2*se, High: change + 2*se,
				ProbabilityBetter: 0.5 * math.Erfc(-change/(se+1e-9)/math.Sqrt2)}}
		}
	}
	id := b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_VerdictGiven{VerdictGiven: v}})
	if v.Kind == event.VerdictKind_VERDICT_BUILD {
		b.checks = append(b.checks, check{b.player, best.club, id})
	}
}

type sample struct {
	n              int
	mean, variance float64
}

// carries is what the fitter's screen shows of a club's carries.
func (b *bay) carries(c *Club) (s sample) {
	var sum, squares float64
	for _, n := range b.notes {
		if n.trial != nil && n.trial.club == c && n.standing && !n.practice && !n.excluded && n.as == event.HitterKind_HITTER_PLAYER {
			s.n++
			sum += n.carry
			squares += n.carry * n.carry
		}
	}
	if s.n > 0 {
		s.mean = sum / float64(s.n)
	}
	if s.n > 1 {
		s.variance = max(0, (squares-sum*s.mean)/float64(s.n-1))
	}
	return s
}
