package demo

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club/order"
	"fairlead/processors/golf/gauge"
	"fairlead/processors/visit"
	"fairlead/processors/visit/stock"
)

// checkedBays are those whose devices read a full swing, with what each reads too
// much of the launch angle, in degrees: one of them did more so for a day, until it
// was levelled.
var checkedBays = []struct {
	name         string
	always, once float64
}{{"north", 0.2, 0}, {"south", -0.1, 0}, {"quay", 0, 1.9}}

// offDay is how many days ago that was.
const offDay = 2

// checkedDays is how many mornings the bays were checked before.
const checkedDays = 8

// shop makes what the studio did beside the visit of a year ago: its catalogue and
// shelf, a test club that bays are checked with, the order of what was decided, made,
// measured, mended and handed out, and the morning checks of the last days.
func (d *Demo) shop(said []*event.VisitEvent, now time.Time) (out []*event.VisitEvent) {
	log := &visit.Log{}
	for _, ev := range said {
		log.Add(ev)
	}
	add := func(bay string, at int64, ev *event.VisitEvent) *event.VisitEvent {
		ev.Contract, ev.Studio, ev.Bay = event.Contract, d.config.Studio, bay
		ev.Id = cmp.Or(ev.Id, fmt.Sprintf("demo-shop-%03d", len(out)))
		ev.EffectiveUnixNs, ev.RecordedUnixNs = at, at
		out = append(out, ev)
		log.Add(ev)
		return ev
	}
	for _, s := range log.Timeline().Sessions {
		for _, v := range s.Verdicts {
			if v.Given.GetKind() == event.VerdictKind_VERDICT_BUILD {
				shelf(s.Category, v, func(ev *event.VisitEvent) { add("north", v.At-int64(time.Hour), ev) })
				made(log, s, v, func(after time.Duration, ev *event.VisitEvent) { add("north", v.At+int64(after), ev) })
			}
		}
	}
	d.mornings(now, add)
	return out
}

// shelf lists the parts that a decided build is made of, and the club that bays are checked with.
func shelf(category string, v visit.Verdict, add func(*event.VisitEvent)) {
	text := func(f event.BuildField, otherwise string) *event.Spec {
		return &event.Spec{Field: f, Text: cmp.Or(v.Given.GetBuild().Spec(f).GetText(), otherwise)}
	}
	head := text(event.BuildField_BUILD_HEAD_MODEL, "Skerry 2")
	shaft, grip := text(event.BuildField_BUILD_SHAFT_MODEL, "Reed 95"), text(event.BuildField_BUILD_GRIP_MODEL, "Quay cord")
	pieces := func(n int64) *int64 { return &n }
	parts := []*event.CataloguePart{
		{Code: "SHAFT-1", Kind: event.PartKind_PART_SHAFT, Specs: []*event.Spec{shaft}, Price: 4200, Currency: "EUR", Least: 10,
			Pieces: pieces(14)},
		{Code: "GRIP-1", Kind: event.PartKind_PART_GRIP, Specs: []*event.Spec{grip}, Price: 950, Currency: "EUR", Least: 20,
			Pieces: pieces(21)},
		{Code: "GRIP-2", Kind: event.PartKind_PART_GRIP, Specs: []*event.Spec{{Field: event.BuildField_BUILD_GRIP_MODEL, Text: "Quay soft"}},
			Price: 1100, Currency: "EUR", Least: 10, Pieces: pieces(18)},
		{Code: "WORK-1", Kind: event.PartKind_PART_WORK, Specs: []*event.Spec{{Field: stock.Model(event.PartKind_PART_WORK), Text: "assembly"}},
			Price: 1800, Currency: "EUR"},
	}
	for i, name := range []string{"5i", "6i", "7i", "8i", "9i"} {
		parts = append(parts, &event.CataloguePart{Code: "HEAD-" + name, Kind: event.PartKind_PART_HEAD, Category: "iron", Club: name,
			Specs: []*event.Spec{head, {Field: event.BuildField_BUILD_STATED_LOFT, Number: 25 + 4*float64(i)}}, Metal: "forged", BendLimitDeg: 2,
			Price: 9500, Currency: "EUR", Least: 2, Pieces: pieces(3)})
	}
	add(&event.VisitEvent{Body: &event.VisitEvent_PartsListed{PartsListed: &event.PartsListed{Parts: parts}}})
	add(&event.VisitEvent{Body: &event.VisitEvent_TestClubPlaced{TestClubPlaced: &event.TestClubPlaced{ClubId: "REF-7", Category: "iron",
		Club: "7i", Parts: []string{"HEAD-7i", "SHAFT-1", "GRIP-1"}, Reference: true}}})
}

// made orders what was decided and follows it to the player's hand.
func made(log *visit.Log, s *visit.Session, v visit.Verdict, add func(after time.Duration, ev *event.VisitEvent)) {
	in := visit.Input{"verdict": {v.Event}}
	if s.Category == "iron" {
		in["clubs"] = []string{"6i 7i 8i"}
	}
	at := &visit.Place{Bay: "north", Timeline: log.Timeline(), Shelf: visit.ShelfOf(map[string]*visit.Timeline{"north": log.Timeline()})}
	draft, faults := visit.DraftOrder(in, at)
	if len(faults) > 0 {
		in["unhit"] = []string{"yes"}
		if draft, faults = visit.DraftOrder(in, at); len(faults) > 0 {
			return // a build that no shop makes: the studio has no order to show
		}
	}
	number := order.NumberFrom("demo", 0)
	draft.Placed.Order = number
	say := func(after time.Duration, ev *event.VisitEvent) {
		ev.Visit, ev.Session, ev.Who = s.Visit, s.ID, s.Fitter
		add(after, ev)
	}
	moved := func(after time.Duration, state event.OrderState, cure time.Duration) {
		m := &event.OrderMoved{Order: number, State: state}
		if cure > 0 {
			m.CureUntilUnixNs = v.At + int64(after+cure)
		}
		say(after, &event.VisitEvent{Body: &event.VisitEvent_OrderMoved{OrderMoved: m}})
	}
	marked := func(after time.Duration, mark event.OrderMark) {
		say(after, &event.VisitEvent{Body: &event.VisitEvent_OrderMarked{OrderMarked: &event.OrderMarked{Order: number, Mark: mark}}})
	}
	built := func(after time.Duration, c *event.OrderedClub, off float64, j event.BuiltJudgement, why string) {
		b := &event.Build{}
		for _, f := range []event.BuildField{event.BuildField_BUILD_LENGTH, event.BuildField_BUILD_LOFT, event.BuildField_BUILD_LIE,
			event.BuildField_BUILD_SWING_WEIGHT} {
			if n, ok := c.GetBuild().Number(f); ok {
				if f == event.BuildField_BUILD_LIE {
					n += off
				}
				b.Specs = append(b.Specs, &event.Spec{Field: f, Number: n, Knowledge: event.Knowledge_KNOWLEDGE_MEASURED})
			}
		}
		say(after, &event.VisitEvent{Body: &event.VisitEvent_ClubBuilt{ClubBuilt: &event.ClubBuilt{Order: number, Club: c.GetName(), Build: b,
			Judgement: j, Reason: why}}})
	}
	const day = 24 * time.Hour
	say(10*time.Minute, &event.VisitEvent{Body: &event.VisitEvent_OrderPlaced{OrderPlaced: draft.Placed}})
	marked(12*time.Minute, event.OrderMark_MARK_QUOTED)
	marked(15*time.Minute, event.OrderMark_MARK_DEPOSIT)
	moved(day, event.OrderState_ORDER_PARTS_THERE, 0)
	moved(2*day, event.OrderState_ORDER_IN_WORK, 0)
	moved(2*day+time.Hour, event.OrderState_ORDER_CURING, day)
	moved(3*day+2*time.Hour, event.OrderState_ORDER_TO_MEASURE, 0)
	for i, c := range draft.Placed.Clubs {
		after := 3*day + 2*time.Hour + time.Duration(i+1)*10*time.Minute
		if i == 0 {
			built(after, c, 1.4, event.BuiltJudgement_BUILT_REWORK, "lie too upright")
			after += 5 * time.Minute
		}
		built(after, c, 0.1, event.BuiltJudgement_BUILT_PASSED, "")
	}
	moved(4*day, event.OrderState_ORDER_READY, 0)
	moved(6*day, event.OrderState_ORDER_DELIVERED, 0)
	marked(6*day+time.Minute, event.OrderMark_MARK_PAID)
}

// mornings are the checks of the last days with the reference club, and of today.
func (d *Demo) mornings(now time.Time, add func(bay string, at int64, ev *event.VisitEvent) *event.VisitEvent) {
	r := rand.New(rand.NewPCG(d.Seed, 7))
	var all []visit.BayCheck
	for day := checkedDays; day >= 0; day-- {
		for n, b := range checkedBays {
			at := now.Add(-time.Duration(day)*24*time.Hour - time.Duration(len(checkedBays)-n)*10*time.Minute).UnixNano()
			launch := 17 + b.always
			if day == offDay {
				launch += b.once
			}
			read := gauge.Check{}
			for figure, x := range map[string][2]float64{"ball_speed_mps": {52, 0.8}, "launch_angle_deg": {launch, 0.9}, "spin_rate_rpm": {6200,
				260}, "carry_m": {148, 3.2}} {
				read[figure] = gauge.Reading{N: 10, Mean: x[0] + x[1]*r.NormFloat64()/3.3, SD: x[1] * (0.8 + 0.4*r.Float64())}
			}
			session := fmt.Sprintf("s-check-%d-%s", day, b.name)
			trial := "t" + session[1:]
			given := visit.JudgeBay(b.name, at, &event.BayChecked{Trial: trial, Device: b.name, ClubId: "REF-7", Ball: "Harbour"}, read, all)
			for k, ev := range []*event.VisitEvent{
				{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: visit.ReferencePlayer, Category: "iron",
					Hand: event.Hand_HAND_RIGHT}}},
				{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: trial,
					Build: &event.Build{Name: "reference REF-7", ClubId: "REF-7"}}}},
				{Body: &event.VisitEvent_BayChecked{BayChecked: given}},
				{Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}},
			} {
				ev.Id, ev.Visit, ev.Session = fmt.Sprintf("%s-%d", session, k), "v"+session[1:], session
				add(b.name, at-int64(3-k)*int64(time.Minute), ev)
			}
			all = append(all, visit.BayCheck{At: at, Bay: b.name, Given: given})
		}
	}
}
