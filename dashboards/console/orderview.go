package console

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"rsc.io/qr"

	"fairlead/dashboards/console/people"
	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club"
	bench "fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
	"fairlead/processors/visit/stock"
)

// orderView is one order for pages and paper.
type orderView struct {
	Number, Label, Player, Category, Bay, State, Next, Holder, WaitsFor, Words, By string
	Placed, Promised, Cure                                                         string
	Curing, Late, Done, Unhit                                                      bool
	Clubs                                                                          []clubView
	Log                                                                            []string
	Undo                                                                           *undoView
	Steps                                                                          []stepView // work and its cautions, once for the set
	Rules                                                                          []bench.Reminder
	RulesAsOf                                                                      string
	Address                                                                        string
	QR                                                                             template.HTML
	Local                                                                          bool // the address leads nowhere but to this machine
	States                                                                         []string
	Took                                                                           string
	Key                                                                            string
	Problem                                                                        problem
	Typed                                                                          url.Values // of the form that was refused
	PlayerID                                                                       string
	// Bays in which it may be hit and checked; none: it is not built, or who looks fits nobody.
	Bays  []bayChoice
	Quote *quoteView // nil: it takes nothing of the catalogue
	Marks []string   // what was marked: deposit, paid
	Parts []partLine // what it takes of the shelf
}

// partLine is a part that one club takes.
type partLine struct{ Club, Code, Name, State string }

// Refused is the form that was not taken: where the order stands, or a club's.
func (v orderView) Refused() string {
	if row := v.Typed.Get("row"); row != "" {
		return "built-" + row
	}
	return "move"
}

// Kept is what a field of a form shows: what was typed into it, if the form was
// refused, else what it shows anyway. The form of a club is named by its row.
func (v orderView) Kept(row, name, otherwise string) string {
	if v.Problem.Error == "" || v.Typed.Get("row") != row {
		return otherwise
	}
	return v.Typed.Get(name)
}

// Chosen is the state that the form offers: the next, or where an order stands that has
// none, so that a note on a delivered one does not order it anew.
func (v orderView) Chosen() string {
	return strings.ReplaceAll(v.Kept("", "state", nonEmpty(v.Next, v.State)), "-", " ")
}

type clubView struct {
	Name, Category, State, Reason, By string
	Figures                           []figureView
	Parts                             []string // texts: head, shaft, grip
	Unsure                            string
	Work                              []string
	Off                               []string
}

type figureView struct {
	Name, Label, Value, Limits, Origin, Built, Unit string
	Off, Measure                                    bool
}

type stepView struct {
	Name     string
	Cautions []club.Caution
}

var stateWords = []event.OrderState{event.OrderState_ORDER_ORDERED, event.OrderState_ORDER_PARTS_THERE, event.OrderState_ORDER_IN_WORK,
	event.OrderState_ORDER_CURING,
	event.OrderState_ORDER_TO_MEASURE, event.OrderState_ORDER_READY, event.OrderState_ORDER_DELIVERED}

func stateWord(s event.OrderState) string {
	return strings.ReplaceAll(strings.ToLower(strings.TrimPrefix(s.String(), "ORDER_")), "_", " ")
}

func (s *server) fitters() []people.Person { return s.people.List(people.Fitter) }

// stamp is a time on the shop's pages; of another year it says which, since orders are
// looked up for years.
func (s *server) stamp(ns int64) string { return s.dated(ns, " 15:04") }

// dated is a day, with its year where that is another than now, and what follows it.
func (s *server) dated(ns int64, more string) string {
	at := time.Unix(0, ns)
	if at.Year() != s.now().Year() {
		more = " 2006" + more
	}
	return at.Format("Mon 2 Jan" + more)
}

// orderHead is what the board shows of an order.
func (s *server) orderHead(o *visit.Order, bay string) orderView {
	state, _ := o.State()
	now := s.now().UnixNano()
	v := orderView{Number: o.Number(), Label: bench.Label(o.Number()), Player: s.people.Name(o.Session.Player), Category: o.Session.Category,
		Bay:   bay,
		State: stateWord(state), WaitsFor: o.WaitsFor(), Words: o.Given.GetWords(), Placed: s.stamp(o.At), Unhit: o.Given.GetUnhit(),
		Done: state == event.OrderState_ORDER_DELIVERED || state == event.OrderState_ORDER_CANCELLED}
	if o.Who != "" {
		v.By = s.people.Name(o.Who)
	}
	if h := o.Holder(); h != "" {
		v.Holder = s.people.Name(h)
	}
	if at := o.Promised(); at != 0 {
		v.Promised, v.Late = s.dated(at, ""), !v.Done && at < now
	}
	if until := o.CureUntil(); until > now {
		v.Cure, v.Curing = s.stamp(until), true
	}
	if i := slices.Index(stateWords, state); i >= 0 && i+1 < len(stateWords) {
		v.Next = stateWord(stateWords[i+1])
	}
	for _, w := range append(slices.Clone(stateWords), event.OrderState_ORDER_CANCELLED) {
		v.States = append(v.States, stateWord(w))
	}
	for _, c := range o.Given.GetClubs() {
		v.Clubs = append(v.Clubs, clubView{Name: c.GetName()})
	}
	return v
}

// orderView is all of an order.
func (s *server) orderView(o *visit.Order, bay string, r *http.Request) orderView {
	v := s.orderHead(o, bay)
	v.Clubs = nil
	ops := map[club.Operation]bool{}
	var rows []bench.Row
	for _, c := range o.Given.GetClubs() {
		one, steps, row := s.clubView(o, c)
		v.Clubs = append(v.Clubs, one)
		rows = append(rows, row)
		for _, st := range steps {
			ops[st.Operation] = true
		}
	}
	for _, op := range club.Operations() {
		if ops[op] {
			list, _ := club.Cautions(op)
			v.Steps = append(v.Steps, stepView{strings.ReplaceAll(string(op), "-", " "), list})
		}
	}
	v.Rules, v.RulesAsOf = bench.Conformity(rows, -1), bench.RulesAsOf
	for _, m := range o.Moves {
		text := s.stamp(m.At) + ": " + stateWord(m.Given.GetState())
		for _, more := range []string{s.people.Name(m.Given.GetHolder()), m.Given.GetWaitsFor(), m.Given.GetWords()} {
			if more != "" {
				text += ", " + more
			}
		}
		if m.Who != "" {
			text += " (" + s.people.Name(m.Who) + ")"
		}
		v.Log = append(v.Log, text)
	}
	v.Undo = s.offered(ofOrder(o.Number()))
	if took, ok := o.Since(event.OrderState_ORDER_READY); ok {
		v.Took = sayTook(took + s.beforeOrder(o))
	}
	if state, _ := o.State(); (state == event.OrderState_ORDER_READY || state == event.OrderState_ORDER_DELIVERED) && mayFit(r) {
		v.PlayerID, v.Bays = o.Session.Player, s.bayChoices()
	}
	shelf := s.shelf(r.Context())
	v.Quote = s.quoteView(shelf, o.Given)
	for _, m := range o.Marks {
		text := visit.MarkWord(m.Given.GetMark()) + " " + day(m.At)
		if m.Who != "" {
			text += " (" + s.people.Name(m.Who) + ")"
		}
		v.Marks = append(v.Marks, text)
	}
	for _, p := range o.Given.GetParts() {
		line := partLine{Club: p.GetClub(), Code: p.GetCode(), Name: p.GetCode()}
		if known := shelf.Ever(p.GetCode()); known != nil {
			line.Name = stock.Name(known)
			if l := shelf.Level(p.GetCode()); known.GetKind() != event.PartKind_PART_WORK && !v.Done && l.Known && l.Free() < 0 {
				line.State = fmt.Sprintf("%d too few on the shelf", -l.Free())
			}
		}
		v.Parts = append(v.Parts, line)
	}
	scheme := "http://"
	if r.TLS != nil {
		scheme = "https://"
	}
	v.Address = scheme + r.Host + "/orders/" + o.Number()
	v.Local = strings.HasPrefix(r.Host, "127.") || strings.HasPrefix(r.Host, "localhost") || strings.HasPrefix(r.Host, "[::1]")
	v.QR = squares(v.Address)
	return v
}

// beforeOrder is how long it took from the verdict to the order.
func (s *server) beforeOrder(o *visit.Order) time.Duration {
	for _, g := range o.Session.Verdicts {
		if g.Event == o.Given.GetVerdict() {
			return time.Duration(max(0, o.At-g.At))
		}
	}
	return 0
}

func sayTook(d time.Duration) string {
	switch {
	case d < 2*time.Hour:
		return fmt.Sprintf("%.0f min", d.Minutes())
	case d < 48*time.Hour:
		return fmt.Sprintf("%.1f h", d.Hours())
	}
	return fmt.Sprintf("%.1f days", d.Hours()/24)
}

// remade is a club's state that has to be made anew.
const remade = "remake"

// clubView is one row with what was built of it.
func (s *server) clubView(o *visit.Order, c *event.OrderedClub) (v clubView, steps []bench.Step, row bench.Row) {
	v = clubView{Name: c.GetName(), Category: c.GetCategory(), State: "to be built"}
	row = bench.Row{Name: c.GetName(), Category: glossaryOf(c.GetCategory()), Figures: map[bench.Part]bench.Figure{}}
	var made *event.Build
	if all := o.Built[c.GetName()]; len(all) > 0 {
		last := all[len(all)-1]
		made, v.Reason = last.Given.GetBuild(), last.Given.GetReason()
		v.State = strings.ToLower(strings.TrimPrefix(last.Given.GetJudgement().String(), "BUILT_"))
		if last.Who != "" {
			v.By = s.people.Name(last.Who)
		}
	}
	off := map[event.BuildField]bool{}
	for _, f := range visit.Finishes(c.GetBuild(), made) {
		off[f.Field] = !f.Within
		if !f.Within {
			info, _ := f.Field.Info()
			v.Off = append(v.Off, strings.ToLower(info.Label))
		}
	}
	for _, info := range event.BuildFields() {
		spec := c.GetBuild().Spec(info.Field)
		if spec == nil {
			continue
		}
		if info.Text {
			v.Parts = append(v.Parts, info.Label+" "+spec.GetText())
			continue
		}
		row.Figures[bench.Part(info.Name)] = bench.Figure{Number: spec.Number}
		f := figureView{Name: info.Name, Label: info.Label, Value: s.figure(info, spec.Number), Limits: s.limits(info, spec.Number),
			Off:    off[info.Field],
			Origin: "test club", Unit: s.units.spec(info.Quantity).Name}
		f.Measure = f.Limits != ""
		switch {
		case slices.Contains(c.GetFixed(), info.Field):
			f.Origin = "fixed"
		case slices.Contains(c.GetDerived(), info.Field):
			f.Origin = "by rule"
		}
		if m := made.Spec(info.Field); m != nil {
			f.Built = s.figure(info, m.Number)
		}
		if v.State == remade { // its figures are those of the club that was thrown away
			f.Built, f.Off = "", false
		}
		v.Figures = append(v.Figures, f)
	}
	if u := c.GetUnsurePoints(); u > 0 {
		tol := club.DefaultTolerances()[club.SpecSwingWeight]
		v.Unsure = fmt.Sprintf("swing weight forecast ± %.1f points, tolerance ± %.1f", u, tol)
		if u > tol {
			v.Unsure += ": weigh it dry before the epoxy is mixed"
		}
	}
	steps = s.workOf(o, c)
	for _, st := range steps {
		text := strings.ReplaceAll(string(st.Operation), "-", " ") + ": " + st.Why
		if st.Stop {
			text = "STOP, " + text
		}
		v.Work = append(v.Work, text)
	}
	return v, steps, row
}

// workOf is the work that one club takes.
func (s *server) workOf(o *visit.Order, c *event.OrderedClub) []bench.Step {
	j := bench.Job{Own: c.GetOwn(), Was: map[bench.Part]float64{}, Want: map[bench.Part]float64{},
		Bend: bench.Bend{Metal: c.GetMetal(), Limit: c.GetBendLimitDeg()}}
	if h := c.GetBuild().Spec(event.BuildField_BUILD_HOSEL_SETTING); h != nil {
		j.Setting = h.Text
	}
	var base *event.Build
	for _, g := range o.Session.Verdicts {
		if g.Event == o.Given.GetVerdict() {
			for _, t := range o.Session.Trials {
				if t.Build.GetGamer() && (base == nil || t.ID == g.Given.GetBaseline()) {
					base = t.Build
				}
			}
		}
	}
	for _, p := range bench.Parts() {
		info, _ := event.BuildFieldNamed(string(p))
		if v, ok := c.GetBuild().Number(info.Field); ok {
			j.Want[p] = v
		}
		if v, ok := base.Number(info.Field); ok && c.GetOwn() {
			j.Was[p] = v
		}
	}
	changed := func(f event.BuildField) bool {
		x, y := c.GetBuild().Spec(f), base.Spec(f)
		return base != nil && x != nil && y != nil && x.Text != y.Text
	}
	j.NewHead, j.NewShaft, j.NewGrip = changed(event.BuildField_BUILD_HEAD_MODEL), changed(event.BuildField_BUILD_SHAFT_MODEL),
		changed(event.BuildField_BUILD_GRIP_MODEL)
	if loft, ok := c.GetBuild().Number(event.BuildField_BUILD_STATED_LOFT); ok && !c.GetOwn() {
		j.Was[bench.Loft] = loft
	}
	return bench.Work(j)
}

// squares draws an address as a code that a phone's camera opens.
func squares(text string) template.HTML {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "" // longer than any code holds: the address stands beside it
	}
	var b strings.Builder
	n := code.Size + 8 // four squares of quiet around it
	fmt.Fprintf(&b, `<svg class="qr" viewBox="0 0 %d %d" role="img" aria-label="Code that opens this order on a phone"><path fill="#fff" d="M0 0h%dv%dH0z"/><path fill="#000" d="`, n, n, n, n)
	for y := range code.Size {
		for x := range code.Size {
			if code.Black(x, y) {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x+4, y+4)
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return template.HTML(b.String())
}

// figure writes a figure of a build as the bench reads it: an angle to a tenth,
// a length to a sixteenth of an inch, a weight to a tenth of a gram.
func (s *server) figure(info event.BuildFieldInfo, v float64) string {
	switch bench.Part(info.Name) {
	case bench.Head, bench.Shaft, bench.Grip, bench.Total: // in tenths all four: the parts have to add up to the total as they are read
		return fmt.Sprintf("%.1f g", v*1000)
	}
	return s.units.value(info.Name, rolling.Value{Known: true, Number: v})
}
