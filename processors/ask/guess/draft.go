package guess

import (
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/bay/sample"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/plausible"
)

// Question is what the files cannot tell.
type Question struct {
	Key     string   `json:"key"`
	Text    string   `json:"text"`
	Options []string `json:"options"`
	Words   []string `json:"words"` // what each option means
	Assumed string   `json:"assumed"`
	// Brief is how an option is said among the answers to other questions; {} stands for its word.
	Brief string `json:"-"`
}

// Proposal is a drafted map.
type Proposal struct {
	Map       string     // YAML, with comments
	Fields    []*Field   // in the order of the contract
	Questions []Question // that are left
	Left      []string   // columns that nothing was made of
}

// ErrNoField says that no column could be told.
var ErrNoField = errors.New("no column has a name that is known here: rename the columns in the drafted map by hand, `fairlead feed " +
	"fields` lists what there is")

// Draft drafts the map of a device from a table of its output. answers settle
// questions of an earlier draft, by their keys.
func Draft(t *sample.Table, device string, answers map[string]string) (*Proposal, error) {
	kept := t.Copy() // a draft writes into its table
	d, err := drafted(t, device, unfolded(answers), &plausible.Judge{})
	if err != nil {
		return nil, err
	}
	d.whole(kept, device)
	text := d.expected(d.write())
	if _, err := feed.ParseMap("drafted map", []byte(text)); err != nil {
		return nil, fmt.Errorf("the drafted map cannot be used: %w", err)
	}
	p := &Proposal{Map: text, Fields: d.fields, Questions: d.questions}
	for _, c := range d.cols {
		if c.field == "" && !d.used[c] {
			p.Left = append(p.Left, c.Name)
		}
	}
	return p, nil
}

// drafted goes through all that is found of a table, up to where it is written. The
// judge may know the shots' flights from another draft.
func drafted(t *sample.Table, device string, answers map[string]string, judge *plausible.Judge) (*draft, error) {
	d := begun(t, device, answers)
	if len(d.fields) < 3 {
		others := t.Gathered()
		if turned := t.Turned(); turned != nil {
			others = append(others, turned)
		}
		for _, other := range others {
			if o := begun(other, device, answers); len(o.fields) > max(2, len(d.fields)) {
				d, t = o, other
			}
		}
	}
	if len(d.fields) == 0 {
		return nil, ErrNoField
	}
	if c := twoSystems(d.cols); c != nil {
		return nil, &SystemsError{c.Name}
	}
	if err := d.severalInOne(); err != nil {
		return nil, err
	}
	if keep, rule := d.foreign(); rule != nil {
		apart := begun(rowsOf(t, keep), device, answers)
		apart.skips = append(apart.skips, *rule)
		d = apart
	}
	d.judge = judge
	d.role()
	d.putting()
	d.when()
	d.zeros()
	d.letters()
	d.supposed()
	d.toldUnits()
	d.choose()
	d.sides()
	d.toldTurns()
	d.identity()
	d.order()
	return d, nil
}

// begun reads a table's columns and finds what they may be.
func begun(t *sample.Table, device string, answers map[string]string) *draft {
	above(t)
	d := &draft{t: t, device: device, answers: answers, style: numberStyle(t)}
	d.askThousands()
	if some, rules := withoutMeans(t); rules != nil {
		d.t, d.skips = some, rules
	}
	d.read()
	if d.style.negative != "" && d.neverNegative() { // the marks mean another thing
		d.style.negative = ""
		d.read()
	}
	d.toldFields()
	return d
}

// read takes the columns as the style has them, with the units that lines above the
// rows give them, and the fields that their names say.
func (d *draft) read() {
	d.cols = columns(d.t, d.style)
	for c, u := range legendBy(d.t.Preamble, d.cols) {
		if len(c.units) == 0 {
			c.units = []string{u}
		}
	}
	d.fields = fieldsOf(d.cols)
}

// neverNegative says that a field that can't be negative has the device's marks
// of negative numbers.
func (d *draft) neverNegative() bool {
	for _, f := range d.fields {
		for _, v := range f.col.values() {
			if v < 0 && f.info.Min >= 0 {
				return true
			}
		}
	}
	return false
}

type draft struct {
	t         *sample.Table
	device    string
	answers   map[string]string
	style     style
	cols      []*column
	fields    []*Field
	putts     bool
	roleName  string
	at        *moment
	questions []Question
	used      map[*column]bool
	id        []*column
	scope     string
	skips     []rowRule
	rollsBy   *column // says which of the rows are putts, among swings
	rolls     []string
	revision  *column
	deleted   *column
	deletes   []string
	club      *column
	judge     *plausible.Judge
	costs     map[string]float64 // by units and turns
	// Marks of the sides in the device's own language, in lower case; "": R and L.
	left, right string
	loose       []*Field                 // whose side is open
	legend      map[unit.Quantity]string // units that stand above the rows
	system      map[unit.Quantity]string // that is tried, where nothing says a unit
}

// ask returns the answer to a question, or leaves it open and goes on with what
// is assumed.
func (d *draft) ask(q Question) string {
	if a, ok := d.answers[q.Key]; ok && slices.Contains(q.Options, a) {
		return a
	}
	d.questions = append(d.questions, q)
	return q.Assumed
}

func (d *draft) askThousands() {
	if !d.style.unsure {
		return
	}
	sign := "."
	if d.style.thousands != 0 {
		sign = string(d.style.thousands)
	}
	assumed := "thousands"
	if sign == "." {
		assumed = "decimal"
	}
	a := d.ask(Question{Key: "numbers", Text: fmt.Sprintf("Does %q stand before decimals, or between thousands (2%s540)?", sign, sign),
		Options: []string{"decimal", "thousands"}, Words: []string{"before decimals", "between thousands"}, Assumed: assumed,
		Brief: "the sign stands {}"})
	other := map[string]rune{".": ',', ",": '.'}[sign]
	if a == "decimal" {
		d.style = style{decimal: rune(sign[0]), negative: d.style.negative}
	} else {
		d.style = style{decimal: other, thousands: rune(sign[0]), negative: d.style.negative}
	}
}

func (d *draft) has(name string) bool {
	return slices.ContainsFunc(d.fields, func(f *Field) bool { return f.Name == name })
}

// role finds what the device describes of a hit.
func (d *draft) role() {
	d.roleName = "ball"
	putting := d.has("skid_distance") || d.has("forward_roll") || d.has("putt_distance") || d.has("roll_speed")
	stroke := d.has("stroke_length") || d.has("stroke_rotation") || d.has("stroke_arc")
	flies := d.has("carry") || d.has("spin_rate") || d.has("apex") || d.has("back_spin")
	switch {
	case putting && !flies:
		d.roleName, d.putts = "roll", true
	case stroke && !flies && !d.has("ball_speed"):
		d.roleName, d.putts = "stroke", true
	case !flies && !d.has("ball_speed") && !d.has("launch_direction") && !d.has("launch_angle") && !d.has("total"):
		d.roleName = "club"
	}
	if d.roleName == "roll" && !d.has("putt_distance") {
		d.named("putt_distance", rolledFar)
	}
}

var rolledFar = regexp.MustCompile(`^(putt )?(distance|dist|length|roll|distanz|weite|lange|longueur|distancia|distanza)$`)

// named gives the column of a name a field that the name alone does not tell.
func (d *draft) named(field string, name *regexp.Regexp) {
	for _, c := range d.cols {
		if c.field == "" && c.numeric() && !steps(c) && name.MatchString(plain(c.bare)) && !d.has(field) {
			info, _ := event.FieldNamed(field)
			if len(c.units) > 0 && !unitOf(info.Quantity, c.units) {
				continue
			}
			c.field, c.other = field, ""
			d.fields = append(d.fields, &Field{Name: field, Column: c.Name, info: info, col: c, Unit: named1(info.Quantity, c.units)})
		}
	}
}

var neverZero = []string{"ball_speed", "clubhead_speed", "smash_factor", "spin_rate", "back_spin", "carry", "total", "apex", "hang_time",
	"landing_angle", "landing_speed", "dynamic_loft", "tempo", "backswing_time", "downswing_time", "spin_loft"}

// zeros finds the fields for which a zero is no value: a speed, a carry.
func (d *draft) zeros() {
	rows := d.t.Rows
	blank := make([]bool, rows) // rows in which a field that is never zero is
	for _, f := range d.fields {
		if d.putts || !slices.Contains(neverZero, f.Name) {
			continue
		}
		for i, v := range f.col.numbers {
			if v == 0 && i < rows {
				f.Zero, blank[i] = true, true
			}
		}
	}
	blanks := 0
	for _, b := range blank {
		if b {
			blanks++
		}
	}
	// A side or an angle that is zero in all of those rows, and in no other, is missing
	// there too; one that is so once may be zero by chance.
	for _, f := range d.fields {
		if f.Zero {
			continue
		}
		there, else0 := 0, 0
		for i, v := range f.col.numbers {
			if v == 0 && i < rows && blank[i] {
				there++
			} else if v == 0 {
				else0++
			}
		}
		f.Zero = there > 1 && else0 == 0 && (there == blanks || f.ofSpin() && there*2 > blanks)
	}
}

// ofSpin says that a field is not known where the spin is not.
func (f *Field) ofSpin() bool {
	return slices.Contains([]string{"spin_axis", "side_spin", "back_spin"}, f.Name)
}

// letters reads the sides that stand beside numbers, or in a column beside.
func (d *draft) letters() {
	all := map[string]int{}
	for _, f := range d.fields {
		if f.info.Mirrors {
			maps.Copy(all, f.col.letters)
		}
	}
	for _, c := range d.cols {
		if c.field == "" && c.count == 0 {
			for _, text := range c.texts {
				if len([]rune(text)) < 9 {
					all[text]++
				}
			}
		}
	}
	d.left, d.right = tongue(all)
	d.struck()
	for _, f := range d.fields {
		if f.Positive != nil { // of a first look, before fields were supposed
			continue
		}
		if len(f.col.letters) > 0 {
			left, right := d.left, d.right
			if !f.info.Mirrors {
				left, right = "", ""
			}
			positive, negative, handed, ok := lettersOf(f.col.letters, left, right)
			if ok && (f.info.Mirrors || f.Name == "attack_angle" || f.Name == "launch_angle" || strings.HasPrefix(f.Name, "strike")) {
				f.Positive, f.Negative = positive, negative
				if handed && f.info.Mirrors {
					f.Sign = "handed"
				}
			}
			continue
		}
		if f.info.Mirrors || strings.HasPrefix(f.Name, "strike") {
			d.besideSide(f)
		}
	}
}

// struck gives a column whose marks say toe and heel, or high and low, the field
// that these are of: nothing else has them.
func (d *draft) struck() {
	for word, field := range map[string]string{"toe": "strike_x", "heel": "strike_x", "high": "strike_y", "low": "strike_y"} {
		for i := 0; i < len(d.fields); i++ {
			f := d.fields[i]
			if f.Name == field || f.col.letters[word]+f.col.letters[strings.ToUpper(word[:1])+word[1:]] == 0 ||
				field == "strike_y" && !strings.HasPrefix(f.Name, "strike") && f.info.Quantity != unit.Length {
				continue
			}
			if info, _ := event.FieldNamed(field); !d.has(field) && info.Quantity == f.info.Quantity {
				f.Name, f.info, f.col.field = field, info, field
				continue
			}
			f.col.field = ""
			d.fields = slices.Delete(d.fields, i, i+1)
			i--
		}
	}
}

// besideSide finds a column of sides next to a field that has none of its own.
func (d *draft) besideSide(f *Field) {
	at := slices.Index(d.cols, f.col)
	for _, v := range f.col.values() {
		if v < 0 {
			return
		}
	}
	near := []int{at + 1, at - 1}
	if named := slices.IndexFunc(d.cols, f.col.sideOf); named >= 0 {
		near = []int{named} // wherever it stands
	}
	for _, near := range near {
		if near < 0 || near >= len(d.cols) {
			continue
		}
		c := d.cols[near]
		if c.count > 0 || len(c.texts) == 0 || d.uses(c) {
			continue
		}
		words := map[string]int{}
		for _, text := range c.texts {
			words[text]++
		}
		if positive, negative, handed, ok := lettersOf(words, d.left, d.right); ok {
			f.Positive, f.Negative, f.sided = positive, negative, c
			if handed && f.info.Mirrors {
				f.Sign = "handed"
			}
			d.use(c)
			for i := range f.col.Cells {
				f.col.Cells[i] += " " + c.Cells[i]
			}
			return
		}
	}
}

// sideOf says that a column is called as this one and a word for its side: axis-side
// beside ball.axis[deg], PATH_DIR beside PATH_deg.
func (c *column) sideOf(o *column) bool {
	leaf := func(name string) string {
		p := plain(name)
		for _, holder := range []string{"value", "val", "ball ", "club ", "head ", "shot ", "data "} {
			p = strings.TrimSpace(strings.TrimSuffix(strings.TrimPrefix(p, holder), " "+holder))
		}
		return p
	}
	name := sideBehind.FindStringSubmatch(leaf(o.bare))
	return name != nil && o != c && leaf(c.bare) == leaf(name[1])
}

var sideBehind = regexp.MustCompile(`^(.+) (?:side|lr|l r|dir|direction|sign|hand|letter|seite|cote|lado|lato|sida|puoli|strona|kant)$`)

func (d *draft) use(c *column) {
	if d.used == nil {
		d.used = map[*column]bool{}
	}
	d.used[c] = true
}

func (d *draft) uses(c *column) bool { return d.used[c] }

// order brings the fields into the order of the contract.
func (d *draft) order() {
	slices.SortStableFunc(d.fields, func(a, b *Field) int { return int(a.info.Field) - int(b.info.Field) })
}

// cost is how badly the shots go together as proposed now.
func (d *draft) cost() float64 {
	var key strings.Builder
	for _, f := range d.fields {
		key.WriteString(f.Unit)
		if f.Invert {
			key.WriteByte('-')
		}
		key.WriteByte(',')
	}
	if known, ok := d.costs[key.String()]; ok {
		return known
	}
	if d.costs == nil {
		d.costs = map[string]float64{}
	}
	c := d.judge.Of(d.few(), d.putts).Cost
	d.costs[key.String()] = c
	return c
}

// few are some of the shots.
func (d *draft) few() plausible.Shots {
	s := shots(d.fields, d.t.Rows, d.rolled)
	if len(s) > 10 {
		out := make(plausible.Shots, 10)
		for i := range out {
			out[i] = s[i*(len(s)-1)/9]
		}
		return out
	}
	return s
}
