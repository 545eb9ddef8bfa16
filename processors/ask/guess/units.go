package guess

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/plausible"
)

// group is fields that a device writes in one unit, where it says none.
type group struct {
	key     string
	fields  []*Field
	options []string
}

// margin is by how much the shots must speak for one unit against the next.
const margin = .8

// marginOf is margin, and more between yards and metres: they lie a tenth apart, by
// which one device's flight may differ from another's.
func marginOf(u, v string) float64 {
	if u == "yd" && v == "m" || u == "m" && v == "yd" {
		return 4
	}
	return margin
}

// broken is the cost from which the shots do not go together, whatever the units.
const broken = 2.2

// goneApart says that the shots do not go together: that they cost much, and that one
// law at least is clearly broken. With many measures the small misses of a device add up.
func (d *draft) goneApart(cost float64) bool {
	if cost <= broken {
		return false
	}
	breaks := d.judge.Of(d.few(), d.putts).Breaks
	return cost > 3*broken || len(breaks) > 0 && breaks[0].By > clearly
}

// hopeless is by how much worse a unit must be for it not to be asked about even where
// the shots do not go together anyhow.
const hopeless = 8

// clearly is by how many tolerances a law must be missed to be broken beyond doubt.
const clearly = 1.3

// split takes groups apart.
func split(groups []group) (out []group) {
	for _, g := range groups {
		for _, f := range g.fields {
			key := g.key
			if len(g.fields) > 1 {
				key += "." + f.Name
			}
			out = append(out, group{key, []*Field{f}, g.options})
		}
	}
	return out
}

// choose settles the units that no name, row or cell gives.
func (d *draft) choose() {
	d.legend = legendOf(d.t.Preamble)
	d.settleUnits()
	with := d.cost()
	if len(d.legend) == 0 || !d.goneApart(with) {
		return
	}
	// What stands above the rows may speak of something else: it does where the shots go
	// together far better without it.
	type settled struct{ unit, sure, why string }
	stood, legend, asked := map[*Field]settled{}, d.legend, d.questions
	for _, f := range d.fields {
		stood[f] = settled{f.Unit, f.Sure, f.Why}
		if u := d.stated(f); u != "" && f.Unit == u && len(f.col.units) == 0 && d.answers[ToldUnit+f.Name] == "" {
			f.Unit = ""
		}
	}
	d.legend = nil
	d.settleUnits()
	if d.cost() < .3*with {
		return
	}
	d.legend, d.questions = legend, asked
	for f, was := range stood {
		f.Unit, f.Sure, f.Why = was.unit, was.sure, was.why
	}
}

func (d *draft) settleUnits() {
	groups := d.open()
	for _, g := range groups {
		for _, f := range g.fields {
			f.Unit = g.options[0]
		}
	}
	cost := func() float64 { return d.cost() + d.mixed() }
	best, apart := d.search(groups, cost), false
	if together := cost(); d.goneApart(together) {
		// Not every speed, nor every distance, is in the unit of its like.
		each := split(groups)
		if was := snapshot(groups); len(each) > len(groups) {
			alone := d.search(each, cost)
			if cost() < .5*together {
				groups, best, apart = each, alone, true
			} else {
				restore(was)
			}
		}
	}
	if d.goneApart(cost()) && d.turnedUnits(groups, cost) {
		for i, g := range groups {
			best[i] = g.fields[0].Unit
		}
		apart = false
	}
	unsure := d.goneApart(cost()) || apart
	for i, g := range groups {
		costs := map[string]float64{}
		for _, u := range g.options {
			set(g, u)
			costs[u] = cost()
			if !unsure {
				// What the other open units would make of this one, too.
				others := slices.Delete(slices.Clone(groups), i, i+1)
				keep := snapshot(groups)
				costs[u] = min(costs[u], d.searched(others, cost))
				restore(keep)
			}
		}
		set(g, best[i])
		d.settle(g, best[i], costs, unsure)
	}
}

// settle keeps a unit that the shots speak for, and asks about others.
func (d *draft) settle(g group, best string, costs map[string]float64, unsure bool) {
	var near []string
	for _, u := range g.options {
		if u != best && (unsure && costs[u]-costs[best] < hopeless || costs[u]-costs[best] < marginOf(u, best)) {
			near = append(near, u)
		}
	}
	names := []string{}
	for _, f := range g.fields {
		names = append(names, f.Column)
		f.Sure, f.Why = "sure", fmt.Sprintf("%s by how the shots go together", best)
	}
	if near == nil && rare[best] > 0 { // hardly a device writes it: never without asking
		for _, u := range g.options {
			if rare[u] == 0 && (near == nil || costs[u] < costs[near[0]]) {
				near = []string{u}
			}
		}
	}
	if near == nil {
		d.alone(g)
		return
	}
	slices.SortStableFunc(near, func(a, b string) int { return cmp.Compare(costs[a], costs[b]) })
	options := append([]string{best}, near...)
	a := d.ask(Question{Key: "unit." + g.key, Text: fmt.Sprintf("In which unit are %s?", strings.Join(names, ", ")), Options: options,
		Words: options, Assumed: best, Brief: strings.Join(names, ", ") + " in {}"})
	set(g, a)
	for _, f := range g.fields {
		if _, answered := d.answers["unit."+g.key]; !answered {
			f.Sure, f.Why = "asked", "the values fit "+strings.Join(options, " and ")
		} else {
			f.Why = "as answered"
		}
	}
	d.alone(g) // as those may be in one unit and this in another
}

// alone asks about a field whose unit its like may not have: one that the shots
// go together with as well, or better, in another.
func (d *draft) alone(g group) {
	if len(g.fields) < 2 || len(g.options) < 2 {
		return
	}
	for _, f := range g.fields {
		now, cost := f.Unit, d.cost()
		options := []string{now}
		best, least := now, cost
		for _, u := range g.options {
			if u == now {
				continue
			}
			f.Unit = u
			c := d.cost()
			if c < cost-lonerOf(u, now) || aside(f) && (u == "ft") != (now == "ft") && c < cost+loner && u != "m" {
				options = append(options, u)
			}
			if c < least-lonerOf(u, now) {
				best, least = u, c
			}
		}
		f.Unit = now
		if len(options) == 1 {
			continue
		}
		f.Unit = d.ask(Question{Key: "unit." + g.key + "." + f.Name, Text: fmt.Sprintf("In which unit is %s?", f.Column), Options: options,
			Words: options, Assumed: best, Brief: f.Column + " in {}"})
		f.Sure, f.Why = "asked", "the values fit "+strings.Join(options, " and ")
	}
}

// aside says that a field is a distance to the side: devices write those in feet
// beside yards and metres, and what the ball's curve adds to where it started may
// hide a factor of three.
func aside(f *Field) bool { return f.Name == "offline" || f.Name == "total_offline" }

// loner is by how much the shots must go together better with a field in a unit
// of its own, for it to be asked about.
const loner = .05

// lonerOf is loner, and more between yards and metres, of which a device writes one.
func lonerOf(u, v string) float64 {
	if m := marginOf(u, v); m > margin {
		return m
	}
	return loner
}

func set(g group, u string) {
	for _, f := range g.fields {
		f.Unit = u
	}
}

func snapshot(groups []group) map[*Field]string {
	out := map[*Field]string{}
	for _, g := range groups {
		for _, f := range g.fields {
			out[f] = f.Unit
		}
	}
	return out
}

func restore(units map[*Field]string) {
	for f, u := range units {
		f.Unit = u
	}
}

// open lists what has no unit, in groups.
func (d *draft) open() (out []group) {
	add := func(key string, options []string, f *Field) {
		for i := range out {
			if out[i].key == key {
				out[i].fields = append(out[i].fields, f)
				return
			}
		}
		out = append(out, group{key, []*Field{f}, options})
	}
	for _, f := range d.fields {
		if f.Unit != "" {
			f.Sure, f.Why = "sure", d.whyUnit(f)
			continue
		}
		options := plausible.Units(f.info.Quantity)
		if u := d.stated(f); u != "" {
			add("stated."+string(f.info.Quantity)+"."+u, []string{u}, f) // a height has often another than a distance
			continue
		}
		switch q := f.info.Quantity; {
		case q == unit.Ratio:
			f.Sure, f.Why = "sure", "a ratio"
			switch {
			case f.Name == "smash_factor":
				f.Unit = "1"
				if v := f.col.values(); len(v) > 0 && slices.Max(v) > 20 {
					f.Unit = "%"
				}
			case f.Name == "air_humidity":
				add(f.Name, []string{"1", "%"}, f)
			}
		case q == unit.Length && (f.Name == "apex" || strings.HasPrefix(f.Name, "strike") || d.putts || f.Name == "low_point"):
			add(f.Name, d.within(f, options), f)
		case q == unit.Length:
			add("length", []string{"yd", "m", "ft"}, f)
		case q == unit.Speed:
			add("speed", options, f)
		case q == unit.Angle && tiny(f.col.values()) && !d.radians():
			add("angle."+f.Name, []string{"deg", "rad"}, f)
		case q == unit.Angle:
			add("angle", []string{"deg", "rad"}, f)
		case q == unit.Rotation && f.Name == "closure_rate":
			add(f.Name, []string{"deg/s", "rpm"}, f)
		case q == unit.Rotation:
			add("spin", []string{"rpm", "rps", "rad/s", "krpm"}, f)
		case q == unit.Time && strings.Contains(f.Name, "swing"):
			add("swing time", options, f)
		case q == unit.Time:
			add("hang time", options, f)
		default:
			add(f.Name, d.within(f, options), f)
		}
	}
	return out
}

// radians says whether an angle that is never small in degrees is: then all of a
// device's angles are in one unit.
func (d *draft) radians() bool {
	return slices.ContainsFunc(d.fields, func(f *Field) bool {
		return (f.Name == "launch_angle" || f.Name == "landing_angle" || f.Name == "dynamic_loft") && f.col.units == nil && tiny(f.col.values())
	})
}

// tiny says whether values may be radians.
func tiny(values []float64) bool {
	large := 0
	for _, v := range values {
		if v > .5 || v < -.5 {
			large++
		}
	}
	return large*4 <= len(values)
}

// within are the units in which a field's values are usual ones; all where none is.
func (d *draft) within(f *Field, options []string) []string {
	var fit []string
	was := f.Unit
	for _, u := range options {
		f.Unit = u
		var only plausible.Shots
		for _, s := range d.few() {
			if v, ok := s[f.Name]; ok {
				only = append(only, plausible.Shot{f.Name: v})
			}
		}
		if plausible.Of(only, d.putts).Cost < .5 {
			fit = append(fit, u)
		}
	}
	f.Unit = was
	if fit == nil {
		return options
	}
	return fit
}

// search tries the units of all groups and sets the best; with many, it begins
// with those that countries write, and turns one group after the other.
func (d *draft) search(groups []group, cost func() float64) []string {
	d.searched(groups, cost)
	out := make([]string, len(groups))
	for i, g := range groups {
		out[i] = g.fields[0].Unit
	}
	return out
}

// searched is search that returns the cost.
func (d *draft) searched(groups []group, cost func() float64) float64 {
	n := 1
	for _, g := range groups {
		n *= len(g.options)
	}
	best, units := cost(), snapshot(groups)
	if n <= 240 {
		for i := range n {
			for _, g := range groups {
				set(g, g.options[i%len(g.options)])
				i /= len(g.options)
			}
			if c := cost(); c < best-1e-9 {
				best, units = c, snapshot(groups)
			}
		}
		restore(units)
		return best
	}
	type start struct {
		cost  float64
		units map[*Field]string
	}
	var starts []start
	for i := range 4 * 3 * 2 * 3 * 2 * 2 {
		common := []string{[]string{"mph", "km/h", "m/s", "fps"}[i%4], []string{"yd", "m", "ft"}[i/4%3], []string{"deg", "rad"}[i/12%2],
			[]string{"rpm", "rps", "rad/s"}[i/24%3], []string{"s", "ms"}[i/72%2], "1"}
		for _, g := range groups {
			for _, u := range common {
				if slices.Contains(g.options, u) {
					set(g, u)
				}
			}
		}
		for _, g := range groups {
			if i >= 144 && g.key == "apex" && slices.Contains(g.options, "ft") { // yards of carry, feet of height
				set(g, "ft")
			}
		}
		starts = append(starts, start{cost(), snapshot(groups)})
	}
	slices.SortStableFunc(starts, func(a, b start) int { return cmp.Compare(a.cost, b.cost) })
	seen := 0
	for i, from := range starts {
		if i > 0 && from.cost == starts[i-1].cost {
			continue
		}
		if seen++; seen > 6 {
			break
		}
		restore(from.units)
		if c := d.descended(groups, cost); c < best-1e-9 {
			best, units = c, snapshot(groups)
		}
	}
	restore(units)
	return best
}

// descended turns one group after the other until nothing gets better.
func (d *draft) descended(groups []group, cost func() float64) float64 {
	best := cost()
	for range 3 {
		was := best
		for _, g := range groups {
			now := g.fields[0].Unit
			for _, u := range g.options {
				set(g, u)
				if c := cost(); c < best-1e-9 {
					best, now = c, u
				}
			}
			set(g, now)
		}
		if best == was {
			break
		}
	}
	return best
}

// rare are units that few devices write, and what must speak for one that no file names.
var rare = map[string]float64{"kn": 1.5, "fps": .6, "rad": .4, "rps": .3, "rad/s": .4, "krpm": .3}

// mixed is a small cost of units of two systems in one file, and of rare ones.
func (d *draft) mixed() float64 {
	imperial, metric, odd := 0, 0, 0.0
	for _, f := range d.fields {
		switch f.Unit {
		case "mph", "yd", "yds", "ft", "in", "fps", "ft/s":
			imperial++
		case "m/s", "km/h", "m", "mps", "kmh", "kph":
			metric++
		}
		if c := rare[f.Unit]; c > 0 && len(f.col.units) == 0 {
			odd = max(odd, c)
		}
	}
	return odd + .12*float64(min(imperial, metric))
}
