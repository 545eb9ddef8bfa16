package guess

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/plausible"
)

// Columns whose names are known nowhere may still be told: by the unit that they
// are said to have, by the letters of their names, and by which of the measures
// makes the shots go together. What is found so is asked in one question, and
// left out until it is answered.

// asKnown are words of each measure, of which a device may write the beginnings.
var asKnown = []struct {
	field string
	words []string
}{
	{"ball_speed", []string{"ball speed", "ball velocity", "initial velocity", "velocity ball", "velocity of ball"}},
	{"clubhead_speed", []string{"club speed", "clubhead speed", "club head speed", "head speed", "swing speed", "velocity club",
		"velocity head"}},
	{"smash_factor", []string{"smash factor", "smash"}},
	{"attack_angle", []string{"attack angle", "angle of attack"}},
	{"club_path", []string{"club path", "path", "path angle", "swing path"}},
	{"face_angle", []string{"face angle", "face", "face to target", "club face"}},
	{"face_to_path", []string{"face to path", "face path"}},
	{"dynamic_loft", []string{"dynamic loft", "delivered loft", "loft"}},
	{"launch_angle", []string{"launch angle", "vertical launch", "vertical launch angle", "launch vertical", "elevation", "theta"}},
	{"launch_direction", []string{"launch direction", "start direction", "horizontal launch", "horizontal launch angle",
		"launch horizontal",
		"azimuth", "direction", "phi"}},
	{"spin_rate", []string{"spin rate", "total spin", "spin", "spin total", "ball spin", "omega"}},
	{"spin_axis", []string{"spin axis", "axis", "axis tilt", "tilt", "tau"}},
	{"back_spin", []string{"back spin", "backspin"}},
	{"side_spin", []string{"side spin", "sidespin"}},
	{"carry", []string{"carry distance", "carry", "range"}},
	{"total", []string{"total distance", "total", "distance total"}},
	{"offline", []string{"offline", "lateral", "deviation", "dispersion", "side distance", "side", "drift"}},
	{"total_offline", []string{"total side", "total offline", "side total", "offline total"}},
	{"apex", []string{"apex height", "apex", "peak height", "maximum height", "height", "height maximum"}},
	{"landing_angle", []string{"landing angle", "descent angle", "angle of descent"}},
	{"hang_time", []string{"hang time", "flight time", "time of flight", "air time"}},
}

// supposing is a column and what it may be.
type supposing struct {
	col    *column
	fields []*Field
}

// supposed proposes fields for columns without a known name.
func (d *draft) supposed() {
	d.quotient()
	answer := d.answers["names"]
	list := d.supposable()
	if len(list) == 0 || len(d.fields) == 0 && answer == "" {
		return
	}
	if answer == "no" {
		d.askEach(list)
		return
	}
	open, asked := snapshot([]group{{fields: d.fields}}), d.questions
	d.legend = legendOf(d.t.Preamble)
	d.settleUnits()
	d.questions = asked
	ways, least := d.fitted(list)
	// Names and units may only be told together: so each usual system is tried too.
	if d.unitless(unit.Speed, open, list) {
		settled := snapshot([]group{{fields: d.fields}})
		for _, system := range usualSystems {
			for f, u := range open {
				if want := system[f.info.Quantity]; u == "" && want != "" && f.Name != "apex" {
					f.Unit = want
				}
			}
			d.system, d.costs = system, nil
			if other, cost := d.fitted(list); cost < least-1e-9 {
				ways, least = other, cost
			}
			restore(settled)
		}
		d.system = nil
	}
	restore(open)
	d.costs = nil
	if len(ways[0]) == 0 {
		return
	}
	names := []string{}
	for _, f := range ways[0] {
		names = append(names, f.Column)
	}
	q := Question{Key: "names", Text: fmt.Sprintf("Nothing says what %s are. By how the shots go together: %s. Is it so?",
		strings.Join(names, ", "), saidOf(ways[0])), Assumed: "no", Brief: "{}"}
	for i, way := range ways {
		option := "yes"
		if i > 0 {
			option = optionOf(way)
		}
		q.Options, q.Words = append(q.Options, option), append(q.Words, saidOf(way))
	}
	q.Options, q.Words = append(q.Options, "no"), append(q.Words, "none of these: ask of each")
	if len(ways) > 1 {
		q.Text = fmt.Sprintf("Nothing says what %s are. What of this is so, by how the shots go together?", strings.Join(names, ", "))
	}
	found := ways[0]
	if told := d.wayTold(list); told != nil {
		found = told
	} else if d.ask(q) != "yes" {
		return
	}
	for _, f := range found {
		if len(f.col.units) == 0 {
			f.Unit = ""
		}
		f.col.field, f.col.other = f.Name, ""
		d.fields = append(d.fields, f)
	}
	d.zeros()
	d.letters()
}

// saidOf says which columns are what.
func saidOf(way []*Field) string {
	var out []string
	for _, f := range way {
		out = append(out, f.Column+ofNames+strings.ToLower(f.info.Label))
	}
	return strings.Join(out, ", ")
}

const ofNames, betweenNames = " is ", " + "

// optionOf is the answer that says which columns are what.
func optionOf(way []*Field) string {
	var out []string
	for _, f := range way {
		out = append(out, f.Column+ofNames+f.Name)
	}
	return strings.Join(out, betweenNames)
}

// wayTold is what such an answer gives the columns; nil where it is none.
func (d *draft) wayTold(list []supposing) (out []*Field) {
	answer := d.answers["names"]
	if !strings.Contains(answer, ofNames) {
		return nil
	}
	for _, text := range strings.Split(answer, betweenNames) {
		for _, s := range list {
			for _, f := range s.fields {
				if s.col.Name+ofNames+f.Name == text {
					out = append(out, f)
				}
			}
		}
	}
	return out
}

// askEach asks of each column by itself what it is, where not all that was
// supposed of them is so. The answers are told of the columns: see toldFields.
func (d *draft) askEach(list []supposing) {
	for _, s := range list {
		q := Question{Key: ToldField + s.col.Name, Text: fmt.Sprintf("What is %s?", s.col.Name), Assumed: NoField}
		slices.SortStableFunc(s.fields, func(a, b *Field) int { return cmp.Compare(b.near, a.near) })
		for _, f := range s.fields {
			q.Options, q.Words = append(q.Options, f.Name), append(q.Words, strings.ToLower(f.info.Label))
		}
		q.Options, q.Words = append(q.Options, NoField), append(q.Words, "none of these, or no measure")
		d.ask(q)
	}
}

// quotient gives a column without a known name or unit the smash factor, where
// its values are the ball's speed by the club's, row by row: nothing else is.
func (d *draft) quotient() {
	var ball, club *Field
	for _, f := range d.fields {
		switch f.Name {
		case "ball_speed":
			ball = f
		case "clubhead_speed":
			club = f
		case "smash_factor":
			return
		}
	}
	if ball == nil || club == nil || ball.named1() != club.named1() {
		return
	}
	for _, c := range d.cols {
		if c.field != "" || len(c.units) > 0 || !c.numeric() || d.uses(c) || d.answers[ToldField+c.Name] != "" || same(c.values()) {
			continue
		}
		n, fit := 0, 0
		for i, v := range c.numbers {
			if i >= len(ball.col.numbers) || i >= len(club.col.numbers) {
				break
			}
			q := ball.col.numbers[i] / club.col.numbers[i]
			if math.IsNaN(v) || math.IsNaN(q) || math.IsInf(q, 0) {
				continue
			}
			if n++; math.Abs(v-q) < .011 {
				fit++
			}
		}
		if n < 4 || fit < n {
			continue
		}
		info, _ := event.FieldNamed("smash_factor")
		c.field, c.other = "smash_factor", ""
		d.fields = append(d.fields, &Field{Name: "smash_factor", Column: c.Name, info: info, col: c})
		return
	}
}

// named1 is the unit that the column says, "" where it says none.
func (f *Field) named1() string { return named1(f.info.Quantity, f.col.units) }

// supposable are the columns of numbers that nothing is known of, with what they
// may be.
func (d *draft) supposable() (out []supposing) {
	within := elements(d.cols)
	for _, c := range d.cols {
		if c.field != "" || c.other != "" && c.other != "player" && c.other != "session" && c.like == "" &&
			!c.noTime() || d.uses(c) || within[c] ||
			!c.numeric() || steps(c) || epoch(c) != "" || same(c.values()) {
			continue
		}
		if _, told := d.answers[ToldField+c.Name]; told {
			continue
		}
		if !d.putts && afterLanding.MatchString(plain(c.bare)) {
			continue
		}
		if _, cover := compound(plain(c.bare)); cover > 0 && slices.ContainsFunc(strings.Fields(plain(c.bare)), isNot) {
			continue // a distance to the pin: it says that it is none
		}
		s := supposing{col: c}
		ratio := len(c.units) == 0 && slices.Min(c.values()) >= .9 && slices.Max(c.values()) < 1.6
		for _, k := range asKnown {
			info, _ := event.FieldNamed(k.field)
			near := nearness(plain(c.bare), k.words)
			switch c.like {
			case "":
			case k.field:
				near = .5
			default:
				near = 0
			}
			if k.field == "smash_factor" && ratio && c.like == "" {
				near = max(near, .2)
			}
			if d.has(k.field) || len(c.units) > 0 && !unitOf(info.Quantity, c.units) || near == 0 && (len(c.units) == 0 || c.like != "") ||
				!c.mayHaveSides(info) {
				continue
			}
			s.fields = append(s.fields, &Field{Name: k.field, Column: c.Name, info: info, col: c, Unit: named1(info.Quantity, c.units),
				Sure: "asked", Why: "by how the shots go together", near: near,
				Zero: slices.Contains(neverZero, k.field) && slices.Contains(c.values(), 0)})
		}
		if len(s.fields) > 0 {
			out = append(out, s)
		}
	}
	if len(out) > mostSupposed {
		return nil
	}
	return out
}

// afterLanding are the words of what a ball does that the contract has no measure of:
// how far it runs, and how far it bends off the line that it started on.
var afterLanding = regexp.MustCompile(`\b(?:roll(?:ed|ing|out| out)?|run(?: ?out)?|bounce|curv\w*|bend|ausroll\w*|auslauf|roule|rodada|rulle?)\b`)

// mostSupposed is of how many columns without a known name fields are supposed.
const mostSupposed = 24

// mayHaveSides says whether a column's signs and letters may be a field's.
func (c *column) mayHaveSides(info event.FieldInfo) bool {
	return !(c.sided()*2 > c.count && !info.Mirrors || info.Min >= 0 && negative(c.values())*5 > c.count)
}

// noTime says that a column which may be called a time is none: its numbers go up and
// down, as no clock does, or have sides or another unit.
func (c *column) noTime() bool {
	if c.other != "time" && c.other != "date" || !c.numeric() {
		return false
	}
	if c.sided() > 0 || len(c.units) > 0 && !unitOf(unit.Time, c.units) {
		return true
	}
	down, v := 0, c.values()
	for i := range v {
		if i > 0 && v[i] < v[i-1] {
			down++
		}
	}
	return down > 1
}

func isNot(word string) bool {
	_, means := joined(word)
	return slices.Contains(means, "not") || slices.Contains(means, "target")
}

// same says that numbers do not differ.
func same(v []float64) bool {
	return len(v) < 3 || !slices.ContainsFunc(v, func(x float64) bool { return math.Abs(x-v[0]) > 1e-9 })
}

// nearness is how much a name looks like words that are shortened: 1 by their
// first letters, or by half of their letters; 0 where it does not.
func nearness(name string, list []string) (best float64) {
	for _, words := range list {
		if !shortens(name, words) {
			continue
		}
		first := ""
		for _, w := range strings.Fields(words) {
			first += w[:1]
		}
		letters := strings.ReplaceAll(name, " ", "")
		near := .5 + float64(len(letters))/float64(len(strings.ReplaceAll(words, " ", "")))
		if first == letters {
			near = 1
		}
		best = max(best, min(1, near))
	}
	return best
}

// shortens says whether a name holds letters of words, in their order, from the
// first letter of the first on: crry, cspd, sp.
func shortens(name, words string) bool {
	letters := strings.ReplaceAll(name, " ", "")
	if letters == "" || letters[0] != words[0] || len(letters) > len(words) {
		return false
	}
	at := 0
	for i := 0; i < len(words) && at < len(letters); i++ {
		if words[i] == letters[at] {
			at++
		}
	}
	return at == len(letters) && (len(letters) > 1 || len(words) < 7)
}

// leaving is what it costs to leave a column out: more where its name looks like a
// field's, less where a word of it says that it may be another thing.
func (s supposing) leaving() float64 {
	if s.col.like != "" {
		return strangeName
	}
	near := 0.0
	for _, f := range s.fields {
		near = max(near, f.near)
	}
	return leftOut * (1 + 2*near)
}

// What a way of giving fields costs beside how the shots then go together: a
// name that does not look like its field, and a column without one.
const (
	strangeName = .7
	leftOut     = 1.1
	withoutCore = 2 // and for a shot without what every monitor measures
)

// fitted gives columns fields so that the shots go together and the names look
// like them: from the likeliest names on, one column after the other is given
// another field, or changes it with the one that has it, while that is better. The
// first is the best; ways that are hardly worse follow.
func (d *draft) fitted(list []supposing) (out [][]*Field, least float64) {
	way := make([]*Field, len(list))
	taken := func(name string) int {
		return slices.IndexFunc(way, func(f *Field) bool { return f != nil && f.Name == name })
	}
	type likely struct {
		at int
		f  *Field
	}
	var all []likely
	for i, s := range list {
		for _, f := range s.fields {
			if f.near > 0 {
				all = append(all, likely{i, f})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b likely) int { return cmp.Compare(b.f.near, a.f.near) })
	for _, l := range all {
		if way[l.at] == nil && taken(l.f.Name) < 0 {
			way[l.at] = l.f
		}
	}
	// turn gives column i a field, and the column that had it the one before.
	turn := func(i int, f *Field) {
		was := way[i]
		if f != nil {
			if o := taken(f.Name); o >= 0 && o != i {
				way[o] = nil
				if was != nil {
					if k := slices.IndexFunc(list[o].fields, func(g *Field) bool { return g.Name == was.Name }); k >= 0 {
						way[o] = list[o].fields[k]
					}
				}
			}
		}
		way[i] = f
	}
	best := d.strain(list, way)
	for range 4 {
		before := best
		for i := range list {
			for _, f := range append([]*Field{nil}, list[i].fields...) {
				keep := slices.Clone(way)
				turn(i, f)
				if c := d.strain(list, way); c < best-1e-9 {
					best = c
				} else {
					copy(way, keep)
				}
			}
		}
		if best == before {
			break
		}
	}
	// Other readings of one column that are hardly worse, and of two.
	type rival struct {
		cost float64
		way  []*Field
	}
	var rivals []rival
	add := func(c float64, way []*Field) {
		if c-best < rivalMargin && !slices.ContainsFunc(rivals, func(r rival) bool { return slices.Equal(r.way, way) }) {
			rivals = append(rivals, rival{c, slices.Clone(way)})
		}
	}
	first := slices.Clone(way)
	for i, f := range first {
		if f == nil {
			continue
		}
		for _, o := range list[i].fields {
			if o != f {
				turn(i, o)
				add(d.strain(list, way), way)
				copy(way, first)
			}
		}
		if f.near < .5 {
			turn(i, nil)
			add(d.strain(list, way), way)
			copy(way, first)
		}
	}
	slices.SortStableFunc(rivals, func(a, b rival) int { return cmp.Compare(a.cost, b.cost) })
	for i, r := range rivals[:min(len(rivals), 3)] {
		for _, o := range rivals[:i] {
			both := slices.Clone(first)
			for k := range both {
				switch {
				case r.way[k] == first[k]:
					both[k] = o.way[k]
				case o.way[k] == first[k]:
					both[k] = r.way[k]
				default:
					both = nil
				}
				if both == nil {
					break
				}
			}
			if both != nil && !doubled(both) {
				add(r.cost+o.cost-best, both)
			}
		}
	}
	slices.SortStableFunc(rivals, func(a, b rival) int { return cmp.Compare(a.cost, b.cost) })
	out = [][]*Field{given(first)}
	for _, r := range rivals {
		if len(out) < mostRivals && len(given(r.way)) > 0 {
			out = append(out, given(r.way))
		}
	}
	return out, best
}

// rivalMargin is how much worse another way may be to be offered beside the best, and
// mostRivals how many are offered.
const (
	rivalMargin = 1.2
	mostRivals  = 5
)

// given leaves the columns without a field out.
func given(way []*Field) []*Field {
	return slices.DeleteFunc(slices.Clone(way), func(f *Field) bool { return f == nil })
}

// doubled says that two columns would have one field.
func doubled(way []*Field) bool {
	seen := map[string]bool{}
	for _, f := range way {
		if f != nil && seen[f.Name] {
			return true
		}
		if f != nil {
			seen[f.Name] = true
		}
	}
	return false
}

// strain is how badly the shots go together with more fields, in the units that
// suit them best, and what a way costs beside.
func (d *draft) strain(list []supposing, way []*Field) float64 {
	was := d.fields
	defer func() { d.fields = was }()
	d.fields = slices.Clone(was)
	odd := 0.0
	for _, core := range []string{"ball_speed", "launch_angle", "carry"} {
		if !d.has(core) && !slices.ContainsFunc(way, func(f *Field) bool { return f != nil && f.Name == core }) {
			odd += withoutCore
		}
	}
	for i, f := range way {
		if f == nil {
			odd += list[i].leaving()
			continue
		}
		odd += strangeName * (1 - f.near)
		d.fields = append(d.fields, f)
	}
	for _, f := range way {
		if f != nil && len(f.col.units) == 0 {
			f.Unit = d.unitLike(f)
		}
	}
	return d.judge.Of(d.few(), d.putts).Cost + odd
}

// unitLike is the unit of fields alike, or the one that is usual.
func (d *draft) unitLike(f *Field) string {
	for _, o := range d.fields {
		if o != f && o.info.Quantity == f.info.Quantity && o.Unit != "" && o.Name != "apex" {
			return o.Unit
		}
	}
	if u := d.stated(f); u != "" {
		return u
	}
	if u := d.system[f.info.Quantity]; u != "" {
		return u
	}
	return plausible.Units(f.info.Quantity)[0]
}

// usualSystems are the speeds and lengths that devices write together.
var usualSystems = []map[unit.Quantity]string{
	{unit.Speed: "mph", unit.Length: "yd"}, {unit.Speed: "km/h", unit.Length: "m"}, {unit.Speed: "m/s", unit.Length: "m"},
}

// unitless says that nothing names the unit of a quantity, of which there are columns.
func (d *draft) unitless(q unit.Quantity, open map[*Field]string, list []supposing) bool {
	for f, u := range open {
		if f.info.Quantity == q && u != "" {
			return false
		}
	}
	for _, s := range list {
		if unitOf(q, s.col.units) {
			return false
		}
	}
	return d.legend[q] == ""
}
