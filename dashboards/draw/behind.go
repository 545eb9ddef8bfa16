package draw

import (
	"fmt"
	"math"

	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// behindOutcomes say how a trial's value stands in the list behind an effect, and
// whether a change of it is read in percent.
var behindOutcomes = map[string]struct {
	of      func(*answers.Behind) *float64
	percent bool
}{
	"direction":     {func(b *answers.Behind) *float64 { return b.Direction }, true},
	"carry_control": {func(b *answers.Behind) *float64 { return b.CarrySD }, true},
	"carry":         {func(b *answers.Behind) *float64 { return b.Carry }, false},
}

// Behind draws the trials behind an attribute's number: across the steps from the mean
// of what was compared with, up what the outcome was against it; trials that may be
// compared are joined, larger dots are more shots. change is the effect of one step and
// is drawn over them. Nil for outcomes that a trial's row does not show.
func Behind(list []answers.Behind, outcome string, attribute fleet.Attribute, change float64, link func(answers.Behind) string) *Picture {
	how, ok := behindOutcomes[outcome]
	if !ok {
		return nil
	}
	type point struct{ x, y, r float64 }
	type key struct {
		session string
		level   int
	}
	levels, order := map[key][]int{}, []key{}
	for i := range list {
		if v := how.of(&list[i]); list[i].Value != nil && v != nil && *v > 0 {
			k := key{list[i].Session, list[i].Level}
			if levels[k] == nil {
				order = append(order, k)
			}
			levels[k] = append(levels[k], i)
		}
	}
	at := map[int]point{}
	wide, high := 1.0, 1e-9
	for _, k := range order {
		x0, y0, n := 0.0, 0.0, float64(len(levels[k]))
		value := func(i int) float64 {
			if how.percent {
				return math.Log(*how.of(&list[i]))
			}
			return *how.of(&list[i])
		}
		for _, i := range levels[k] {
			x0, y0 = x0+*list[i].Value/n, y0+value(i)/n
		}
		for _, i := range levels[k] {
			p := point{(*list[i].Value - x0) / attribute.Step(), value(i) - y0, 2 + math.Sqrt(float64(list[i].Shots))/2}
			if how.percent {
				p.y = 100 * math.Expm1(p.y)
			}
			wide, high = max(wide, math.Abs(p.x)), max(high, math.Abs(p.y))
			at[i] = p
		}
	}
	if len(at) < 2 {
		return nil
	}
	unit := "%"
	if !how.percent {
		unit = "m"
	}
	const width, height, left, right, top, bottom = 860.0, 420.0, 64.0, 24.0, 56.0, 52.0
	x, y := Axis{-1.1 * wide, 1.1 * wide, left, width - right}, Axis{-1.1 * high, 1.1 * high, height - bottom, top}
	p := NewPicture(width, height, "Trials behind the number", "")
	p.Text("head", 14, 22, Start, fmt.Sprintf("%d trials of %d runs that may be compared, each against the mean of its run", len(at),
		len(order)))
	p.Text("soft", 14, 41, Start, "a line joins the trials of a run; larger dots are more shots; the thick line is the effect as answered")
	for _, v := range Ticks(x.Low, x.High, 8) {
		p.Line("grid", x.At(v), top, x.At(v), height-bottom)
		p.Text("soft", x.At(v), height-bottom+18, Middle, fmt.Sprintf("%.4g", v))
	}
	for _, v := range Ticks(y.Low, y.High, 6) {
		p.Line("grid", left, y.At(v), width-right, y.At(v))
		p.Text("soft", left-6, y.At(v)+4, End, fmt.Sprintf("%.4g", v))
	}
	p.Text("soft", width-right, height-8, End, "steps: "+attribute.StepText())
	p.Text("soft", 14, height-8, Start, "change of "+answers.OutcomeTitle(outcome)+", "+unit)
	p.Line("zero", x.At(0), top, x.At(0), height-bottom)
	p.Line("zero", left, y.At(0), width-right, y.At(0))
	for _, k := range order {
		for n, i := range levels[k][1:] {
			a, b := at[levels[k][n]], at[i]
			p.Line("grid", x.At(a.x), y.At(a.y), x.At(b.x), y.At(b.y))
		}
	}
	for i := range list {
		q, ok := at[i]
		if !ok {
			continue
		}
		tip := fmt.Sprintf("%s, %s: %+.2g steps, %+.3g %s, %d shots", list[i].Player, list[i].BuildName, math.Round(q.x*1e6)/1e6, q.y, unit,
			list[i].Shots)
		p.Link(link(list[i]), func() { p.Group("unsure", tip, func() { p.Circle("pt", x.At(q.x), y.At(q.y), q.r) }) })
	}
	shown := func(steps float64) float64 {
		if how.percent {
			return 100 * math.Expm1(steps*change)
		}
		return steps * change
	}
	p.Group("better", "the effect as answered", func() { p.Line("ci", x.At(-wide), y.Held(shown(-wide)), x.At(wide), y.Held(shown(wide))) })
	return p
}
