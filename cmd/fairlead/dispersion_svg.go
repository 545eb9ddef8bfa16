package main

import (
	"fmt"
	"math"
	"strings"

	"fairlead/processors/golf/club"
	"fairlead/processors/golf/dispersion"
)

// dispersionSVG draws a trial from above, the target line pointing up: the
// shots, the ellipse of the next shot, that of the centre, and the aim. Both
// axes have the same scale.
func dispersionSVG(s dispersion.Summary, shots []dispersion.Shot, show showUnits) string {
	const width, height, left, top, right, bottom = 720.0, 760.0, 70.0, 64.0, 20.0, 54.0
	minX, maxX, minY, maxY := s.Aim.Offline, s.Aim.Offline, s.Aim.Carry, s.Aim.Carry
	reach := func(x, y float64) {
		minX, maxX, minY, maxY = math.Min(minX, x), math.Max(maxX, x), math.Min(minY, y), math.Max(maxY, y)
	}
	for _, p := range shots {
		reach(p.Offline, p.Carry)
	}
	if e := s.NextShot; e != nil {
		for i := range 72 {
			reach(onEllipse(e, float64(i)*math.Pi/36))
		}
	}
	// A square of ground with room around, so that the scale is one.
	span := math.Max(math.Max(maxX-minX, maxY-minY)*1.12, 10)
	midX, midY := (minX+maxX)/2, (minY+maxY)/2
	scale := math.Min(width-left-right, height-top-bottom) / span
	px := func(x float64) float64 { return left + (width-left-right)/2 + (x-midX)*scale }
	py := func(y float64) float64 { return top + (height-top-bottom)/2 - (y-midY)*scale }

	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g" width="%g" height="%g" font-family="system-ui,sans-serif" font-size="13" role="img">`+"\n", width, height, width, height)
	title := fmt.Sprintf("%s, %d shots from above", s.Category, s.N)
	fmt.Fprintf(&b, "<title>%s</title>\n<rect width=\"100%%\" height=\"100%%\" fill=\"#fbfaf6\"/>\n", title)
	fmt.Fprintf(&b, `<text x="%g" y="26" font-size="17" font-weight="600" fill="#22312b">%s</text>`+"\n", left, title)
	fmt.Fprintf(&b, `<text x="%g" y="46" fill="#4f5d57">%s</text>`+"\n", left, svgLegend(s))
	unit, name := 1.0, "m"
	if show.imperial {
		unit, name = 36*club.Inch, "yd"
	}
	step := niceStep(span/unit/7) * unit
	for x := math.Ceil((midX-span/2)/step) * step; x <= midX+span/2; x += step {
		fmt.Fprintf(&b, `<line x1="%.1f" y1="%g" x2="%.1f" y2="%g" stroke="%s"/>`, px(x), top, px(x), height-bottom, gridColour(x))
		fmt.Fprintf(&b, `<text x="%.1f" y="%g" text-anchor="middle" fill="#4f5d57">%s</text>`+"\n", px(x), height-bottom+18, sideLabel(x/unit))
	}
	for y := math.Ceil((midY-span/2)/step) * step; y <= midY+span/2; y += step {
		fmt.Fprintf(&b, `<line x1="%g" y1="%.1f" x2="%g" y2="%.1f" stroke="#e3e1d6"/>`, left, py(y), width-right, py(y))
		fmt.Fprintf(&b, `<text x="%g" y="%.1f" text-anchor="end" fill="#4f5d57">%.0f</text>`+"\n", left-8, py(y)+4, y/unit)
	}
	fmt.Fprintf(&b, `<text x="%g" y="%g" text-anchor="middle" fill="#4f5d57">offline, %s (L left, R right of the target line)</text>`+"\n", left+(width-left-right)/2, height-14, name)
	fmt.Fprintf(&b, `<text transform="translate(18 %g) rotate(-90)" text-anchor="middle" fill="#4f5d57">carry, %s</text>`+"\n", top+(height-top-bottom)/2, name)
	for _, e := range []struct {
		ellipse    *dispersion.Ellipse
		fill, edge string
	}{{s.NextShot, "#2f7d6b22", "#2f7d6b"}, {s.MeanArea, "#c4742a44", "#c4742a"}} {
		if e.ellipse == nil {
			continue
		}
		var points []string
		for i := range 72 {
			x, y := onEllipse(e.ellipse, float64(i)*math.Pi/36)
			points = append(points, fmt.Sprintf("%.1f,%.1f", px(x), py(y)))
		}
		fmt.Fprintf(&b, `<polygon points="%s" fill="%s" stroke="%s" stroke-width="1.5"/>`+"\n", strings.Join(points, " "), e.fill, e.edge)
	}
	odd := map[int]string{}
	for _, u := range s.Suspects {
		odd[u.Index] = u.Reason
	}
	for i, p := range shots {
		if reason, ok := odd[i]; ok {
			fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="8" fill="none" stroke="#a3324a" stroke-width="2"><title>%s</title></circle>`, px(p.Offline), py(p.Carry), reason)
		}
		fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="4" fill="#22312b"/>`+"\n", px(p.Offline), py(p.Carry))
	}
	ax, ay := px(s.Aim.Offline), py(s.Aim.Carry)
	fmt.Fprintf(&b, `<path d="M%.1f %.1fh18M%.1f %.1fv18" stroke="#1d4e89" stroke-width="2.5"><title>aim</title></path>`+"\n</svg>\n", ax-9, ay, ax, ay-9)
	return b.String()
}

// svgLegend names what is drawn, and only that.
func svgLegend(s dispersion.Summary) string {
	parts := []string{"blue cross: aim"}
	if s.NextShot != nil {
		parts = append([]string{fmt.Sprintf("green: holds the next shot with %.0f %%", 100*s.NextShot.P), "orange: the true centre"}, parts...)
	} else {
		parts = append(parts, fmt.Sprintf("ellipses not yet: %s", s.SpreadLn.Why))
	}
	if len(s.Suspects) > 0 {
		parts = append(parts, "red ring: look at it")
	}
	return strings.Join(parts, " · ")
}

// onEllipse returns offline and carry of a point on an ellipse.
func onEllipse(e *dispersion.Ellipse, angle float64) (x, y float64) {
	sin, cos := math.Sincos(angle)
	st, ct := math.Sincos(e.TiltDeg * math.Pi / 180)
	along, across := e.Major*cos, e.Minor*sin
	return e.Centre[1] + along*st + across*ct, e.Centre[0] + along*ct - across*st
}

// niceStep rounds a step up to 1, 2 or 5 times a power of ten.
func niceStep(x float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(x)))
	for _, k := range []float64{1, 2, 5} {
		if x <= k*power {
			return k * power
		}
	}
	return 10 * power
}

func gridColour(x float64) string {
	if math.Abs(x) < 1e-9 {
		return "#8fa39a" // the target line
	}
	return "#e3e1d6"
}

func sideLabel(v float64) string {
	switch {
	case v < -1e-9:
		return fmt.Sprintf("L %.0f", -v)
	case v > 1e-9:
		return fmt.Sprintf("R %.0f", v)
	}
	return "0"
}
