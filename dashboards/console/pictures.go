package console

import (
	"html/template"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/rolling"
)

// picture is one figure with its caption.
type picture struct {
	Caption, Hint string
	SVG           template.HTML
}

// pictures are the figures of a session. Full swings come first; partial ones,
// where there are any, have figures of their own.
type pictures struct {
	Landed, Curve, Side, Strike, Impact, Order []picture
}

// pictures draws the figures; how one is read stands beside its caption.
func (s *server) pictures(state *rolling.State) (v pictures) {
	putts := state.Session != nil && state.Session.Category == "putter"
	landed, curve, hint := "Where they landed", "Start line and curve", "one scale both ways; a number marks each trial’s middle"
	if putts {
		landed, curve, hint = "How the putts set off", "Start line", "ball speed over start line; a number marks each trial’s middle"
	}
	for _, set := range []struct {
		session *draw.Session
		of      string
	}{{draw.Full(state, s.units.Units), ""}, {draw.Partial(state, s.units.Units), ", partial swings"}} {
		for _, f := range []struct {
			to            *[]picture
			draw          func() *draw.Picture
			caption, hint string
		}{
			{&v.Landed, set.session.Landed, landed, hint},
			{&v.Curve, set.session.Curve, curve, "from above; sideways is drawn larger than along"},
			{&v.Side, set.session.Side, "Flight from the side", ""},
			{&v.Strike, set.session.Strike, "Strike on the face", ""},
			{&v.Impact, set.session.Impact, "Path and face at impact", ""},
			{&v.Order, set.session.Timeline, "The session in order", "bands: trials; lines: their means"},
		} {
			if p := f.draw(); p != nil {
				*f.to = append(*f.to, picture{f.caption + set.of, f.hint, p.Inline()})
			}
		}
	}
	return v
}

// delivery is how the club came to the ball, a row a trial.
type delivery struct {
	Columns []string
	Rows    []deliveryRow
}

type deliveryRow struct {
	Marker template.HTML
	Name   string
	Base   bool // the others are told against it
	Cells  []deliveryCell
}

type deliveryCell struct{ Value, Change string }

// deliveryFields are what a club does at impact and what the ball makes of it.
var deliveryFields = []event.Field{
	event.Field_FIELD_CLUBHEAD_SPEED, event.Field_FIELD_ATTACK_ANGLE, event.Field_FIELD_CLUB_PATH, event.Field_FIELD_FACE_ANGLE,
	event.Field_FIELD_FACE_TO_PATH, event.Field_FIELD_DYNAMIC_LOFT, event.Field_FIELD_SPIN_LOFT, event.Field_FIELD_SMASH_FACTOR,
}

// sidedField says that a value is told by its side of the target.
func sidedField(f event.Field) bool {
	info, ok := f.Info()
	return ok && info.Mirrors
}

// delivery tells the means of each trial and how they differ from the club that
// the others are compared with. Nothing where no device saw the club.
func (s *server) delivery(state *rolling.State) (v delivery) {
	var base *rolling.Trial
	measured := map[event.Field]bool{}
	for i := range state.Trials {
		t := &state.Trials[i]
		if t.Key == state.Incumbent {
			base = t
		}
		for _, f := range deliveryFields {
			if info, ok := f.Info(); ok {
				_, has := t.Fields[info.Column]
				measured[f] = measured[f] || has
			}
		}
	}
	for _, f := range deliveryFields {
		if info, ok := f.Info(); ok && measured[f] {
			v.Columns = append(v.Columns, info.Label)
		}
	}
	for i := range state.Trials {
		t := &state.Trials[i]
		if t.N == 0 {
			continue
		}
		row := deliveryRow{Marker: draw.Mark(t.Number), Name: runName(t), Base: t == base}
		for _, f := range deliveryFields {
			if !measured[f] {
				continue
			}
			info, _ := f.Info()
			m, ok := t.Fields[info.Column]
			if !ok {
				row.Cells = append(row.Cells, deliveryCell{Value: "–"})
				continue
			}
			u := s.units.of(info.Column)
			c := deliveryCell{Value: u.With(u.Number(m.Mean))}
			if sidedField(f) {
				c.Value = sided(u, m.Mean)
			}
			if base != nil && base != t {
				if b, has := base.Fields[info.Column]; has {
					c.Change = u.Signed(m.Mean - b.Mean)
				}
			}
			row.Cells = append(row.Cells, c)
		}
		v.Rows = append(v.Rows, row)
	}
	return v
}
