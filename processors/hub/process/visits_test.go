package process

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
)

// Visit events come late, out of order, twice, corrected and voided, with equal
// times, while shots arrive and the hub changes hands: what is stored in the end
// is what the pure function says of all of them at once.
func TestVisitEventsInAnyOrderEndAsTheyShould(t *testing.T) {
	t.Parallel()
	for i := range proof.Cases(2, 40) {
		seed := proof.Seed(t, 14) + uint64(i)
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(seed, seed))
			b := newBench(t, setup{})
			y := b.bay("north")
			b.startHub()
			c := chaos{y: y, rng: rng, begun: time.Now()}
			c.queue(c.open(), c.begun.UnixNano())
			c.queue(c.start(), c.begun.UnixNano())
			for step := range 60 {
				y.hit(1 + rng.IntN(3))
				c.step()
				proof.Pause(t, time.Duration(rng.IntN(40))*time.Millisecond)
				if step == 30 {
					b.stopHub()
					b.startHub()
				}
			}
			c.flush()
			b.whole()
			t.Logf("seed %d: %d shots, %d events, %d said twice; %d shots count, %d were moved, %d are excluded", seed, y.lines, b.console.seq,
				c.twice,
				b.count("SELECT count() FROM entries FINAL WHERE status = 'counts'"), b.count("SELECT count() FROM entries FINAL WHERE moved"),
				b.count("SELECT count() FROM entries FINAL WHERE status = 'excluded'"))
		})
	}
}

// chaos draws visit events and says them late and out of order.
type chaos struct {
	y       *bay
	rng     *rand.Rand
	begun   time.Time
	session int
	trials  []string
	said    []string // ids
	waiting []*event.VisitEvent
	last    int64
	twice   int
}

// at is an effective time since the beginning, now and then one that was used before.
func (c *chaos) at() int64 {
	if c.last != 0 && c.rng.IntN(5) == 0 {
		return c.last
	}
	c.last = c.begun.UnixNano() + c.rng.Int64N(time.Since(c.begun).Nanoseconds()+1)
	return c.last
}

func (c *chaos) step() {
	c.queue(c.draw(), c.at())
	for len(c.waiting) > 4 {
		c.sayOne()
	}
}

func (c *chaos) queue(ev *event.VisitEvent, at int64) {
	now := time.Now()
	ev.Contract, ev.Studio, ev.Bay, ev.Visit = event.Contract, c.y.place.Studio, c.y.place.Bay, "v"
	ev.Session = fmt.Sprint("s", max(c.session, 1))
	ev.Id, ev.RecordedUnixNs, ev.EffectiveUnixNs = event.NewID(now), now.UnixNano(), at
	c.said = append(c.said, ev.Id)
	c.waiting = append(c.waiting, ev)
}

// sayOne says any of the events that wait, and sometimes says it again.
func (c *chaos) sayOne() {
	i := c.rng.IntN(len(c.waiting))
	ev := c.waiting[i]
	c.waiting = append(c.waiting[:i], c.waiting[i+1:]...)
	c.y.b.console.append(ev)
	if c.rng.IntN(6) == 0 {
		c.y.b.console.append(proto.Clone(ev).(*event.VisitEvent))
		c.y.b.console.seq-- // one event, said twice
		c.twice++
	}
}

func (c *chaos) flush() {
	for len(c.waiting) > 0 {
		c.sayOne()
	}
}

func (c *chaos) shots() [][]byte {
	from := 1 + c.rng.IntN(c.y.lines)
	return c.y.ids(from, min(from+c.rng.IntN(3), c.y.lines))
}

func (c *chaos) trial() string {
	if len(c.trials) == 0 {
		return "t0"
	}
	return c.trials[c.rng.IntN(len(c.trials))]
}

func (c *chaos) open() *event.VisitEvent {
	c.session++
	return opened()
}

func (c *chaos) start() *event.VisitEvent {
	name := fmt.Sprint("t", len(c.trials))
	c.trials = append(c.trials, name)
	return started(name, 28+float64(c.rng.IntN(8)))
}

func (c *chaos) draw() *event.VisitEvent {
	k := c.rng.IntN(20)
	if c.session == 0 || k == 0 && c.rng.IntN(3) == 0 {
		return c.open()
	}
	switch k {
	case 1, 2, 3, 14, 15:
		return c.start()
	case 4:
		return &event.VisitEvent{Body: &event.VisitEvent_TrialPaused{TrialPaused: &event.TrialPaused{}}}
	case 5, 16, 17:
		return &event.VisitEvent{Body: &event.VisitEvent_TrialResumed{TrialResumed: &event.TrialResumed{}}}
	case 6, 7:
		return moved(c.trial(), c.shots())
	case 8:
		return excluded("drawn", c.shots())
	case 9:
		return &event.VisitEvent{Body: &event.VisitEvent_ShotsRestored{ShotsRestored: &event.ShotsRestored{ShotIds: c.shots()}}}
	case 10:
		kinds := []event.HitterKind{event.HitterKind_HITTER_PLAYER, event.HitterKind_HITTER_PLAYER, event.HitterKind_HITTER_FITTER}
		hitter := &event.HitterChanged{Kind: kinds[c.rng.IntN(len(kinds))]}
		return &event.VisitEvent{Body: &event.VisitEvent_HitterChanged{HitterChanged: hitter}}
	case 11:
		if c.rng.IntN(3) > 0 {
			return c.start()
		}
		c.queue(c.open(), c.at())
		c.queue(c.start(), c.last)
		return &event.VisitEvent{Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}}
	case 12:
		return &event.VisitEvent{Body: &event.VisitEvent_SessionCorrected{SessionCorrected: &event.SessionCorrected{Player: fmt.Sprint("p",
			c.rng.IntN(3)), Hand: event.Hand_HAND_LEFT}}}
	}
	if len(c.said) > 2 { // without the first two nothing would be of anybody
		return voided(c.said[2+c.rng.IntN(len(c.said)-2)])
	}
	return started("t0", 30)
}
