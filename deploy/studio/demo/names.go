package demo

import (
	"context"

	"fairlead/ingest/contract/event"
	"fairlead/processors/sim"
)

// person is one whose name the demo's console is to know.
type person struct{ id, role, name, hand string }

func personOf(p *sim.Player, fitter bool) person {
	out := person{id: p.ID, role: "player", name: p.Name, hand: "right"}
	if fitter {
		out.role = "fitter"
	}
	if p.Hand() == event.Hand_HAND_LEFT {
		out.hand = "left"
	}
	return out
}

// name tells the console who somebody is; a name that it does not take is
// logged, and the page shows the pseudonym.
func (d *Demo) name(ctx context.Context, hand *sim.ConsoleHand, of *sim.Player, fitter bool) {
	if of != nil {
		p := personOf(of, fitter)
		if err := hand.Meet(ctx, p.id, p.role, p.name, p.hand); err != nil {
			d.log.Warn("a name of the demo is not on file", "person", p.id, "error", err)
		}
	}
}
