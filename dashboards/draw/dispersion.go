package draw

import (
	"fmt"
	"strings"

	"fairlead/dashboards/figure"
	"fairlead/processors/golf/dispersion"
)

// Dispersion draws a trial from above: the shots, the ellipse of the next
// shot, that of the centre, and the aim.
func Dispersion(s dispersion.Summary, shots []dispersion.Shot, units figure.Units) *Picture {
	unit := units.Distance()
	g := Ground{
		Title: fmt.Sprintf("%s, %d shots from above", s.Category, s.N), Width: 720, X: unit, Y: unit,
		XName: "offline, " + unit.Name + " (L left, R right of the target line)", YName: "carry, " + unit.Name,
		Aim: &[2]float64{s.Aim.Offline, s.Aim.Carry}, Notes: []string{dispersionLegend(s)},
	}
	cloud := Cloud{Number: 1, Filled: true, Region: s.NextShot, Centre: s.MeanArea}
	for _, p := range shots {
		cloud.Dots = append(cloud.Dots, Dot{X: p.Offline, Y: p.Carry})
	}
	for _, u := range s.Suspects {
		cloud.Dots[u.Index].Odd = u.Reason
	}
	g.Trials = []Cloud{cloud}
	return g.Draw()
}

// dispersionLegend names what is drawn, and only that.
func dispersionLegend(s dispersion.Summary) string {
	parts := []string{"ringed cross: aim"}
	if s.NextShot != nil {
		parts = append([]string{fmt.Sprintf("line: holds the next shot with %.0f %%", 100*s.NextShot.P), "shaded: the true centre"}, parts...)
	} else {
		parts = append(parts, fmt.Sprintf("ellipses not yet: %s", s.SpreadLn.Why))
	}
	if len(s.Suspects) > 0 {
		parts = append(parts, "red ring: look at it")
	}
	return strings.Join(parts, " · ")
}
