package visit

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/club/order"
	"fairlead/processors/visit/stock"
)

// Draft is an order as it was entered, planned and not yet placed.
type Draft struct {
	Session  string
	Verdict  *event.VerdictGiven // nil: none of this id is known
	Category string
	Hit      string // name of the club that was hit
	Asked    order.Asked
	Plan     order.Plan
	Needs    []stock.Needs // of the studio's catalogue, a club each; nil: none is known here
	Placed   *event.OrderPlaced
}

// DraftOrder plans an order from what was entered, as a page shows it before it
// is placed; the event's reader plans the same.
func DraftOrder(in Input, at *Place) (Draft, []*event.Fault) {
	r := &Reader{In: in, Place: at}
	d := r.order()
	return d, r.Faults
}

// hitNames are the clubs that stand for a category where nobody says which one
// was hit.
var hitNames = map[string]string{"driver": "driver", "wood": "3w", "hybrid": "4h", "iron": "7i", "wedge": "pw", "putter": "putter"}

func (r *Reader) order() (d Draft) {
	d.Placed = &event.OrderPlaced{Verdict: r.Text("verdict"), Unhit: r.Yes("unhit"), PromisedUnixNs: r.day("promised"), Words: r.Text("words")}
	var session *Session
	for _, s := range r.Place.Timeline.Sessions {
		for _, v := range s.Verdicts {
			if v.Event == d.Placed.Verdict && s.MovedTo == "" {
				session, d.Verdict = s, v.Given
			}
		}
	}
	if session == nil {
		r.Bad("verdict", d.Placed.Verdict, "no verdict of this id stands in bay "+r.Place.Bay, "open the order from the verdict's build sheet")
		return d
	}
	d.Session, d.Category = session.ID, session.Category
	if d.Verdict.GetKind() != event.VerdictKind_VERDICT_BUILD {
		r.Bad("verdict", d.Placed.Verdict, "names no build to make", "give a verdict that names the build first")
		return d
	}
	build := d.Verdict.GetBuild()
	trial := r.Place.Timeline.Trial(d.Verdict.GetTrial())
	if len(build.GetSpecs()) == 0 && trial != nil {
		build = trial.Build
	}
	d.Hit = nonEmpty(r.Text("hit"), hitNames[session.Category])
	category, _ := glossary.ParseCategory(session.Category)
	d.Asked = order.Asked{Hit: figuresOf(build), HitName: d.Hit, Category: category, Unhit: d.Placed.Unhit, Rules: r.rules()}
	var err error
	if d.Asked.Clubs, err = order.Names(nonEmpty(r.Text("clubs"), d.Hit)); err != nil {
		r.Bad("clubs", r.Text("clubs"), "can't be read", err.Error())
		return d
	}
	d.Asked.Fixed = r.fixed(d.Asked.Clubs)
	if d.Plan, err = order.New(d.Asked); err != nil {
		r.Bad("clubs", r.Text("clubs"), "can't be planned", err.Error())
		return d
	}
	for _, x := range d.Plan.Refusals {
		field := strings.Trim(x.Club+"."+string(x.Part), ".")
		if field == "" {
			field = "unhit"
		}
		r.Bad(field, "", x.Reason, x.Try)
	}
	if !d.Placed.Unhit {
		r.wasHit(trial, build)
	}
	r.rows(&d, build)
	r.take(&d)
	return d
}

// wasHit refuses what nobody hit like this.
func (r *Reader) wasHit(trial *Trial, build *event.Build) {
	hint := "give the verdict again, or say that it is ordered though nobody hit it like this"
	if trial == nil {
		r.Bad("unhit", "", "the verdict names no trial: nobody hit this build", hint)
		return
	}
	for _, info := range event.BuildFields() {
		x, y := build.Spec(info.Field), trial.Build.Spec(info.Field)
		if (x == nil) != (y == nil) || x != nil && (x.Number != y.Number || x.Text != y.Text) {
			r.Bad("unhit", info.Label, "the club of the trial says otherwise now than the verdict", hint)
		}
	}
}

// figuresOf are the figures of a build that an order starts from.
func figuresOf(b *event.Build) map[order.Part]order.Known {
	out := map[order.Part]order.Known{}
	for _, p := range order.Parts() {
		info, _ := event.BuildFieldNamed(string(p))
		if s := b.Spec(info.Field); s != nil {
			out[p] = order.Known{Number: s.Number, Measured: s.Knowledge == event.Knowledge_KNOWLEDGE_MEASURED}
		}
	}
	return out
}

// figure reads a length or an angle as people write it; nil: nothing was.
func (r *Reader) figure(name, part string, low, high float64) *float64 {
	text := r.Text(name)
	if text == "" {
		return nil
	}
	info, _ := event.BuildFieldNamed(part)
	v, err := club.ParseFigure(text, club.Figure{Name: part, Quantity: info.Quantity, Min: low, Max: high, Prefer: r.prefer(info)})
	if err == nil && (v < low || v > high) {
		err = fmt.Errorf("it lies outside of %g to %g %s", low, high, unit.Stored(info.Quantity))
	}
	if err != nil {
		r.Bad(name, text, "can't be read", err.Error())
		return nil
	}
	return &v
}

func (r *Reader) rules() (out order.Rules) {
	at := func(v *float64) float64 {
		if v == nil {
			return 0
		}
		return *v
	}
	out.LengthStep = at(r.figure("length_step", "length", 0.003, 0.03))
	out.LieStep = r.figure("lie_step", "lie", 0, 2)
	out.RawShaft = at(r.figure("raw", "length", 0.6, 1.4))
	out.TipStep = at(r.figure("tip_step", "tip_trim", -0.03, 0.03))
	if text := r.Text("wedge_points"); text != "" {
		v, err := strconv.ParseFloat(strings.TrimPrefix(text, "+"), 64)
		if err != nil || !(v >= -10 && v <= 20) {
			r.Bad("wedge_points", text, "is no number of points from -10 to 20", "write points, such as 2")
			v = 0
		}
		out.WedgePoints = v
	}
	return out
}

// fixed are figures said for one club: CLUB.PART=VALUE, or a grid's fields
// fix.CLUB.PART.
func (r *Reader) fixed(clubs []string) map[string]map[order.Part]float64 {
	out := map[string]map[order.Part]float64{}
	add := func(name, part, value string) {
		info, ok := event.BuildFieldNamed(part)
		if !ok || !slices.Contains(order.Parts(), order.Part(part)) {
			r.Bad("fix", part, "is no figure of an order", "use "+strings.Trim(fmt.Sprint(order.Parts()), "[]"))
			return
		}
		if !slices.Contains(clubs, name) {
			r.Bad("fix", name, "is no club of this order", "name it with the others")
			return
		}
		v, err := club.ParseFigure(value, club.Figure{Name: part, Quantity: info.Quantity, Min: info.Min, Max: info.Max, Prefer: r.prefer(info)})
		if err != nil {
			r.Bad(name+"."+part, value, "can't be read", err.Error())
			return
		}
		if out[name] == nil {
			out[name] = map[order.Part]float64{}
		}
		out[name][order.Part(part)] = v
	}
	for _, text := range r.Texts("fix") {
		at, value, ok := strings.Cut(text, "=")
		name, part, ok2 := strings.Cut(at, ".")
		if !ok || !ok2 {
			r.Bad("fix", text, "names no figure of a club", "write CLUB.PART=VALUE, such as 5i.lie=61deg")
			continue
		}
		add(strings.TrimSpace(name), strings.TrimSpace(part), value)
	}
	for _, name := range clubs {
		for _, p := range order.Parts() {
			if value := r.Text("fix." + name + "." + string(p)); value != "" {
				add(name, string(p), value)
			}
		}
	}
	return out
}

// day reads a date; the promise holds until its evening.
func (r *Reader) day(name string) int64 {
	text := r.Text(name)
	if text == "" {
		return 0
	}
	at, err := time.ParseInLocation("2006-01-02", text, time.UTC)
	if err != nil {
		r.Bad(name, text, "is no day", "write it as 2026-06-12")
		return 0
	}
	return at.Add(18 * time.Hour).UnixNano()
}

// ofOne are parts that hold for the very club that was hit and not for others
// of its set.
var ofOne = []event.BuildField{event.BuildField_BUILD_STATED_LOFT, event.BuildField_BUILD_BOUNCE, event.BuildField_BUILD_FACE_ANGLE,
	event.BuildField_BUILD_FREQUENCY,
	event.BuildField_BUILD_BALANCE_POINT, event.BuildField_BUILD_FACE_WEAR, event.BuildField_BUILD_TOE_HANG}

// rows turns the plan into the rows of the event.
func (r *Reader) rows(d *Draft, hit *event.Build) {
	var bend float64
	if v := r.figure("bend", "lie", 0, 10); v != nil {
		bend = *v
	}
	for _, row := range d.Plan.Rows {
		c := &event.OrderedClub{Name: row.Name, Category: string(row.Category), Own: r.Yes("own"), Metal: r.Text("metal"), BendLimitDeg: bend,
			RestKg: row.Rest, UnsurePoints: row.Figures[order.SwingWeight].Unsure, Build: &event.Build{Name: row.Name}}
		for _, s := range hit.GetSpecs() {
			info, _ := s.Field.Info()
			planned := slices.Contains(order.Parts(), order.Part(info.Name))
			if !planned && (row.Anchor || !slices.Contains(ofOne, s.Field)) {
				c.Build.Specs = append(c.Build.Specs, proto.Clone(s).(*event.Spec))
			}
		}
		for _, p := range order.Parts() {
			f, ok := row.Figures[p]
			if !ok {
				continue
			}
			info, _ := event.BuildFieldNamed(string(p))
			s := &event.Spec{Field: info.Field, Number: f.Number}
			switch f.Origin {
			case order.Fixed:
				c.Fixed = append(c.Fixed, info.Field)
			case order.Derived:
				c.Derived = append(c.Derived, info.Field)
			case order.Measured:
				s.Knowledge = event.Knowledge_KNOWLEDGE_MEASURED
			}
			c.Build.Specs = append(c.Build.Specs, s)
		}
		d.Placed.Clubs = append(d.Placed.Clubs, c)
	}
}
