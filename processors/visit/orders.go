package visit

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
)

// Order is an order with all that was said of it since.
type Order struct {
	Session *Session
	Placed
	Moves []Move             // in order
	Built map[string][]Built // by name of a club, in order
	Marks []Mark             // in order
}

// Orders lists the orders of a bay that stand, oldest first. Of an erased
// session there are none.
func (t *Timeline) Orders() (out []*Order) {
	for _, s := range t.Sessions {
		if s.MovedTo != "" {
			continue
		}
		for _, p := range s.Orders {
			o := &Order{Session: s, Placed: p, Built: map[string][]Built{}}
			for _, m := range s.Moves {
				if m.Given.GetOrder() == o.Number() {
					o.Moves = append(o.Moves, m)
				}
			}
			for _, b := range s.Built {
				if b.Given.GetOrder() == o.Number() {
					o.Built[b.Given.GetClub()] = append(o.Built[b.Given.GetClub()], b)
				}
			}
			for _, m := range s.Marks {
				if m.Given.GetOrder() == o.Number() {
					o.Marks = append(o.Marks, m)
				}
			}
			out = append(out, o)
		}
	}
	slices.SortStableFunc(out, func(a, b *Order) int { return int(min(max(a.At-b.At, -1), 1)) })
	return out
}

// Number is the order's number.
func (o *Order) Number() string { return o.Placed.Given.GetOrder() }

// State is where it stands, and since when.
func (o *Order) State() (state event.OrderState, since int64) {
	if n := len(o.Moves); n > 0 {
		return o.Moves[n-1].Given.GetState(), o.Moves[n-1].At
	}
	return event.OrderState_ORDER_ORDERED, o.At
}

// Holder is who has it; empty: nobody said.
func (o *Order) Holder() string {
	for _, m := range slices.Backward(o.Moves) {
		if h := m.Given.GetHolder(); h != "" {
			return h
		}
	}
	return ""
}

// WaitsFor is what it waits for now.
func (o *Order) WaitsFor() string {
	if n := len(o.Moves); n > 0 {
		return o.Moves[n-1].Given.GetWaitsFor()
	}
	return ""
}

// Promised is when the player is to have it, Unix ns; 0: no day was named.
func (o *Order) Promised() int64 {
	for _, m := range slices.Backward(o.Moves) {
		if at := m.Given.GetPromisedUnixNs(); at != 0 {
			return at
		}
	}
	return o.Placed.Given.GetPromisedUnixNs()
}

// CureUntil is when the epoxy that was used last is cured, Unix ns; 0: none was.
func (o *Order) CureUntil() int64 {
	until := int64(0)
	for _, m := range o.Moves {
		until = max(until, m.Given.GetCureUntilUnixNs())
	}
	return until
}

// Since is how long it took from the order to the first time in a state; ok is
// false where it never was.
func (o *Order) Since(state event.OrderState) (took time.Duration, ok bool) {
	for _, m := range o.Moves {
		if m.Given.GetState() == state {
			return time.Duration(m.At - o.At), true
		}
	}
	return 0, false
}

// Club is a row of the order; nil: there is none of this name.
func (o *Order) Club(name string) *event.OrderedClub {
	for _, c := range o.Placed.Given.GetClubs() {
		if c.GetName() == name {
			return c
		}
	}
	return nil
}

// stretch writes a time to wait in whole minutes, never shorter than it is: it means the
// same in every zone and by every clock.
func stretch(d time.Duration) string {
	minutes := int((d + time.Minute - 1) / time.Minute)
	switch h, m := minutes/60, minutes%60; {
	case h >= 48:
		return fmt.Sprintf("%d days", (h+23)/24)
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %d min", h, m)
	}
}

// MayMove says why an order can't stand where somebody says: no club is ready
// before its epoxy cured and before the bench passed it.
func (o *Order) MayMove(m *event.OrderMoved, at int64) *event.Fault {
	if m.GetState() != event.OrderState_ORDER_READY && m.GetState() != event.OrderState_ORDER_DELIVERED {
		return nil
	}
	word := spaced(m.GetState().String(), "ORDER_")
	if until := o.CureUntil(); at < until {
		return event.NewFault("state", word, "the epoxy cures for "+stretch(time.Duration(until-at))+" more, by the time that the shop entered",
			"wait: a head that is not cured through flies off")
	}
	var open []string
	for _, c := range o.Placed.Given.GetClubs() {
		all := o.Built[c.GetName()]
		if len(all) == 0 {
			open = append(open, c.GetName()+" (not measured)")
		} else if j := all[len(all)-1].Given.GetJudgement(); j != event.BuiltJudgement_BUILT_PASSED {
			open = append(open, c.GetName()+" ("+spaced(j.String(), "BUILT_")+")")
		}
	}
	if len(open) > 0 {
		return event.NewFault("state", word, "not every club has passed the bench: "+strings.Join(open, ", "), "measure these clubs first")
	}
	return nil
}

// MayPass says why a club can't pass the bench: it is beyond a tolerance, and
// nobody said why that is good.
func (o *Order) MayPass(b *event.ClubBuilt) *event.Fault {
	c := o.Club(b.GetClub())
	if c == nil {
		return event.NewFault("club", b.GetClub(), "is no club of this order", "name one of its rows")
	}
	if b.GetJudgement() != event.BuiltJudgement_BUILT_PASSED || b.GetReason() != "" {
		return nil
	}
	var over []string
	for _, f := range Finishes(c.GetBuild(), b.GetBuild()) {
		if info, _ := f.Field.Info(); !f.Within {
			over = append(over, strings.ToLower(info.Label)+" is "+f.beyond())
		}
	}
	if len(over) > 0 {
		return event.NewFault("judgement", "passed", strings.Join(over, ", ")+" beyond the tolerance",
			"choose rework or remake, or say why it may pass")
	}
	return nil
}

// Finish is one figure of a finished club against its order.
type Finish struct {
	club.Finish
	Field event.BuildField
}

func (f Finish) beyond() string {
	over := math.Abs(f.Off) - f.Tolerance
	info, _ := f.Field.Info()
	switch info.Quantity {
	case unit.Angle:
		return fmt.Sprintf("%.1f°", over)
	case unit.Length:
		return fmt.Sprintf("%.1f mm (%.2f in)", over*1000, over/club.Inch)
	case unit.Mass:
		return fmt.Sprintf("%.1f g", over*1000)
	case unit.Moment:
		return fmt.Sprintf("%.1f points", over)
	}
	return fmt.Sprintf("%.4g", over)
}

// toleranceOf are the figures that a finished club is measured by.
var toleranceOf = map[event.BuildField]club.Spec{
	event.BuildField_BUILD_LOFT: club.SpecLoft, event.BuildField_BUILD_LIE: club.SpecLie,
	event.BuildField_BUILD_FACE_ANGLE: club.SpecFaceAngle,
	event.BuildField_BUILD_LENGTH:     club.SpecLength, event.BuildField_BUILD_SWING_WEIGHT: club.SpecSwingWeight,
	event.BuildField_BUILD_TOTAL_WEIGHT: club.SpecMass,
	event.BuildField_BUILD_HEAD_WEIGHT:  club.SpecHeadMass, event.BuildField_BUILD_GRIP_WEIGHT: club.SpecGripMass,
	event.BuildField_BUILD_FREQUENCY: club.SpecFrequency,
}

// Finishes holds what was measured against what was ordered, figure by figure;
// a swing weight in points.
func Finishes(ordered, made *event.Build) (out []Finish) {
	side := func(b *event.Build) map[club.Spec]float64 {
		m := map[club.Spec]float64{}
		for field, spec := range toleranceOf {
			if v, ok := b.Number(field); ok {
				if spec == club.SpecSwingWeight {
					v = float64(club.SwingWeightOf(v))
				}
				m[spec] = v
			}
		}
		return m
	}
	list, err := club.CheckBuild(side(ordered), side(made), club.DefaultTolerances())
	if err != nil {
		return nil // figures that are no numbers are refused before
	}
	for _, f := range list {
		for field, spec := range toleranceOf {
			if spec == f.Spec {
				out = append(out, Finish{f, field})
			}
		}
	}
	return out
}

// Made is a club of the order as it left the bench: as ordered, and what was
// measured of it in place of that.
func (o *Order) Made(c *event.OrderedClub) *event.Build {
	b := &event.Build{Name: c.GetName()}
	measured := map[event.BuildField]*event.Spec{}
	for _, one := range o.Built[c.GetName()] {
		for _, s := range one.Given.GetBuild().GetSpecs() {
			measured[s.Field] = s
		}
	}
	for _, info := range event.BuildFields() {
		if s := measured[info.Field]; s != nil {
			b.Specs = append(b.Specs, &event.Spec{Field: s.Field, Number: s.Number, Text: s.Text, Knowledge: s.Knowledge})
		} else if s := c.GetBuild().Spec(info.Field); s != nil {
			b.Specs = append(b.Specs, &event.Spec{Field: s.Field, Number: s.Number, Text: s.Text})
		}
	}
	return b
}
