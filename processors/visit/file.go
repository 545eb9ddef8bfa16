package visit

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
)

// File is all that the events of a studio say of one player.
type File struct {
	Player string
	Seats  []Seat // sessions, oldest first; none that was erased
}

// Seat is a session and the bay that it was in.
type Seat struct {
	Bay string
	*Session
}

// FileOf collects a player's file from the timelines of a studio's bays. What was
// entered in a session is of the player that the session is of now.
func FileOf(player string, bays map[string]*Timeline) *File {
	if f := FilesOf(bays)[player]; f != nil {
		return f
	}
	return &File{Player: player}
}

// FilesOf collects the files of all players of a studio in one go.
func FilesOf(bays map[string]*Timeline) map[string]*File {
	out := map[string]*File{}
	for _, bay := range slices.Sorted(maps.Keys(bays)) {
		for _, s := range bays[bay].Sessions {
			if s.Player == "" || s.Player == ReferencePlayer || s.MovedTo != "" || s.Erased {
				continue
			}
			if out[s.Player] == nil {
				out[s.Player] = &File{Player: s.Player}
			}
			out[s.Player].Seats = append(out[s.Player].Seats, Seat{bay, s})
		}
	}
	for _, f := range out {
		slices.SortStableFunc(f.Seats, func(a, b Seat) int { return cmp.Compare(a.From, b.From) })
	}
	return out
}

// Last is the player's latest session; nil: there is none.
func (f *File) Last() *Seat {
	if len(f.Seats) == 0 {
		return nil
	}
	return &f.Seats[len(f.Seats)-1]
}

// Notes are the notes of a kind, oldest first.
func (f *File) Notes(kind event.PlayerNote) (out []Noted) {
	for _, s := range f.Seats {
		for _, n := range s.Notes {
			if n.Given.GetKind() == kind {
				out = append(out, n)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Noted) int { return cmp.Compare(a.At, b.At) })
	return out
}

// Pain is what was noted of pain or an injury and not said to be over.
func (f *File) Pain() (out []Noted) {
	over := int64(0)
	for _, n := range f.Notes(event.PlayerNote_NOTE_PAIN_OVER) {
		over = max(over, n.At)
	}
	for _, n := range f.Notes(event.PlayerNote_NOTE_PAIN) {
		if n.At > over {
			out = append(out, n)
		}
	}
	return out
}

// Sizes is the latest of each measure of the player, with when it was taken.
func (f *File) Sizes() (latest *event.PlayerMeasured, at int64) {
	latest = &event.PlayerMeasured{}
	var all []Measured
	for _, s := range f.Seats {
		all = append(all, s.Measured...)
	}
	slices.SortStableFunc(all, func(a, b Measured) int { return cmp.Compare(a.At, b.At) })
	for _, m := range all {
		at = m.At
		for _, set := range []struct{ to, from **float64 }{{&latest.HeightM, &m.Given.HeightM},
			{&latest.WristFloorM, &m.Given.WristFloorM}, {&latest.HandSpanM, &m.Given.HandSpanM}} {
			if *set.from != nil {
				*set.to = *set.from
			}
		}
		if m.Given.GetGlove() != "" {
			latest.Glove = m.Given.Glove
		}
	}
	return latest, at
}

// Owned is a club of the player's, as it is known now.
type Owned struct {
	*event.BagClub
	At    int64    // when it was last spoken of
	Who   string   // by whom
	Order string   // number of the order that it came by; empty: none
	Past  []Figure // what was known of it, oldest first
}

// Figure is one figure of a club as it was ordered, built or found.
type Figure struct {
	Field    event.BuildField
	Number   float64
	At       int64
	From     string // ordered, built, bag
	Measured bool
}

// Owned lists the clubs of the player's bag: what was entered of it, and clubs
// that were ordered and handed out. Of one name the latest counts. Longest club
// first; the putter last.
func (f *File) Owned() (out []Owned) {
	type said struct {
		at    int64
		who   string
		club  *event.BagClub
		order string
	}
	var all []said
	past := map[string][]Figure{}
	for _, s := range f.Seats {
		for _, b := range s.Bagged {
			for _, c := range b.Given.GetClubs() {
				all = append(all, said{b.At, b.Who, c, ""})
			}
		}
	}
	for _, o := range f.Orders() {
		handed := o.handed()
		for _, c := range o.Placed.Given.GetClubs() {
			past[c.GetName()] = append(past[c.GetName()], figures(c.GetBuild(), o.At, "ordered")...)
			b := o.Made(c)
			b.Gamer = true
			for _, one := range o.Built[c.GetName()] {
				past[c.GetName()] = append(past[c.GetName()], figures(one.Given.GetBuild(), one.At, "built")...)
			}
			if handed != 0 {
				all = append(all, said{handed, o.Who, &event.BagClub{Name: c.GetName(), Category: c.GetCategory(), Build: b}, o.Number()})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b said) int { return cmp.Compare(a.at, b.at) })
	by := map[string]*Owned{}
	for _, x := range all {
		o := by[x.club.GetName()]
		if o == nil {
			o = &Owned{}
			by[x.club.GetName()] = o
		}
		carry := o.BagClub.GetCarryM()
		o.BagClub, o.At, o.Who = x.club, x.at, x.who
		if x.order != "" {
			o.Order = x.order
			x.club.CarryM = carry
		} else {
			past[x.club.GetName()] = append(past[x.club.GetName()], figures(x.club.GetBuild(), x.at, "bag")...)
		}
	}
	for name, o := range by {
		if !o.Gone {
			o.Past = past[name]
			slices.SortStableFunc(o.Past, func(a, b Figure) int { return cmp.Compare(a.At, b.At) })
			out = append(out, *o)
		}
	}
	slices.SortFunc(out, func(a, b Owned) int {
		return cmp.Or(cmp.Compare(rankOf(a), rankOf(b)), strings.Compare(a.Name, b.Name))
	})
	return out
}

// Clubs are the clubs of the bag by themselves.
func (f *File) Clubs() (out []*event.BagClub) {
	for _, o := range f.Owned() {
		out = append(out, o.BagClub)
	}
	return out
}

// rankOf orders clubs as a bag holds them.
func rankOf(o Owned) float64 {
	place := float64(slices.Index(glossary.CategoryNames(), o.Category)) * 1000
	if loft, ok := o.Build.Number(event.BuildField_BUILD_LOFT); ok {
		return place + 100 + loft
	}
	n := 0.0
	for _, d := range o.Name {
		if d < '0' || d > '9' {
			break
		}
		n = n*10 + float64(d-'0')
	}
	if n == 0 {
		n = float64(15 + strings.Index("pgaswl", o.Name[:1])) // pw, gw, sw, lw after the irons' numbers
	}
	return place + n
}

func figures(b *event.Build, at int64, from string) (out []Figure) {
	for _, s := range b.GetSpecs() {
		if info, ok := s.Field.Info(); ok && !info.Text {
			out = append(out, Figure{s.Field, s.Number, at, from, s.Knowledge == event.Knowledge_KNOWLEDGE_MEASURED || from == "built"})
		}
	}
	return out
}

// Orders are the player's orders, oldest first.
func (f *File) Orders() (out []*Order) {
	for _, s := range f.Seats {
		out = append(out, (&Timeline{Sessions: []*Session{s.Session}}).Orders()...)
	}
	return out
}

// handed is when the player got an order's clubs; 0: not yet.
func (o *Order) handed() int64 {
	if state, at := o.State(); state == event.OrderState_ORDER_DELIVERED {
		return at
	}
	return 0
}

// Drift is how a figure of a club moved from what it was made to, or was found at
// first, to what it was found at last.
type Drift struct {
	Field     event.BuildField
	Was, Now  Figure
	Tolerated bool // within what a finished club may differ from its order
}

// Drifts lists the figures of a club that were measured again and are not what
// they were: against the club as built, else as ordered, else as first known.
func (o Owned) Drifts() (out []Drift) {
	for _, info := range event.BuildFields() {
		var first, last *Figure
		for i := range o.Past {
			f := &o.Past[i]
			if f.Field != info.Field {
				continue
			}
			if first == nil || f.From == "built" && first.From == "ordered" {
				first = f
			}
			if f.Measured {
				last = f
			}
		}
		if first == nil || last == nil || first == last || first.Number == last.Number {
			continue
		}
		d := Drift{Field: info.Field, Was: *first, Now: *last, Tolerated: true}
		one := func(f *Figure) *event.Build {
			return &event.Build{Specs: []*event.Spec{{Field: f.Field, Number: f.Number}}}
		}
		for _, fin := range Finishes(one(first), one(last)) {
			d.Tolerated = fin.Within
		}
		out = append(out, d)
	}
	return out
}
