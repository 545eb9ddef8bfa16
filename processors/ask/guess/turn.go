package guess

import (
	"fmt"
	"slices"
	"strings"
)

// sides settles which side is positive where no letter says it: what goes
// together by how balls fly, and the rest by a question.
func (d *draft) sides() {
	preamble := strings.Join(d.t.Preamble, "\n")
	common := stated(preamble)
	var open, fixed []*Field
	for _, f := range d.fields {
		switch {
		case !f.info.Mirrors:
			continue
		case f.Positive != nil:
			fixed = append(fixed, f)
			continue
		}
		sign := stated(f.Column)
		if sign == 0 {
			sign = common
		}
		if sign != 0 {
			f.Invert = sign < 0
			f.Why += "; the file says which side is positive"
			fixed = append(fixed, f)
			continue
		}
		open = append(open, f)
	}
	if len(open) == 0 {
		return
	}
	if open = d.unsigned(open); len(open) == 0 {
		return
	}
	loose := d.turn(open, fixed)
	if d.loose = loose; len(loose) == 0 {
		return
	}
	var names []string
	for _, f := range loose {
		names = append(names, f.Column)
	}
	turned := ""
	for _, f := range loose {
		if f.Invert {
			turned += fmt.Sprintf(" (%s the other way round)", f.Column)
		}
	}
	a := d.ask(Question{Key: "side", Text: "Which side of the target is positive in " + strings.Join(names, ", ") + turned + "?",
		Options: []string{"right", "left", "hand"},
		Words:   []string{"right", "left", "by the player's hand: right for a right-hander, left for a left-hander"}, Assumed: "right"})
	_, answered := d.answers["side"]
	for _, f := range loose {
		if a == "left" {
			f.Invert = !f.Invert
		}
		if a == "hand" {
			f.Sign = "handed"
		}
		if !answered {
			f.Sure = "asked"
		}
	}
}

// unsigned takes out the fields of which every value is a size, where that is no
// chance: no player hits all shots to one side by all measures. Nothing says on which
// side they lie, and a question could not tell; a single one is asked of.
func (d *draft) unsigned(open []*Field) []*Field {
	var sizes []*Field
	least := 0
	for _, f := range open {
		values := slices.DeleteFunc(f.col.values(), func(v float64) bool { return v == 0 })
		if len(values) >= 4 && negative(values) == 0 {
			sizes = append(sizes, f)
			least = max(least, len(values))
		}
	}
	sure := len(sizes) > 1 && len(sizes) == len(open) && least >= 6
	if !sure {
		if len(sizes) != 1 || len(open) != 1 || least < 8 {
			return open
		}
		text := fmt.Sprintf("Every %s is positive. Did all shots lie on one side, or does it say no side?", sizes[0].Column)
		if d.ask(Question{Key: "sizes", Text: text,
			Options: []string{"side", "size"}, Words: []string{"all lay on one side", "it is a size without a side: leave it out"},
			Assumed: "size", Brief: "{}"}) == "side" {
			return open
		}
	}
	for _, f := range sizes {
		f.col.field, f.col.other = "", "size"
		d.fields = slices.DeleteFunc(d.fields, func(o *Field) bool { return o == f })
	}
	d.costs = nil
	return slices.DeleteFunc(slices.Clone(open), func(f *Field) bool { return slices.Contains(sizes, f) })
}

// isLoose says that nothing but an answer tells the side of a field.
func (d *draft) isLoose(f *Field) bool { return slices.Contains(d.loose, f) }

// turn finds which fields count the other way round than the first, and returns
// those whose side stays open: all, or none where a field with letters ties
// them down.
func (d *draft) turn(open, fixed []*Field) (loose []*Field) {
	free := open
	if len(fixed) == 0 {
		slices.SortStableFunc(free, func(a, b *Field) int { return anchor(a.Name) - anchor(b.Name) })
		free = open[1:]
	}
	cost := func() float64 {
		c := d.cost()
		for _, f := range free {
			if f.Invert {
				c += .4 // most devices count one way
			}
		}
		return c
	}
	best := cost()
	for range 2 { // one at a time, then pairs: enough for a launch and its curve
		for i := range free {
			for j := i; j < len(free); j++ {
				flip := []*Field{free[i]}
				if j > i {
					flip = append(flip, free[j])
				}
				for _, f := range flip {
					f.Invert = !f.Invert
				}
				if c := cost(); c < best-.3 {
					best = c
					continue
				}
				for _, f := range flip {
					f.Invert = !f.Invert
				}
			}
		}
	}
	d.otherTurn(open, len(fixed) == 0, cost)
	best = cost()
	for _, f := range free {
		f.Invert = !f.Invert
		sure := cost()-best > 1
		f.Invert = !f.Invert
		if !sure || len(fixed) == 0 {
			loose = append(loose, f)
		}
	}
	if len(fixed) == 0 {
		loose = append([]*Field{open[0]}, loose...)
	}
	return loose
}

// otherTurn asks where the shots go together about as well with other fields
// turned round than with those that are: one of two that disagree counts the other
// way, and nothing says which.
func (d *draft) otherTurn(open []*Field, whole bool, cost func() float64) {
	turned := func() (out []*Field) {
		for _, f := range open {
			if f.Invert {
				out = append(out, f)
			}
		}
		return out
	}
	now := turned()
	if len(now) == 0 {
		return
	}
	set := func(on []*Field) {
		for _, f := range open {
			f.Invert = slices.Contains(on, f)
		}
	}
	best := cost()
	words := func(on []*Field) string {
		names := []string{}
		for _, f := range on {
			names = append(names, f.Column)
		}
		if len(names) == 0 {
			return "none"
		}
		return strings.Join(names, ", ")
	}
	ways := [][]*Field{now}
	options := []string{words(now)}
	n := len(open)
	if n > 8 {
		return
	}
	for bits := range 1 << n {
		var on []*Field
		for i, f := range open {
			if bits>>i&1 == 1 {
				on = append(on, f)
			}
		}
		// Of all turned the other way, the side's own question asks.
		if len(on)*2 > n && whole || slices.Contains(options, words(on)) {
			continue
		}
		set(on)
		if cost() < best+turnMargin {
			ways, options = append(ways, on), append(options, words(on))
		}
	}
	set(now)
	if len(ways) == 1 || len(ways) > 6 {
		return
	}
	a := d.ask(Question{Key: "turned", Text: "Not all columns count the same side as positive. Which count the other way round than the rest?",
		Options: options, Words: options, Assumed: options[0], Brief: "the other way round: {}"})
	set(ways[slices.Index(options, a)])
}

// turnMargin is by how much the shots must go together better with one turn than
// with the next, for it not to be asked.
const turnMargin = 2

func anchor(name string) int {
	if i := slices.Index([]string{"offline", "launch_direction", "spin_axis", "side_spin", "face_angle", "club_path"}, name); i >= 0 {
		return i
	}
	return 9
}
