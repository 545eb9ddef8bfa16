package draw

import (
	"fmt"
	"html"
	"html/template"
	"io"
	"math"
	"strconv"
	"strings"
)

// Anchor is which end of a text stands at its place.
type Anchor string

// The anchors.
const (
	Start  Anchor = "start"
	Middle Anchor = "middle"
	End    Anchor = "end"
)

// Picture gathers an SVG in a box of width by height units, the origin at the
// top left. Classes are those of Style.
type Picture struct {
	width, height float64
	title, about  string
	body          strings.Builder
}

// NewPicture begins a picture; about says in words what it shows, "" nothing
// beyond the title.
func NewPicture(width, height float64, title, about string) *Picture {
	return &Picture{width: width, height: height, title: title, about: about}
}

func (p *Picture) add(format string, args ...any) { fmt.Fprintf(&p.body, format, args...) }

// class writes a class attribute, nothing for none.
func class(name string) string {
	if name == "" {
		return ""
	}
	return ` class="` + name + `"`
}

// Line draws a straight line.
func (p *Picture) Line(name string, x1, y1, x2, y2 float64) {
	p.add(`<line%s x1="%s" y1="%s" x2="%s" y2="%s"/>`, class(name), num(x1), num(y1), num(x2), num(y2))
}

// Rect draws a rectangle; a negative width reaches to the left.
func (p *Picture) Rect(name string, x, y, width, height float64) {
	if width < 0 {
		x, width = x+width, -width
	}
	p.add(`<rect%s x="%s" y="%s" width="%s" height="%s"/>`, class(name), num(x), num(y), num(width), num(height))
}

// Circle draws a circle.
func (p *Picture) Circle(name string, x, y, r float64) {
	p.add(`<circle%s cx="%s" cy="%s" r="%s"/>`, class(name), num(x), num(y), num(r))
}

// Path draws an outline in SVG's own words, as a Trace or a marker's shape.
func (p *Picture) Path(name, d string) { p.add(`<path%s d="%s"/>`, class(name), d) }

// Text writes a line of text.
func (p *Picture) Text(name string, x, y float64, anchor Anchor, text string) {
	at := ""
	if anchor != Start {
		at = ` text-anchor="` + string(anchor) + `"`
	}
	p.add(`<text%s x="%s" y="%s"%s>%s</text>`, class(name), num(x), num(y), at, html.EscapeString(text))
}

// Turned writes a line of text that reads upward, about its middle.
func (p *Picture) Turned(name string, x, y float64, text string) {
	p.add(`<text%s transform="translate(%s %s) rotate(-90)" text-anchor="middle">%s</text>`, class(name), num(x), num(y), html.EscapeString(text))
}

// Group holds what inside draws together under a class and, where given, a
// title that a pointer shows.
func (p *Picture) Group(name, title string, inside func()) {
	p.add("<g%s>", class(name))
	if title != "" {
		p.add("<title>%s</title>", html.EscapeString(title))
	}
	inside()
	p.add("</g>")
}

// Link makes what inside draws lead to an address; "" leads nowhere.
func (p *Picture) Link(address string, inside func()) {
	if address != "" {
		p.add(`<a href="%s">`, html.EscapeString(address))
		defer p.add("</a>")
	}
	inside()
}

// Clip cuts what inside draws at a rectangle. id must be the picture's own.
func (p *Picture) Clip(id string, x, y, width, height float64, inside func()) {
	p.add(`<clipPath id="%s"><rect x="%s" y="%s" width="%s" height="%s"/></clipPath><g clip-path="url(#%s)">`,
		id, num(x), num(y), num(width), num(height), id)
	inside()
	p.add("</g>")
}

// role is what a picture is to who hears it: one image, or a group where parts of
// it lead somewhere.
func (p *Picture) role() string {
	if strings.Contains(p.body.String(), `<a href=`) {
		return "group"
	}
	return "img"
}

// Inline is the picture for a page that has Style.
func (p *Picture) Inline() template.HTML { return template.HTML(p.whole("", "")) }

// Write writes the picture as a file that stands alone.
func (p *Picture) Write(w io.Writer) error {
	_, err := io.WriteString(w, p.whole(` xmlns="http://www.w3.org/2000/svg"`, "<style>"+Style+"</style>")+"\n")
	return err
}

func (p *Picture) whole(space, style string) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg%s class="fl" viewBox="0 0 %s %s" role="%s" aria-label="%s">`, space, num(p.width), num(p.height), p.role(), html.EscapeString(p.title))
	if space != "" {
		fmt.Fprintf(&b, "<title>%s</title>", html.EscapeString(p.title))
	}
	if p.about != "" {
		fmt.Fprintf(&b, "<desc>%s</desc>", html.EscapeString(p.about))
	}
	b.WriteString(style)
	if space != "" {
		fmt.Fprintf(&b, `<rect class="paper" width="%s" height="%s"/>`, num(p.width), num(p.height))
	}
	b.WriteString(p.body.String())
	b.WriteString("</svg>")
	return b.String()
}

// num writes a coordinate with one decimal at most and no minus zero.
func num(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10+0, 'f', -1, 64) }

// Trace is an outline through points.
type Trace struct{ d []byte }

// To adds a point; the first is where the outline begins.
func (t *Trace) To(x, y float64) {
	step := byte('L')
	if len(t.d) == 0 {
		step = 'M'
	}
	t.d = append(t.d, step)
	t.d = append(append(append(t.d, num(x)...), ' '), num(y)...)
}

// Open is the outline as a line, Closed as an area.
func (t *Trace) Open() string   { return string(t.d) }
func (t *Trace) Closed() string { return string(t.d) + "Z" }
