package visit

import (
	"fmt"
	"math"
	"slices"

	"fairlead/ingest/contract/event"
)

// mostOffered is how many clubs a lot is drawn among, at most.
const mostOffered = 12

// whyWords are what a person may say of why a club is hit; that it was drawn is said
// by the lot alone.
var whyWords = []string{"advised", "fitter", "player"}

// why reads why a club is hit; nil where nobody said.
func (r *Reader) why() *event.Choice {
	text := r.Text("why")
	if text == "" {
		return nil
	}
	if !slices.Contains(whyWords, text) {
		r.Bad("why", text, "not known", "use advised, fitter or player, or `draw` to let the lot say")
		return nil
	}
	return &event.Choice{Why: event.Why(r.choice("why", "WHY_", event.Why_value, 0))}
}

// Lot is a trial of the session and the chance with which it is drawn.
type Lot struct {
	Trial  string
	Chance float64
}

// fine is how finely chances that are not equal are drawn.
const fine = 1 << 30

// drawNext draws among what is worth hitting next, near equals by the chances that they
// have. The chance is kept: who weighs by its inverse has a trial that nobody steered.
func (r *Reader) drawNext() *event.TrialStarted {
	if r.Place.Next == nil || r.Place.Lot == nil {
		r.Bad("next", "", "what is worth hitting next is not known here", "name the clubs that it is between")
		return &event.TrialStarted{}
	}
	lots := r.Place.Next()
	if len(lots) < 2 {
		r.Bad("next", "", "no two clubs are near equals now", "hit what is proposed, or name the clubs that it is between")
		return &event.TrialStarted{}
	}
	names := make([]string, len(lots))
	for i, l := range lots {
		names[i] = l.Trial
	}
	at, i := (float64(r.Place.Lot(fine))+0.5)/fine, 0
	for ; i < len(lots)-1 && at >= lots[i].Chance; i++ {
		at -= lots[i].Chance
	}
	known := r.Place.Timeline.Trial(lots[i].Trial)
	if known == nil || known.Session != r.Place.Timeline.Now().Session {
		r.Bad("next", lots[i].Trial, "is no trial of the session any more", "look again, and draw then")
		return &event.TrialStarted{}
	}
	return &event.TrialStarted{Trial: known.ID, Build: known.Build,
		Choice: &event.Choice{Why: event.Why_WHY_DRAWN, Offered: names, Chance: lots[i].Chance}}
}

// draw draws one of the clubs that were named. A trial of the session goes on, of a
// test club that was not hit yet one begins.
func (r *Reader) draw() *event.TrialStarted {
	names := r.Texts("among")
	if r.Yes("next") {
		if len(names) > 0 {
			r.Bad("next", "", "and clubs are named too", "draw among what is worth hitting next, or among those named")
			return &event.TrialStarted{}
		}
		return r.drawNext()
	}
	for i, name := range names {
		if slices.Contains(names[:i], name) {
			r.Bad("among", name, "is named twice", "each club has one lot")
		}
	}
	session := r.Place.Timeline.Now().Session
	options := make([]*event.TrialStarted, 0, len(names))
	for _, name := range names {
		one := &event.TrialStarted{}
		known := r.Place.Timeline.Trial(name)
		switch club := r.testClub(name); {
		case known != nil && known.Session == session && session != nil:
			one.Trial, one.Build = known.ID, known.Build
		case known != nil:
			r.Bad("among", name, "is a trial of another session", "name trials of this one, or test clubs")
		case club != nil:
			one.Build = club
		default:
			r.Bad("among", name, "is no trial of the session and no test club", "name what the bay's page offers")
		}
		options = append(options, one)
	}
	switch {
	case len(names) < 2:
		r.Bad("among", "", fmt.Sprintf("names %d clubs", len(names)), "choose the two or more that it is between")
	case len(names) > mostOffered:
		r.Bad("among", "", fmt.Sprintf("names %d clubs", len(names)), fmt.Sprintf("choose at most %d", mostOffered))
	case r.Place.Lot == nil:
		r.Bad("among", "", "nothing is drawn here", "draw on the bay's page or by `fairlead visit draw`")
	}
	if len(r.Faults) > 0 {
		return &event.TrialStarted{}
	}
	drawn := options[r.Place.Lot(len(options))]
	drawn.Choice = &event.Choice{Why: event.Why_WHY_DRAWN, Offered: names, Chance: 1 / float64(len(names))}
	return drawn
}

// testClub is the build of a test club of the shelf; nil: none is called that.
func (r *Reader) testClub(id string) *event.Build {
	known := r.Place.Shelf.TestClub(id)
	if known == nil {
		return nil
	}
	b := r.Place.Shelf.BuildOf(known)
	b.Name = id
	return b
}

func checkChoice(c *event.Check, choice *event.Choice) {
	if choice == nil {
		return
	}
	c.Choice("why", int32(choice.Why), event.Why_name)
	for _, id := range choice.Offered {
		c.ID("offered", id, false)
	}
	c.Number("chance", choice.Chance, 0, 1, "")
	drawn := choice.Why == event.Why_WHY_DRAWN
	if drawn && (len(choice.Offered) < 2 || choice.Chance == 0 || choice.Chance == 1) || len(choice.Offered) > mostOffered {
		c.Add("offered", len(choice.Offered), "is no draw",
			fmt.Sprintf("a lot is drawn among 2 to %d, with a chance between 0 and 1", mostOffered))
	}
	if !drawn && choice.Chance != 0 {
		c.Add("chance", choice.Chance, "was not drawn", "leave it out: only a draw has a chance")
	}
}

// WhyText says why a club is hit; empty where nobody said.
func WhyText(c *event.Choice) string {
	switch c.GetWhy() {
	case event.Why_WHY_ADVISED:
		return "as advised"
	case event.Why_WHY_FITTER:
		return "the fitter's idea"
	case event.Why_WHY_PLAYER:
		return "the player's wish"
	case event.Why_WHY_DRAWN:
		if n := len(c.GetOffered()); n > 0 && math.Abs(c.GetChance()*float64(n)-1) > 0.005 {
			return fmt.Sprintf("drawn by lot among %d, with a chance of %.0f %%", n, 100*c.GetChance())
		}
		return fmt.Sprintf("drawn by lot, one of %d", int(math.Round(1/c.GetChance())))
	}
	return ""
}
