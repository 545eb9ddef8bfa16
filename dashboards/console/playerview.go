package console

import (
	"cmp"
	"context"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"

	"fairlead/dashboards/console/people"
	"fairlead/dashboards/figure"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	bench "fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
)

// playerLine is a player in the list.
type playerLine struct {
	ID, Name, Hand, Last, Bag string
	Pain                      bool
	Due                       []dueLine
	at                        int64
}

// playerView is a player's page.
type playerView struct {
	people.Person
	Consent, Swings string
	Undo            *undoView
	Minor           bool
	Pain            []noteView
	Notes           []noteView // for the next fitter, latest first
	Aims            []yearView // by year, latest first
	Sizes           []sizeView
	SizesAt, Glove  string
	Bag             []ownedView
	Orders          []playerOrder
	Visits          []visitView // oldest first
	Due             []dueLine
	Start           []startView
	Bays            []bayChoice
	Known           bool // a session is known, so that things can be entered
	Swing           bool // shots can be read
	Key, Act        string
	Problem         problem
	Typed           url.Values
}

type noteView struct{ Words, When, Who string }

type yearView struct {
	Year int
	Aims []noteView
}

type sizeView struct{ Name, Label, Value string }

type ownedView struct {
	Name, Category, Order string
	Known                 []string // figures, in words
	Drift                 []driftView
}

type driftView struct {
	Label, Was, Now, Span, From string
	Off                         bool
}

type playerOrder struct{ Number, Label, State, Clubs string }

type visitView struct {
	Visit, Day string
	Sessions   []seatView
}

type seatView struct {
	Bay, Category, Fitter, Aim string
	Trials                     int
	Decided                    []decidedView
	Checks                     []string
}

type decidedView struct {
	ID, Text string
	Build    bool
	Promises []string
}

type startView struct{ Club, Text string }

type bayChoice struct{ Bay, Text string }

// dueLine is one reason to ask a player back.
type dueLine struct {
	What, Of, When, Order string
	Now                   bool
}

// playerList lists players by what is looked for: a part of the name, the
// pseudonym, a date of a visit, a build or an order; all of them for "".
func (s *server) playerList(ctx context.Context, find string) (out []playerLine) {
	files, checks := s.players.players(ctx), s.players.checks(ctx)
	all := map[string]people.Person{}
	for _, p := range s.people.List(people.Player) {
		all[p.ID] = p
	}
	for id := range files {
		if _, ok := all[id]; !ok {
			all[id] = people.Person{ID: id, Name: id}
		}
	}
	for id, p := range all {
		f := files[id]
		if f == nil {
			f = &visit.File{Player: id}
		}
		if find != "" && !playerHas(f, p, find) {
			continue
		}
		line := playerLine{ID: id, Name: p.Name, Hand: p.Hand, Pain: len(f.Pain()) > 0}
		if last := f.Last(); last != nil {
			line.at, line.Last = last.From, day(last.From)
		}
		if n := len(f.Clubs()); n > 0 {
			line.Bag = clubCount(n) + " in the bag"
		}
		for _, d := range s.dueLines(f, checks) {
			if d.Now {
				line.Due = append(line.Due, d)
			}
		}
		out = append(out, line)
	}
	slices.SortFunc(out, func(a, b playerLine) int {
		return cmp.Or(cmp.Compare(b.at, a.at), strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)), strings.Compare(a.ID, b.ID))
	})
	return out
}

// clubCount writes a number of clubs.
func clubCount(n int) string {
	if n == 1 {
		return "1 club"
	}
	return fmt.Sprintf("%d clubs", n)
}

// playerHas says whether anything known of a player has what is looked for.
func playerHas(f *visit.File, p people.Person, find string) bool {
	has := func(text string) bool { return strings.Contains(strings.ToLower(text), strings.ToLower(find)) }
	inBuild := func(b *event.Build) bool {
		return has(b.GetName()) || slices.ContainsFunc(b.GetSpecs(), func(x *event.Spec) bool { return x.Text != "" && has(x.Text) })
	}
	if has(p.Name) || has(p.ID) || has(p.Note) {
		return true
	}
	number, err := bench.ParseNumber(find)
	for _, o := range f.Orders() {
		if err == nil && o.Number() == number || has(bench.Label(o.Number())) {
			return true
		}
	}
	for _, seat := range f.Seats {
		if has(day(seat.From)) || has(time.Unix(0, seat.From).Format("2006-01-02")) ||
			slices.ContainsFunc(seat.Trials, func(t *visit.Trial) bool { return inBuild(t.Build) }) {
			return true
		}
	}
	return slices.ContainsFunc(f.Clubs(), func(c *event.BagClub) bool { return inBuild(c.Build) })
}

func (s *server) dueLines(f *visit.File, checks *visit.Checks) (out []dueLine) {
	for _, d := range f.Due(checks) {
		line := dueLine{What: d.What, Of: d.Of, When: day(d.At), Now: d.At <= s.now().UnixNano()}
		if d.Order != "" {
			line.Order = bench.Label(d.Order)
		}
		out = append(out, line)
	}
	return out
}

func (s *server) noteView(n visit.Noted) noteView {
	v := noteView{Words: n.Given.GetWords(), When: day(n.At)}
	if n.Who != "" {
		v.Who = s.people.Name(n.Who)
	}
	return v
}

func (s *server) playerView(ctx context.Context, f *visit.File, p people.Person) playerView {
	v := playerView{Person: p, Known: f.Last() != nil, Swing: s.source != nil, Due: s.dueLines(f, s.players.checks(ctx)),
		Undo: s.offered(ofFile(f))}
	if last := f.Last(); last != nil {
		v.Minor = last.Minor
		v.Consent = map[bool]string{true: "The player lets the shots teach across players.",
			false: "The shots stay the player’s own: nobody else learns from them."}[last.Consent]
		v.Swings = map[event.Hand]string{event.Hand_HAND_RIGHT: "right-handed", event.Hand_HAND_LEFT: "left-handed"}[last.Hand]
	}
	if v.Swings == "" && p.Hand != "" {
		v.Swings = p.Hand + "-handed"
	}
	for _, n := range f.Pain() {
		v.Pain = append(v.Pain, s.noteView(n))
	}
	for _, n := range slices.Backward(f.Notes(event.PlayerNote_NOTE_NEXT)) {
		v.Notes = append(v.Notes, s.noteView(n))
	}
	s.aims(&v, f)
	sizes, at := f.Sizes()
	if v.Glove = sizes.GetGlove(); at != 0 {
		v.SizesAt = day(at)
	}
	for _, z := range visit.PlayerSizes {
		one := sizeView{Name: z.Name, Label: z.Label}
		if x := z.Of(sizes); x != nil {
			one.Value = s.units.Pick(figure.In("cm", 100, 1), figure.In("in", 1/0.0254, 1)).Text(*x)
		}
		v.Sizes = append(v.Sizes, one)
	}
	for _, o := range f.Owned() {
		v.Bag = append(v.Bag, s.ownedView(o))
	}
	for _, o := range f.Orders() {
		one := playerOrder{Number: o.Number(), Label: bench.Label(o.Number())}
		state, _ := o.State()
		one.State = stateWord(state)
		for _, c := range o.Given.GetClubs() {
			one.Clubs = strings.TrimSpace(one.Clubs + " " + c.GetName())
		}
		v.Orders = append(v.Orders, one)
	}
	s.visits(&v, f)
	for _, c := range s.ownClubs(f) {
		text := c.Name
		if !strings.Contains(text, c.Category) {
			text += ", " + c.Category
		}
		v.Start = append(v.Start, startView{c.Name, text})
	}
	v.Bays = s.bayChoices()
	return v
}

// bayChoices are the bays in which a session may be opened, and what that closes.
func (s *server) bayChoices() (out []bayChoice) {
	for _, bay := range s.bays {
		text := bay + ", free"
		if on := s.writer.Timeline(bay).Now().Session; on != nil {
			text = bay + ": closes the session of " + s.people.Name(on.Player)
		}
		out = append(out, bayChoice{bay, text})
	}
	return out
}

// aims are what the player came for, in their own words, by year.
func (s *server) aims(v *playerView, f *visit.File) {
	add := func(at int64, n noteView) {
		year := time.Unix(0, at).Year()
		if k := len(v.Aims); k == 0 || v.Aims[k-1].Year != year {
			v.Aims = append(v.Aims, yearView{Year: year})
		}
		y := &v.Aims[len(v.Aims)-1]
		if !slices.ContainsFunc(y.Aims, func(x noteView) bool { return x.Words == n.Words }) {
			y.Aims = append(y.Aims, n)
		}
	}
	for _, seat := range slices.Backward(f.Seats) {
		for _, n := range slices.Backward(seat.Notes) {
			if n.Given.GetKind() == event.PlayerNote_NOTE_AIM {
				add(n.At, s.noteView(n))
			}
		}
		if seat.Aim != "" {
			add(seat.From, noteView{Words: seat.Aim, When: day(seat.From)})
		}
	}
}

// visits are the player's days beside each other.
func (s *server) visits(v *playerView, f *visit.File) {
	for _, seat := range f.Seats {
		if n := len(v.Visits); n == 0 || v.Visits[n-1].Visit != seat.Visit {
			v.Visits = append(v.Visits, visitView{Visit: seat.Visit, Day: day(seat.From)})
		}
		one := seatView{Bay: seat.Bay, Category: seat.Category, Aim: seat.Aim, Trials: len(seat.Trials)}
		if seat.Fitter != "" {
			one.Fitter = s.people.Name(seat.Fitter)
		}
		for _, g := range seat.Verdicts {
			d := decidedView{ID: g.Event, Build: g.Given.GetKind() == event.VerdictKind_VERDICT_BUILD,
				Text: strings.ReplaceAll(strings.ToLower(strings.TrimPrefix(g.Given.GetKind().String(), "VERDICT_")), "_", " ")}
			for _, more := range []string{g.Given.GetBuild().GetName(), g.Given.GetWords()} {
				if more != "" {
					d.Text += ", " + more
				}
			}
			for _, p := range g.Given.GetPromises() {
				if p.ProbabilityBetter >= 0.9 {
					label := strings.ToLower(glossary.Told(p.Outcome, seat.Category == string(glossary.Putter)).Paper)
					d.Promises = append(d.Promises, fmt.Sprintf("%s: %.0f in 100 that it is better", label, 100*p.ProbabilityBetter))
				}
			}
			one.Decided = append(one.Decided, d)
		}
		for _, c := range seat.Checks {
			one.Checks = append(one.Checks, "a delivered club was hit"+strings.TrimSuffix(": "+c.Made.GetWords(), ": "))
		}
		last := &v.Visits[len(v.Visits)-1]
		last.Sessions = append(last.Sessions, one)
	}
}

// ownedView tells a club of the bag.
func (s *server) ownedView(o visit.Owned) ownedView {
	v := ownedView{Name: o.Name, Category: o.Category}
	if o.Order != "" {
		v.Order = bench.Label(o.Order)
	}
	for _, name := range bagParts {
		info, _ := event.BuildFieldNamed(name)
		if spec := o.Build.Spec(info.Field); spec != nil {
			how := ""
			if spec.Knowledge == event.Knowledge_KNOWLEDGE_MEASURED {
				how = " measured"
			}
			v.Known = append(v.Known, strings.ToLower(info.Label)+" "+s.partText(info, spec)+how)
		}
	}
	if o.CarryM > 0 {
		v.Known = append(v.Known, "carries "+s.units.Written(o.CarryM)+" by the player’s word")
	}
	for _, d := range o.Drifts() {
		info, _ := d.Field.Info()
		v.Drift = append(v.Drift, driftView{Label: strings.ToLower(info.Label), Was: s.figure(info, d.Was.Number),
			Now:  s.figure(info, d.Now.Number),
			Span: spanWord(time.Duration(d.Now.At - d.Was.At)), Off: !d.Tolerated,
			From: map[string]string{"ordered": "as ordered", "built": "as built", "bag": "as first known"}[d.Was.From]})
	}
	return v
}

func (s *server) partText(info event.BuildFieldInfo, spec *event.Spec) string {
	if info.Text {
		return spec.Text
	}
	return s.figure(info, spec.Number)
}

// spanWord is a length of time as people say it of clubs.
func spanWord(d time.Duration) string {
	days := int(d.Hours()/24 + 0.5)
	switch {
	case days < 1:
		return "the same day"
	case days < 60:
		return fmt.Sprintf("in %d days", days)
	case days < 330:
		return fmt.Sprintf("in %d months", (days+15)/30)
	case days < 400:
		return "in a year"
	}
	return fmt.Sprintf("in %.1f years", float64(days)/365.25)
}
