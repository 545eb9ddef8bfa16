package rolling

import (
	"fmt"
	"math/rand/v2"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

// clubMeans is what a simulated build gives: launch (deg), spin (rpm), ball
// speed (m/s), carry (m).
type clubMeans struct{ launch, spin, ball, carry float64 }

// world is a session in one bay, hit as told.
type world struct {
	r      *rand.Rand
	log    visit.Log
	shots  []Shot
	clock  int64
	trial  string
	trials int
	order  int
	inside int
	mishit float64
}

func newWorld(seed uint64, category string) *world {
	w := &world{r: rand.New(rand.NewPCG(seed, 77)), clock: 1e18}
	w.say(&event.VisitEvent{Session: "s", Visit: "v", Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{
		Player: "p", Hand: event.Hand_HAND_RIGHT, Category: category}}})
	return w
}

func (w *world) say(ev *event.VisitEvent) {
	w.clock += 1e9
	ev.Id, ev.Studio, ev.Bay, ev.EffectiveUnixNs, ev.RecordedUnixNs = fmt.Sprintf("e%d", w.log.Len()), "harbour-row", "north", w.clock, w.clock
	w.log.Add(ev)
}

// enter starts a trial.
func (w *world) enter(name string, gamer bool, specs ...*event.Spec) string {
	w.trials++
	w.trial, w.inside = fmt.Sprintf("t%d", w.trials), 0
	w.say(&event.VisitEvent{Session: "s", Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: w.trial,
		Build: &event.Build{Name: name, Gamer: gamer, Specs: specs}}}})
	return w.trial
}

// hit adds a shot with a club to the trial that was entered.
func (w *world) hit(c clubMeans) {
	w.clock += 1e9
	w.order++
	w.inside++
	s := Shot{Received: w.clock}
	s.Key = tag.Key{Journal: "00000000000000aa", Seq: uint64(w.order), ID: event.ShotIDFor("d", fmt.Sprint(w.order))}
	swing := w.r.NormFloat64() // what launch and spin have in common
	speed := c.ball * (1 + 0.015*w.r.NormFloat64())
	launch := c.launch + 0.6*swing + 0.7*w.r.NormFloat64()
	spin := c.spin * (1 + 0.03*swing + 0.05*w.r.NormFloat64())
	carry, offline := c.carry+3.5*w.r.NormFloat64(), 5*w.r.NormFloat64()
	if w.r.Float64() < w.mishit {
		speed, launch, spin, carry = speed*0.88, launch+3*w.r.NormFloat64(), spin*(1+0.2*w.r.NormFloat64()), carry*0.85
	}
	e := &event.Entry{}
	for f, v := range map[event.Field]float64{
		event.Field_FIELD_LAUNCH_ANGLE: launch, event.Field_FIELD_SPIN_RATE: spin, event.Field_FIELD_BALL_SPEED: speed,
		event.Field_FIELD_CARRY: carry, event.Field_FIELD_OFFLINE: offline, event.Field_FIELD_LANDING_ANGLE: 44 + w.r.NormFloat64(),
		event.Field_FIELD_STRIKE_X: 0.006 * w.r.NormFloat64(), event.Field_FIELD_STRIKE_Y: 0.004 * w.r.NormFloat64(),
		event.Field_FIELD_LAUNCH_DIRECTION: offline / 4, event.Field_FIELD_CLUBHEAD_SPEED: speed / 1.36, event.Field_FIELD_SPIN_AXIS: offline / 2,
		event.Field_FIELD_APEX: 28, event.Field_FIELD_ATTACK_ANGLE: -3, event.Field_FIELD_CLUB_PATH: 1, event.Field_FIELD_FACE_ANGLE: 0.5,
	} {
		e.Measures = append(e.Measures, &event.Measure{Field: f, Value: v, Provenance: event.Provenance_PROVENANCE_MEASURED})
	}
	values := shot.Of(e, shot.Frame{})
	s.Values = &values
	s.Tag = &tag.Tag{Situation: &tag.Situation{Visit: "v", Session: "s", Category: "iron", Player: "p", Trial: w.trial, TrialNumber: w.trials,
		Part: 1},
		Status: tag.Counts, At: w.clock, OrderInSession: w.order, OrderInTrial: w.inside, Swap: w.inside}
	w.shots = append(w.shots, s)
}

func (w *world) snapshot() Snapshot {
	return Snapshot{Studio: "harbour-row", Bay: "north", Timeline: w.log.Timeline(), Session: "s", Shots: w.shots, At: w.clock}
}

// suspicion looks as the page does.
func (w *world) suspicion() *Suspicion {
	s := w.snapshot()
	tl := s.Timeline
	return suspect("iron", rows(&s, tl.Session("s")), tl.Now().Trial)
}

var (
	own    = clubMeans{17, 6200, 52, 150}
	weaker = clubMeans{18.5, 6700, 51.5, 147} // as two degrees more loft would give
	far    = clubMeans{19.5, 7100, 51, 144}
	same   = clubMeans{17.2, 6250, 52.1, 150.5}
)
