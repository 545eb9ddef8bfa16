package draw

import (
	"math"
)

// Changed is the change of one outcome between two clubs, in the outcome's own
// unit, with its words.
type Changed struct {
	Name, Goal        string // Goal says what counts as better
	Change, Low, High float64
	Margin            float64 // what is practically the same
	Worse             bool    // more of it is worse: the row is drawn the other way round
	Text, Odds, Says  string  // the change, its odds, the verdict
}

// Changes draws one row for each outcome: the change with its interval, each on
// its own scale, over the band that is practically the same; right is better
// wherever better has a side. note stands below.
func Changes(title, note string, rows []Changed) *Picture {
	const width, line, top, from, to = 900.0, 46.0, 84.0, 190.0, 560.0
	p := NewPicture(width, top+line*float64(len(rows))+46, title, "")
	p.Text("big", 24, 28, Start, title)
	p.Text("soft", 24, 48, Start, "bar: 95 % interval of the change · grey band: practically the same · to the right is better")
	p.Text("soft", to+16, top-12, Start, "change")
	p.Text("soft", to+92, top-12, Start, "odds better")
	p.Text("soft", to+180, top-12, Start, "verdict")
	for i, o := range rows {
		y := top + line*float64(i) + line/2
		span := max(math.Abs(o.Low), math.Abs(o.High), 2*o.Margin) * 1.08
		x := Axis{-span, span, from, to}
		if o.Worse {
			x.From, x.To = x.To, x.From
		}
		p.Text("", 24, y, Start, o.Name)
		p.Text("soft small", 24, y+15, Start, "better is "+o.Goal)
		p.Rect("band", x.At(-o.Margin), y-15, x.At(o.Margin)-x.At(-o.Margin), line-10)
		p.Line("grid", x.At(0), y-20, x.At(0), y+22)
		p.Group(look(o.Says), "", func() {
			p.Line("thick", x.At(o.Low), y+3, x.At(o.High), y+3)
			p.Circle("ring", x.At(o.Change), y+3, 6)
			p.Text("word head", to+180, y+7, Start, o.Says)
		})
		p.Text("", to+16, y+7, Start, o.Text)
		p.Text("", to+92, y+7, Start, o.Odds)
	}
	p.Text("soft", 24, top+line*float64(len(rows))+28, Start, note)
	return p
}
