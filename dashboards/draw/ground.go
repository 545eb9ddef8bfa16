package draw

import (
	"fmt"
	"math"
	"strings"

	"fairlead/dashboards/figure"
	"fairlead/processors/golf/dispersion"
)

// Ground is where the shots of some trials came down, seen from above with the
// target line pointing up; for putts how they set off. All is in stored units,
// first to the right, second along the line.
type Ground struct {
	Title  string
	Width  float64 // of the picture; 0: a column of a page
	X, Y   figure.Unit
	Own    bool   // the axes have no scale in common
	XName  string // captions of the axes; "" for none
	YName  string
	Aim    *[2]float64 // a named place to hit; nil: the target line alone
	Trials []Cloud
	Notes  []string // lines below, one each
	Bare   bool     // nothing below: what it shows is said beside it
}

// Cloud is the shots of one trial.
type Cloud struct {
	Number int    // gives its shape, colour and line
	Label  string // on its middle, such as 2 or 2.1
	Name   string
	Filled bool // the trial that runs, or the club that was chosen
	Dots   []Dot
	Region *dispersion.Ellipse // where next shots fall
	Centre *dispersion.Ellipse // where its true middle lies
}

// Dot is one shot.
type Dot struct {
	X, Y   float64
	ID     string // its number, for a tap on it
	Tip    string
	Out    bool // left out: pale, and in no middle
	Latest bool
	Odd    string // why it is asked about
}

const pageWidth = 440.0

// middle is the mean of the shots that count.
func (c *Cloud) middle() (x, y float64, n int) {
	for _, d := range c.Dots {
		if !d.Out {
			x, y, n = x+d.X, y+d.Y, n+1
		}
	}
	return x / max(float64(n), 1), y / max(float64(n), 1), n
}

// Draw makes the picture; nil where nothing was hit and no place was named.
func (g Ground) Draw() *Picture {
	width := g.Width
	if width == 0 {
		width = pageWidth
	}
	left, right, top := 56.0, width-12, 10.0
	if g.YName != "" {
		left = 62
	}
	p := NewPicture(width, 0, g.Title, "")
	if g.Width > pageWidth {
		top = 44
		p.Text("big", left, 28, Start, g.Title)
	}
	x, y, ok := g.axes(left, right, top)
	if !ok {
		return nil
	}
	if most := g.widest(y) + 6; most > left { // the numbers of the axis stand whole
		left = most
		x, y, _ = g.axes(left, right, top)
	}
	g.grid(p, x, y)
	for i := range g.Trials {
		c := &g.Trials[i]
		p.Group(Series(c.Number), "", func() {
			if c.Region != nil {
				p.Path("line", outline(*c.Region, x, y, g.X.Factor, g.Y.Factor))
			}
			if c.Centre != nil {
				p.Path("area", outline(*c.Centre, x, y, g.X.Factor, g.Y.Factor))
			}
		})
	}
	for i := range g.Trials {
		g.dots(p, &g.Trials[i], x, y)
	}
	if g.Aim != nil {
		ax, ay := x.At(g.Aim[0]*g.X.Factor), y.At(g.Aim[1]*g.Y.Factor)
		p.Group("", "aim", func() {
			p.Line("aim", ax-9, ay, ax+9, ay)
			p.Line("aim", ax, ay-9, ax, ay+9)
			p.add(`<circle class="aim" cx="%s" cy="%s" r="5"/>`, num(ax), num(ay))
		})
	}
	g.middles(p, x, y)
	bottom := y.From + 22
	if g.XName != "" {
		p.Text("soft", (left+right)/2, bottom+12, Middle, g.XName)
		bottom += 18
	}
	if g.YName != "" {
		p.Turned("soft", 16, (y.From+y.To)/2, g.YName)
	}
	p.height = bottom
	if !g.Bare {
		p.height = g.legend(p, bottom)
	}
	return p
}

// axes finds the box that holds everything: shots, regions, the aim and the
// target line, with one scale for both axes where they have one in common.
func (g Ground) axes(left, right, top float64) (x, y Axis, ok bool) {
	x1, x2, y1, y2 := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	reach := func(px, py float64) {
		px, py = px*g.X.Factor, py*g.Y.Factor
		x1, x2, y1, y2 = min(x1, px), max(x2, px), min(y1, py), max(y2, py)
	}
	for _, c := range g.Trials {
		for _, d := range c.Dots {
			reach(d.X, d.Y)
		}
		for _, e := range []*dispersion.Ellipse{c.Region, c.Centre} {
			if e != nil {
				sin, cos := math.Sincos(e.TiltDeg * math.Pi / 180)
				w, h := math.Hypot(e.Major*sin, e.Minor*cos), math.Hypot(e.Major*cos, e.Minor*sin)
				reach(e.Centre[1]-w, e.Centre[0]-h)
				reach(e.Centre[1]+w, e.Centre[0]+h)
			}
		}
	}
	if g.Aim != nil {
		reach(g.Aim[0], g.Aim[1])
	}
	if math.IsInf(x1, 1) {
		return x, y, false
	}
	x1, x2 = min(x1, 0), max(x2, 0)
	spanX, spanY := x2-x1, y2-y1
	wide := right - left
	tall := wide * 0.7
	if g.Own {
		spanX, spanY = max(spanX, 1)*1.15, max(spanY, 0.2)*1.2
	} else {
		spanX, spanY = max(spanX, 10, spanY/1.15)*1.15, max(spanY, 8, spanX/2.5)*1.15
		tall = wide * spanY / spanX
	}
	mx, my := (x1+x2)/2, (y1+y2)/2
	return Axis{mx - spanX/2, mx + spanX/2, left, right}, Axis{my - spanY/2, my + spanY/2, top + tall, top}, true
}

// widest is how wide the numbers beside the axis of y are, the unit with them.
func (g Ground) widest(y Axis) (most float64) {
	for _, v := range TicksBy(y.Low, y.High, Step(y.High-y.Low, g.lines())) {
		text := Label(v)
		if g.YName == "" {
			text = g.Y.With(text)
		}
		most = max(most, textWidth(text))
	}
	return most
}

// lines are about how many lines an axis has.
func (g Ground) lines() int {
	if g.Bare {
		return 4
	}
	return 6
}

// grid draws the lines of both axes with their numbers, and the target line.
func (g Ground) grid(p *Picture, x, y Axis) {
	stepX, stepY := Step(x.High-x.Low, g.lines()), Step(y.High-y.Low, g.lines())
	if !g.Own {
		stepX = max(stepX, stepY)
		stepY = stepX
	}
	for _, v := range TicksBy(x.Low, x.High, stepX) {
		look := "grid"
		if v == 0 {
			look = "target"
		}
		p.Line(look, x.At(v), y.From, x.At(v), y.To)
		if at := x.At(v); at > x.From+18 && at < x.To-18 {
			p.Text("tick", at, y.From+16, Middle, sideLabel(v, g.X))
		}
	}
	last := ""
	for _, v := range TicksBy(y.Low, y.High, stepY) {
		p.Line("grid", x.From, y.At(v), x.To, y.At(v))
		if text := Label(v); text != last && y.At(v) > y.To+8 && y.At(v) < y.From-4 {
			if last == "" && g.YName == "" {
				text = g.Y.With(text) // the lowest says the unit for all
			}
			last = Label(v)
			p.Text("tick", x.From-4, y.At(v)+4, End, text)
		}
	}
}

func (g Ground) dots(p *Picture, c *Cloud, x, y Axis) {
	look := Series(c.Number)
	if c.Filled {
		look += " running"
	}
	p.Group(look, "", func() {
		for _, d := range c.Dots {
			px, py := x.At(d.X*g.X.Factor), y.At(d.Y*g.Y.Factor)
			if d.Odd != "" {
				p.Group("", d.Odd, func() { p.Circle("odd", px, py, 9) })
			}
			name := "shot"
			if d.Out {
				name += " out"
			}
			if d.Latest {
				name += " latest"
			}
			id := ""
			if d.ID != "" {
				id = ` data-shot="` + d.ID + `"`
			}
			p.add(`<path class="%s"%s d="%s">`, name, id, Shape(c.Number, px, py, 5.5))
			if d.Tip != "" {
				p.add("<title>")
				p.add("%s", escape(d.Tip))
				p.add("</title>")
			}
			p.add("</path>")
		}
	})
}

// middles marks the middle of each trial with its label; labels step aside and
// stay tied to their middle by a line.
func (g Ground) middles(p *Picture, x, y Axis) {
	if len(g.Trials) < 2 && (len(g.Trials) == 0 || g.Trials[0].Label == "") {
		return
	}
	var taken [][2]float64
	for i := range g.Trials {
		c := &g.Trials[i]
		mx, my, n := c.middle()
		if n == 0 {
			continue
		}
		px, py := x.At(mx*g.X.Factor), y.At(my*g.Y.Factor)
		p.label(&taken, Series(c.Number), c.Label, px, py, x, y)
	}
}

// label writes a label on a disc near a place, within the axes and beside the
// labels that stand there already.
func (p *Picture) label(taken *[][2]float64, look, text string, px, py float64, x, y Axis) {
	const apart = 24.0
	free := func(lx, ly float64) bool {
		if lx < x.From+12 || lx > x.To-12 || ly < min(y.From, y.To)+12 || ly > max(y.From, y.To)-12 {
			return false
		}
		for _, o := range *taken {
			if math.Hypot(o[0]-lx, o[1]-ly) < apart {
				return false
			}
		}
		return true
	}
	lx, ly := px, py
	for k := 0; k < 96 && !free(lx, ly); k++ {
		sin, cos := math.Sincos(float64(k%12) * math.Pi / 6)
		far := apart * (1 + float64(k/12)*0.6)
		lx, ly = px+far*cos, py-far*sin
	}
	*taken = append(*taken, [2]float64{lx, ly})
	p.Group(look+" mean", "", func() {
		if lx != px || ly != py {
			p.Line("tie", px, py, lx, ly)
		}
		r := 10.0 + 2*float64(max(len(text)-2, 0))
		p.Circle("disc", lx, ly, r)
		p.Text("", lx, ly+4.5, Middle, text)
	})
}

// legend names the trials, one a line, and returns how far down it reaches.
func (g Ground) legend(p *Picture, y float64) float64 {
	for _, c := range g.Trials {
		n := 0
		for _, d := range c.Dots {
			if !d.Out {
				n++
			}
		}
		if c.Name == "" {
			continue
		}
		y += 19
		p.legendRow(c.Number, c.Label, c.Name, shotsText(n), c.Filled, y)
	}
	for _, note := range g.Notes {
		y += 18
		p.Text("soft", 12, y, Start, note)
	}
	return y + 12
}

// legendRow shows a trial's shape, line and number with its name.
func (p *Picture) legendRow(number int, label, name, more string, filled bool, y float64) {
	look := Series(number)
	if filled {
		look += " running"
	}
	p.Group(look, "", func() {
		p.Path("sign", Shape(number, 20, y-4.5, 5.5))
		p.Line("line", 32, y-4.5, 62, y-4.5)
	})
	if label != "" {
		name = label + " · " + name
	}
	room := int((p.width-76)/6.6) - len([]rune(more)) - 2
	if more != "" {
		name = kept(name, max(room, 8)) + ", " + more
	}
	p.Text("", 70, y, Start, name)
}

func shotsText(n int) string {
	if n == 1 {
		return "1 shot"
	}
	return fmt.Sprintf("%d shots", n)
}

// outline is the edge of a region, whose first axis points up.
func outline(e dispersion.Ellipse, x, y Axis, fx, fy float64) string {
	var t Trace
	st, ct := math.Sincos(e.TiltDeg * math.Pi / 180)
	for i := range 48 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 48)
		along, across := e.Major*cos, e.Minor*sin
		t.To(x.At((e.Centre[1]+along*st+across*ct)*fx), y.At((e.Centre[0]+along*ct-across*st)*fy))
	}
	return t.Closed()
}

var escape = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;").Replace
