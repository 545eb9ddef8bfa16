package sheets

import (
	"cmp"
	"strings"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
)

// placed is a verdict's build with what the order of it says beyond that: an order
// plans what nobody had measured when it was decided, a swing weight above all. Of a
// set it is the club that was hit: the one that contradicts the verdict in nothing.
func (s *Sheet) placed(b *book, verdict string, build *event.Build) *event.Build {
	placed := lastOrder(b, verdict)
	if placed == nil {
		return build
	}
	s.Number = order.Label(placed.Number())
	for _, c := range placed.Given.GetClubs() {
		whole, agrees := proto.CloneOf(build), true
		for _, spec := range c.GetBuild().GetSpecs() {
			switch known := build.Spec(spec.Field); {
			case known == nil:
				whole.Specs = append(whole.Specs, spec)
			default:
				agrees = agrees && same(known, spec)
			}
		}
		if agrees && whole != nil {
			if all := placed.Built[c.GetName()]; len(all) > 0 {
				s.bench = all[len(all)-1].Given.GetBuild()
			}
			return whole
		}
	}
	return build
}

// lastOrder is the order of a verdict that holds; nil: none does.
func lastOrder(b *book, verdict string) (last *visit.Order) {
	for _, o := range b.tl.Orders() {
		if state, _ := o.State(); o.Given.GetVerdict() == verdict && state != event.OrderState_ORDER_CANCELLED {
			last = o
		}
	}
	return last
}

// ofBuild names the build of a verdict, where it has a name.
func ofBuild(given *event.VerdictGiven) []string {
	if name := given.GetBuild().GetName(); name != "" {
		return []string{name}
	}
	return nil
}

// title heads the page: the order where one was placed, else the build.
func (s *Sheet) title() string {
	return strings.TrimSpace("Build sheet " + cmp.Or(s.Number, s.Build))
}
