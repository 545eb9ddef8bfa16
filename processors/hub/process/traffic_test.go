package process

import (
	"context"
	"fmt"
	"testing"
	"time"

	"fairlead/deploy/proof"
	"fairlead/processors/ask/audit"
)

// Audits are made while two bays hit, a line each 200 ms and a club swapped every
// few shots: what is on its way is never called wrong. A campaign: it is the
// default pause of an audit that is tried, so each takes seconds.
func TestAuditsUnderTraffic(t *testing.T) {
	if !proof.Wanted() {
		t.Skip("a campaign of make prove: each audit takes seconds beside traffic")
	}
	b := newBench(t, setup{})
	y, z := b.bay("north"), b.bay("quay")
	b.startHub()
	for _, bay := range []*bay{y, z} {
		bay.say(opened())
		bay.say(started(bay.place.Bay+"-0", 30))
	}
	b.whole()
	stop := b.run(func(ctx context.Context) error {
		for i := 1; proof.Rest(ctx, 200*time.Millisecond); i++ {
			y.hit(1)
			z.hit(1)
			if i%10 == 0 {
				y.note(started(fmt.Sprint("north-", i), 30+float64(i%5)))
				z.note(excluded("topped", z.ids(i/2, i/2)))
			}
		}
		return nil
	})
	nc, js := b.connect()
	a := audit.Auditor{Conn: nc, JS: js, Store: b.store, Wait: 5 * time.Second, Tags: true}
	audits, alarms := proof.Cases(3, 25), 0
	for range audits {
		begun := time.Now()
		r := b.audit(a)
		t.Logf("audited in %.1f s", time.Since(begun).Seconds())
		if r.Wrong() || r.Unknown() {
			alarms++
			t.Errorf("%+v %+v", r.Bays, r.Visits)
		}
	}
	stop()
	y.arrived()
	z.arrived()
	b.whole()
	proof.Record(t, "audits_under_traffic", map[string]any{"audits": audits, "alarms": alarms, "lines": y.lines + z.lines})
}
