package draw

import (
	"fmt"
	"html/template"
	"strconv"
	"strings"
)

// shapes tell trials apart, beside their numbers: each a path within a radius
// of about one around the origin.
var shapes = [][][2]float64{
	nil, // a disc
	{{-.85, -.85}, {.85, -.85}, {.85, .85}, {-.85, .85}}, // square
	{{0, -1.1}, {1, .75}, {-1, .75}},                     // triangle
	{{0, -1.2}, {1.05, 0}, {0, 1.2}, {-1.05, 0}},         // lozenge
	{{-1, -.75}, {1, -.75}, {0, 1.1}},                    // triangle, down
	// plus
	{{-.35, -1}, {.35, -1}, {.35, -.35}, {1, -.35}, {1, .35}, {.35, .35}, {.35, 1}, {-.35, 1}, {-.35, .35}, {-1, .35}, {-1, -.35},
		{-.35, -.35}},
	{{-.5, -1}, {.5, -1}, {1, -.3}, {1, .5}, {.4, 1}, {-.4, 1}, {-1, .5}, {-1, -.3}},                                    // shield
	{{0, -1.1}, {.32, -.35}, {1.1, -.3}, {.5, .25}, {.7, 1}, {0, .55}, {-.7, 1}, {-.5, .25}, {-1.1, -.3}, {-.32, -.35}}, // star
	{{-1, -1}, {0, -.45}, {1, -1}, {.45, 0}, {1, 1}, {0, .45}, {-1, 1}, {-.45, 0}},                                      // cross
}

// Shape is the outline of the nth trial's sign about a place.
func Shape(n int, x, y, r float64) string {
	points := shapes[(max(n, 1)-1)%len(shapes)]
	if points == nil {
		return fmt.Sprintf("M%s %sa%s %s 0 1 1 %s 0a%s %s 0 1 1 %s 0Z", num(x-r), num(y), num(r), num(r), num(2*r), num(r), num(r), num(-2*r))
	}
	var t Trace
	for _, p := range points {
		t.To(x+p[0]*r, y+p[1]*r)
	}
	return t.Closed()
}

// Mark is a trial's sign in a line of text, in its colour.
func Mark(n int) template.HTML {
	var d strings.Builder
	points := shapes[(max(n, 1)-1)%len(shapes)]
	for i, p := range points {
		fmt.Fprintf(&d, "%c%s,%s", "ML"[min(i, 1)], short(p[0]), short(p[1]))
	}
	if points == nil {
		d.WriteString("M1,0A1,1 0 1 1 -1,0A1,1 0 1 1 1,0")
	}
	return template.HTML(fmt.Sprintf(`<svg class="fl mark" viewBox="-1.5 -1.5 3 3" aria-hidden="true"><g class="%s"><path class="solid" d="%sZ"/></g></svg>`, Series(n), d.String()))
}

func short(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
