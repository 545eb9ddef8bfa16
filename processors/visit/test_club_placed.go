package visit

import (
	"fmt"
	"slices"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club/order"
)

var _ = kind(Kind{
	Name: "test_club_placed", Bears: OnPages, Studio: true,
	Keeps: []string{"club_id", "category", "club", "bay", "parts", "specs", "gone", "reference"},
	Acts: []Act{{
		Name: "testclub", Short: "Say which combination a test club is, and where it hangs",
		Example: "testclub --bay north T7-03 --category iron --of 7i --part SK2-7 --part RD95-S --hangs north --measured length=37in",
		Fields: append([]Field{
			{Name: "club_id", Arg: 1, Word: "ID", Help: "what stands on the club"},
			{Name: "category", Help: "driver, wood, hybrid, iron, wedge or putter"},
			{Name: "of", Help: "which club of a set: 7i"},
			{Name: "part", Many: true, Help: "code of a part that it is made of"},
			{Name: "hangs", Help: "bay where it hangs (default: in the workshop)"},
			{Name: "reference", Help: "bays are checked with it", Yes: true},
			{Name: "gone", Help: "there is no such club any more", Yes: true},
		}, buildFields()[:2]...),
		read: func(r *Reader, ev *event.VisitEvent) {
			t := &event.TestClubPlaced{ClubId: r.Text("club_id"), Category: r.Text("category"), Bay: r.Text("hangs"), Parts: r.Texts("part"),
				Gone: r.Yes("gone"), Reference: r.Yes("reference")}
			if text := r.Text("of"); text != "" {
				names, err := order.Names(text)
				if err != nil || len(names) != 1 {
					r.Bad("of", text, "is no club of a set", "write one, such as 7i, pw, 56 or driver")
				} else {
					t.Club = names[0]
				}
			}
			b := &event.Build{}
			r.apply(b, slices.DeleteFunc(r.parts(), func(g partGiven) bool { return g.text == "" }))
			t.Specs = b.Specs
			ev.Body = &event.VisitEvent_TestClubPlaced{TestClubPlaced: t}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		t := ev.GetTestClubPlaced()
		c.ID("club_id", t.GetClubId(), false)
		if _, err := glossary.ParseCategory(t.GetCategory()); err != nil {
			c.Add("category", t.GetCategory(), "is no kind of club", "use driver, wood, hybrid, iron, wedge or putter")
		}
		c.Text("club", t.GetClub(), 40)
		if t.GetBay() != "" {
			if err := event.CheckName("bay", t.GetBay()); err != nil {
				c.Add("hangs", t.GetBay(), err.Error(), "")
			}
		}
		if len(t.GetParts()) > 20 {
			c.Add("parts", len(t.GetParts()), "more than 20 parts", "name what the club is made of")
		}
		for i, code := range t.GetParts() {
			c.ID(fmt.Sprintf("parts[%d]", i), code, false)
		}
		c.Build("specs", &event.Build{Specs: t.GetSpecs()})
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) { f.shelved(ev) },
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		for _, code := range ev.GetTestClubPlaced().GetParts() {
			if p.Shelf != nil && p.Shelf.Ever(code) == nil {
				return event.NewFault("part", code, "is no part of the catalogue", "list it first")
			}
		}
		return nil
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		t := ev.GetTestClubPlaced()
		switch {
		case t.GetGone():
			return "test club " + t.GetClubId() + " is no more"
		case t.GetBay() == "":
			return "test club " + t.GetClubId() + " is in the workshop"
		}
		return fmt.Sprintf("test club %s hangs in bay %s", t.GetClubId(), t.GetBay())
	},
})
