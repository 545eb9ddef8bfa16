package fleet

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
)

// drawScale plots how times and sizes grow, both axes logarithmic; lines that
// rise as steeply as the dashes grow with the number of shots.
func drawScale(path string, rows []scaleRow) error {
	type curve struct {
		name string
		of   func(scaleRow) float64
	}
	curves := []curve{
		{"insert, s", func(r scaleRow) float64 { return r.InsertS }},
		{"snapshot, s", func(r scaleRow) float64 { return r.SnapshotS }},
		{"fit of all trials, s", func(r scaleRow) float64 { return r.FitS }},
		{"disk, GB", func(r scaleRow) float64 { return (r.MB["entries"] + r.MB["trials"] + r.MB["fleet_trials"]) / 1000 }},
		{"slowest page, p95, s", func(r scaleRow) float64 {
			m := 0.0
			for _, x := range r.P95 {
				m = math.Max(m, x/1000)
			}
			return m
		}},
	}
	const width, height, left, right, top, bottom = 720.0, 420.0, 60.0, 190.0, 40.0, 46.0
	const lowX, highX, lowY, highY = 5.8, 8.2, -2.0, 4.0
	x := func(v float64) float64 { return left + (math.Log10(v)-lowX)/(highX-lowX)*(width-left-right) }
	y := func(v float64) float64 {
		return height - bottom - (math.Log10(math.Max(v, 1e-2))-lowY)/(highY-lowY)*(height-top-bottom)
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" font-family="system-ui,sans-serif" font-size="13" role="img"><title>How a fleet's cost grows with its shots</title><rect width="100%%" height="100%%" fill="#fffdf8"/>`, width, height)
	fmt.Fprintf(&b, `<text x="14" y="22" font-weight="600" fill="#1d2529">What grows with the shots of a fleet</text>`)
	for _, v := range []float64{1e6, 1e7, 1e8} {
		fmt.Fprintf(&b, `<line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="#d5d1c4"/><text x="%.1f" y="%.1f" text-anchor="middle" fill="#57636a">%.0f M shots</text>`, x(v), x(v), top, height-bottom, x(v), height-bottom+20, v/1e6)
	}
	for v := 0.01; v < 2e4; v *= 10 {
		fmt.Fprintf(&b, `<line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="#d5d1c4"/><text x="%.1f" y="%.1f" text-anchor="end" fill="#57636a">%g</text>`, left, width-right, y(v), y(v), left-6, y(v)+4, math.Round(v*100)/100)
	}
	fmt.Fprintf(&b, `<path d="M%.1f,%.1fL%.1f,%.1f" stroke="#57636a" stroke-dasharray="5 4"/>`, x(1e6), y(1), x(1e8), y(100))
	// Labels at the last points, pushed apart.
	var placed []float64
	colours := []string{"#2d4a53", "#a85f00", "#a12622", "#2f5d3a", "#0b6bcb"}
	for i, c := range curves {
		d := "M"
		for k, r := range rows {
			if k > 0 {
				d += "L"
			}
			px, py := x(float64(r.Shots)), y(c.of(r))
			d += fmt.Sprintf("%.1f,%.1f", px, py)
			fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="4" fill="%s"/>`, px, py, colours[i])
		}
		fmt.Fprintf(&b, `<path d="%s" fill="none" stroke="%s" stroke-width="2"/>`, d, colours[i])
		at := y(c.of(rows[len(rows)-1]))
		for slices.ContainsFunc(placed, func(o float64) bool { return math.Abs(o-at) < 15 }) {
			at += 15
		}
		placed = append(placed, at)
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" fill="%s">%s</text>`, width-right+8, at+4, colours[i], c.name)
	}
	b.WriteString("</svg>\n")
	return os.WriteFile(path, []byte(b.String()), 0o644)
}
