package main

import (
	"context"
	"fmt"
	"time"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
)

// manner is how a visit goes.
type manner struct {
	each  int           // shots with a club
	apart time.Duration // between them
	late  int           // one in so many is written late; 0: none
	burst int           // shots written at once with the second club
	steps bool          // the device's clock is set, mostly wrongly, between clubs
}

// visit plays a session until ctx ends: clubs in turn, some shots late, some
// excluded or moved, pauses with shots that are nobody's.
func (h *hand) visit(ctx context.Context, m manner) error {
	const quiet = 500 * time.Millisecond // nobody swings while a club is changed
	session := h.bay + "-s"
	if err := h.say(ctx, "", "", "", &event.VisitEvent{Visit: "v-" + h.bay, Session: session, Body: &event.VisitEvent_SessionOpened{
		SessionOpened: &event.SessionOpened{Player: "p-" + h.bay, Hand: event.Hand_HAND_RIGHT, Category: "iron"}}}); err != nil {
		return err
	}
	before := ""
	for n := 1; ctx.Err() == nil; n++ {
		trial := fmt.Sprintf("%s-t%d", h.bay, n)
		if err := h.say(ctx, "start", trial, "", &event.VisitEvent{Session: session, Body: &event.VisitEvent_TrialStarted{
			TrialStarted: &event.TrialStarted{Trial: trial, Build: &event.Build{Name: trial,
				Specs: []*event.Spec{{Field: event.BuildField_BUILD_LOFT, Number: 28 + float64(n%6)}}}}}}); err != nil {
			return err
		}
		proof.Rest(ctx, quiet)
		if n == 2 && m.burst > 0 {
			h.burst(m.burst)
		}
		if m.steps && n > 1 && h.rng.IntN(2) == 0 {
			h.off = time.Duration(h.rng.IntN(14400)-7200) * time.Second
		}
		last := ""
		for i := 0; i < m.each && ctx.Err() == nil; i++ {
			last = h.swing(m.late > 0 && n > 1 && h.rng.IntN(m.late) == 0)
			proof.Rest(ctx, m.apart/2+time.Duration(h.rng.Int64N(int64(m.apart))))
		}
		proof.Rest(ctx, quiet)
		var err error
		switch h.rng.IntN(4) {
		case 0:
			err = h.say(ctx, "exclude", "", last, &event.VisitEvent{Session: session, Body: &event.VisitEvent_ShotsExcluded{
				ShotsExcluded: &event.ShotsExcluded{ShotIds: [][]byte{h.idOf(last)}, Reason: "slipped"}}})
		case 1:
			if before != "" {
				err = h.say(ctx, "move", before, last, &event.VisitEvent{Session: session, Body: &event.VisitEvent_ShotsMoved{
					ShotsMoved: &event.ShotsMoved{ShotIds: [][]byte{h.idOf(last)}, Trial: before}}})
			}
		case 2:
			if err = h.say(ctx, "pause", "", "", &event.VisitEvent{Session: session, Body: &event.VisitEvent_TrialPaused{}}); err == nil {
				proof.Rest(ctx, quiet)
				h.swing(false)
				proof.Rest(ctx, quiet)
			}
		}
		if err != nil {
			return err
		}
		before = trial
		if time.Since(h.kept) > 5*time.Second { // longer than a device's time may be off
			h.release()
		}
	}
	return nil
}
