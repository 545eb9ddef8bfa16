package sim

import (
	"context"
	"fmt"

	"fairlead/ingest/contract/event"
)

// The words and shares of what a fitter does in a visit.
const (
	mends         = 0.85 // of the forgotten swaps
	showsShot     = 0.12 // of the trials
	hidesShow     = 0.3  // of those: not entered that it was the fitter
	instructs     = 0.25 // of the sessions
	rehearses     = 0.15 // of the trials: a practice swing that the device takes for a shot
	pauses        = 0.12 // between trials
	wrongHand     = 0.04 // of the sessions: opened with the wrong hand
	checkShare    = 0.3  // of the visits: a delivered club is hit, when one is there
	fewestShots   = 6
	mostShotsMore = 4
)

// visit runs a player's visit with one session.
func (b *bay) visit(ctx context.Context) error {
	b.visits++
	b.s.Visits++
	var guest *Player
	if b.o.Guest != nil {
		guest = b.o.Guest(b.number, b.visits)
	}
	var due *check
	if guest == nil && len(b.checks) > 0 && chance(b.r, checkShare) {
		due = &b.checks[0]
		b.player = due.player
	} else {
		if b.player = guest; guest == nil {
			b.player = PlayerOf(b.o.Seed, b.number, b.visits)
		}
		b.truth.write(playerRecord(b.player))
	}
	b.meet(ctx, b.player, false)
	category := b.category()
	if due != nil {
		category = due.club.Category
	}
	b.visitID, b.session = b.newID(), b.newID()
	b.swinger = NewSwinger(b.player, source(b.o.Seed, "swings", b.name, fmt.Sprint(b.visits)), b.air)
	b.entered, b.enteredHitter, b.trials, b.notes, b.inHand = nil, event.HitterKind_HITTER_PLAYER, nil, nil, nil
	b.open(ctx, category, guest != nil)
	var err error
	if due != nil {
		err = b.checkVisit(ctx, *due)
		b.checks = b.checks[1:]
	} else {
		err = b.fitting(ctx, category)
	}
	b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}})
	b.s.Sessions++
	b.tally()
	return err
}

// category is what the bay's devices can see.
func (b *bay) category() string {
	if b.visits == 1 && b.begins != "" {
		return b.begins
	}
	if b.o.Category != "" {
		return b.o.Category
	}
	for _, f := range b.feeds {
		if f.Role == event.Role_ROLE_ROLL || f.Role == event.Role_ROLE_STROKE {
			return "putter"
		}
	}
	return pick(b.r, []string{"driver", "driver", "iron", "iron", "iron", "wood", "hybrid", "wedge"})
}

func (b *bay) open(ctx context.Context, category string, guest bool) {
	hand := b.player.Hand()
	wrong := chance(b.r, wrongHand)
	if wrong {
		hand = event.Hand_HAND_RIGHT + event.Hand_HAND_LEFT - hand
	}
	b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{
		Player: b.player.ID, Hand: hand, Category: category, Fitter: b.fitter.ID, Aim: pick(b.r, aimsOf(category)),
		PoolingConsent: chance(b.r, 0.8) || guest, Minor: chance(b.r, 0.05) && !guest,
	}}})
	setting := &event.SettingChanged{Place: "indoor", Surface: "mat", BallModel: "Buoy Tour", BallClass: "premium"}
	switch category {
	case "driver":
		tee := 0.045
		setting.Surface, setting.TeeHeightM = "tee", &tee
	case "putter":
		speed, target := greenSpeed, puttTarget
		setting.GreenSpeedM, setting.TargetDistanceM = &speed, &target
	}
	b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_SettingChanged{SettingChanged: setting}})
	if wrong {
		b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_SessionCorrected{SessionCorrected: &event.SessionCorrected{Hand: b.player.Hand()}}})
	}
}

// fitting measures the gamer, tries candidates that change one thing at a time,
// comes back to the gamer, and decides.
func (b *bay) fitting(ctx context.Context, category string) error {
	gamer := b.player.Gamer(category)
	b.swinger.Warm(between(b.r, 0, 5))
	b.take(ctx, gamer)
	if _, known := gamer.Build.Number(event.BuildField_BUILD_LENGTH); !known && chance(b.r, 0.4) {
		b.measure(ctx, gamer)
	}
	if err := b.run(ctx, gamer, between(b.r, 8, 10)); err != nil {
		return err
	}
	told := chance(b.r, instructs)
	tried := between(b.r, 2, 4)
	instructAt := b.r.IntN(tried)
	for i := range tried {
		if b.over(ctx) {
			return nil
		}
		b.between(ctx)
		c := candidate(b.r, gamer, fmt.Sprintf("%s-%d-%d", b.name, b.visits, i+1))
		if err := b.swap(ctx, c); err != nil {
			return err
		}
		if told && i == instructAt && !b.over(ctx) {
			b.instruct(ctx)
			if err := b.run(ctx, c, fewestShots); err != nil {
				return err
			}
		}
	}
	if b.over(ctx) {
		return nil
	}
	if err := b.swap(ctx, gamer); err != nil { // the incumbent again, at the end
		return err
	}
	b.verdict(ctx, gamer)
	return nil
}

// checkVisit hits the club that the shop made, and enters what came of it.
func (b *bay) checkVisit(ctx context.Context, c check) error {
	club := delivered(b.r, c.club, fmt.Sprintf("%s-%d-made", b.name, b.visits))
	b.take(ctx, club)
	trial := b.entered
	if err := b.run(ctx, club, between(b.r, 6, 8)); err != nil {
		return err
	}
	b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_HitChecked{HitChecked: &event.HitChecked{
		Verdict: c.verdict, Trial: trial.id, Build: club.Build, Words: "length, loft and lie measured at collection",
	}}})
	return nil
}

// take puts a club into the player's hand and enters it.
func (b *bay) take(ctx context.Context, c *Club) {
	b.hold(c)
	b.enter(ctx, c)
}

// hold puts a club into the player's hand.
func (b *bay) hold(c *Club) {
	if b.inHand != nil && b.inHand != c {
		b.s.Swaps++
	}
	b.inHand = c
	if key := b.player.ID + "/" + c.ID; !b.heard[key] {
		if b.heard == nil {
			b.heard = map[string]bool{}
		}
		b.heard[key] = true
		var effects []TrueOutcome
		if b.truth.w != nil {
			effects = TrueEffects(b.player, c, b.air)
		}
		b.truth.write(clubRecord(b.player, c, effects))
	}
}

// enter starts a trial with a club.
func (b *bay) enter(ctx context.Context, c *Club) {
	t := &trialNote{id: b.newID(), club: c}
	b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: t.id, Build: c.Build}}})
	b.entered = t
	b.trials = append(b.trials, t)
	b.s.Trials++
}

// measure measures the gamer's length before it was hit, and says so.
func (b *bay) measure(ctx context.Context, c *Club) {
	c.tell(event.BuildField_BUILD_LENGTH, event.Knowledge_KNOWLEDGE_MEASURED, round(c.True[Length], 3))
	b.truth.write(clubRecord(b.player, c, nil))
	b.say(ctx, &event.VisitEvent{Body: &event.VisitEvent_BuildAmended{BuildAmended: &event.BuildAmended{Trial: b.entered.id, Build: c.Build}}})
}

// tally counts the session's hits when nothing more will be mended.
func (b *bay) tally() {
	for _, n := range b.notes {
		if !n.standing || n.practice {
			continue
		}
		b.s.Standing++
		if n.wrongFirst {
			b.s.MislabelledFirst++
		}
		if n.wrong() {
			b.s.MislabelledLast++
		}
	}
}
