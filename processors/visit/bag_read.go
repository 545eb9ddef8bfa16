package visit

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/club/order"
)

// bagWriter takes what was entered of a bag, figure by figure, onto what is known
// of its clubs.
type bagWriter struct {
	r       *Reader
	rows    []*event.BagClub // known ones and new ones, in order
	touched map[string]bool
}

// bag reads the clubs of which something was entered: CLUB.PART=VALUE of flags,
// or a grid's fields bag.CLUB.PART, carry.CLUB and gone.CLUB. In a grid, what
// was typed is stated or measured as its field how says; a figure that ends in !
// is measured, one that ends in ? stated, and " is what the club above has.
func (r *Reader) bag() (out []*event.BagClub) {
	w := &bagWriter{r: r, touched: map[string]bool{}}
	for _, known := range r.Place.bag(r.Text("session")) {
		w.rows = append(w.rows, proto.Clone(known).(*event.BagClub))
	}
	w.names(r.Text("clubs"))
	w.flags()
	w.grid()
	for _, row := range w.rows {
		if w.touched[row.Name] {
			out = append(out, row)
		}
	}
	return out
}

// bag is what is known of the bag of the player of a session.
func (p *Place) bag(session string) []*event.BagClub {
	if p.Bag != nil {
		return p.Bag
	}
	s := p.Timeline.Session(session)
	if s == nil {
		s = p.Timeline.Latest(Never, nil)
	}
	if s == nil || s.Player == "" {
		return nil
	}
	return FileOf(s.Player, map[string]*Timeline{p.Bay: p.Timeline}).Clubs()
}

// names adds clubs that are new in the bag.
func (w *bagWriter) names(text string) {
	for _, word := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return strings.ContainsRune(" ,;\n\r\t", r) }) {
		names, err := order.Names(word)
		if _, ok := club.CategoryOf(word); err != nil && ok && strings.ContainsFunc(word, unicode.IsLetter) {
			names, err = []string{word}, nil // a wood or hybrid that no standard set has
		}
		if err != nil {
			w.r.Bad("clubs", word, "is no club that is known", "write names such as driver 3w 4h 5-9i pw 56 putter")
			continue
		}
		for _, name := range names {
			if w.row(name) != nil {
				continue
			}
			kind, _ := club.CategoryOf(name)
			w.rows = append(w.rows, &event.BagClub{Name: name, Category: string(kind), Build: &event.Build{Name: name, Gamer: true}})
			w.touched[name] = true
		}
	}
}

func (w *bagWriter) row(name string) *event.BagClub {
	for _, row := range w.rows {
		if strings.EqualFold(row.Name, strings.TrimSpace(name)) {
			return row
		}
	}
	return nil
}

// flags reads what a command gives.
func (w *bagWriter) flags() {
	for _, list := range []string{"set", "measured"} {
		for _, text := range w.r.Texts(list) {
			at, value, ok := strings.Cut(text, "=")
			dot := strings.LastIndexByte(at, '.')
			if !ok || dot < 0 {
				w.r.Bad(list, text, "names no figure of a club", "write CLUB.PART=VALUE, such as 7i.loft=31.2deg")
				continue
			}
			if row := w.named(list, at[:dot]); row != nil {
				w.set(row, strings.TrimSpace(at[dot+1:]), value, list == "measured")
			}
		}
	}
	for _, text := range w.r.Texts("carry") {
		name, value, ok := strings.Cut(text, "=")
		if !ok {
			w.r.Bad("carry", text, "names no club", "write CLUB=LENGTH, such as 7i=150yd")
			continue
		}
		if row := w.named("carry", name); row != nil {
			w.carry(row, "carry", value)
		}
	}
	for _, name := range w.r.Texts("gone") {
		if row := w.named("gone", name); row != nil {
			row.Gone, w.touched[row.Name] = true, true
		}
	}
}

func (w *bagWriter) named(field, name string) *event.BagClub {
	row := w.row(name)
	if row == nil {
		w.r.Bad(field, name, "is no club of this bag", "name it among the clubs first")
	}
	return row
}

// grid reads what a page gives: a row a club.
func (w *bagWriter) grid() {
	measured := w.r.Text("how") == "measured"
	var above *event.BagClub
	for _, row := range w.rows {
		for _, info := range event.BuildFields() {
			text := w.r.Text("bag." + row.Name + "." + info.Name)
			if text == "" {
				continue
			}
			how := measured
			switch last := text[len(text)-1]; {
			case text == `"`:
				s := above.GetBuild().Spec(info.Field)
				if s == nil {
					w.r.Bad(row.Name+"."+info.Name, text, "the club above has none", "write it")
					continue
				}
				w.put(row, &event.Spec{Field: s.Field, Number: s.Number, Text: s.Text})
				continue
			case last == '!', last == '?':
				how, text = last == '!', text[:len(text)-1]
			}
			w.set(row, info.Name, text, how)
		}
		if text := w.r.Text("carry." + row.Name); text != "" {
			w.carry(row, "carry."+row.Name, text)
		}
		if w.r.Yes("gone." + row.Name) {
			row.Gone, w.touched[row.Name] = true, true
		}
		above = row
	}
}

// models are the parts of which another one makes it another club.
var models = []event.BuildField{headModel, shaftModel, gripModel}

// set takes one figure. Where another head, shaft or grip came, what belonged to
// the old one is no longer known.
func (w *bagWriter) set(row *event.BagClub, part, text string, measured bool) {
	info, ok := event.BuildFieldNamed(part)
	if !ok {
		w.r.Bad("part", part, "no such part of a build", "`fairlead visit trial --help` lists them")
		return
	}
	if text = strings.TrimSpace(text); text == "-" {
		text = "unknown"
	}
	was := row.Build.Spec(info.Field)
	if err := SetPart(row.Build, info.Name, text, measured, w.r.prefer(info)); err != nil {
		w.r.Bad(row.Name+"."+info.Name, text, "can't be read", err.Error())
		return
	}
	w.touched[row.Name] = true
	if now := row.Build.Spec(info.Field); was != nil && now.GetText() != was.GetText() && slices.Contains(models, info.Field) {
		var given []partGiven
		for _, other := range event.BuildFields() {
			if w.r.Text("bag."+row.Name+"."+other.Name) != "" {
				given = append(given, partGiven{info: other})
			}
		}
		dropDependents(row.Build, []event.BuildField{info.Field}, given)
	}
}

func (w *bagWriter) put(row *event.BagClub, s *event.Spec) {
	row.Build.Specs = append(slices.DeleteFunc(row.Build.Specs, func(x *event.Spec) bool { return x.Field == s.Field }), s)
	w.touched[row.Name] = true
}

func (w *bagWriter) carry(row *event.BagClub, field, text string) {
	w.touched[row.Name] = true
	if text = strings.TrimSpace(text); text == "-" || text == "unknown" {
		row.CarryM = 0
		return
	}
	if !strings.ContainsAny(text, "my") && w.r.Place.Far != "" {
		text += w.r.Place.Far
	}
	v, err := unit.Parse(unit.Length, text)
	if err == nil && !(v > 0 && v <= 400) {
		err = fmt.Errorf("it lies outside of 0 to 400 m")
	}
	if err != nil {
		w.r.Bad(field, text, "can't be read", err.Error())
		return
	}
	row.CarryM = v
}
