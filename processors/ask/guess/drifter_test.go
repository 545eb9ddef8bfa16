package guess

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// The drifters are devices by lot: each choice (records, names, units, sides,
// clocks, ids, marks, columns beside) is drawn by itself, so that no list of
// examples stands behind them. Their shots fly by other coefficients than the
// contract's flight does, and every column has a measuring error of its own.

// drifter is how one device writes.
type drifter struct {
	r                                                  *rand.Rand
	kind, tongue, unitAt, side, clock, id, miss, group string
	style, level, unitWords                            int // level: of the names, from whole words to letters
	speed, length, apexUnit, timeUnit                  string
	comma, zeroSpin, twoClubs, putts, clubColumn       bool
	sep, quote                                         string
	fields                                             []string
	heads                                              map[string]string
	digits                                             map[string]int
	inverted                                           string // a field that counts the other way round
	foreignSides                                       bool
	local                                              *time.Location
}

var (
	drifterKinds = []string{"delimited", "delimited", "delimited", "fixed", "pairs", "ndjson", "nested", "leaves", "growing", "document",
		"attributes", "elements", "one file", "transposed", "two lines", "preamble", "comments", "summary", "blocks", "ruled",
		"repeated", "columnar", "matrix", "club means"}
	drifterUnits = []string{"bracket", "square", "suffix", "in", "comma", "row", "cell", "legend", "statement", "none"}
	drifterSides = []string{"plain", "plain", "stated", "letter behind", "letter before", "letter apart", "words", "column",
		"inverted stated", "other way", "parentheses", "swing words"}
	drifterClocks = []string{"iso z", "iso offset", "iso local", "epoch s", "epoch ms", "two columns", "twelve", "day first",
		"time only", "none", "month word", "utc column", "compact"}
	drifterIDs  = []string{"none", "counter", "session", "uuid", "counter"}
	drifterMiss = []string{"", "", "-", "n/a", "NaN", "null", "-999", "9999", "***", "--.-", "?"}
)

// drifterClub is what a good player's ball does off a club.
type drifterClub struct {
	name                          string
	ball, launch, spin, smash, aa float64 // mph, deg, rpm
}

var drifterClubs = []drifterClub{{"Driver", 152, 12.4, 2700, 1.47, 1.2}, {"3W", 142, 11.5, 3700, 1.46, -1.5}, {"5 Iron", 121, 14.2,
	5100, 1.39, -3},
	{"7 Iron", 110, 18.6, 6700, 1.35, -3.8}, {"9 Iron", 98, 22.9, 8100, 1.27, -4.4}, {"PW", 90, 26.2, 8900, 1.22, -4.7}, {"SW", 74,
		31.5, 9600, 1.11, -4.9}}

// fly returns carry, offline (m), apex (m), landing angle (deg) and time (s) of a shot:
// lift and drag of a dimpled sphere by its spin ratio, in small steps.
func fly(mps, launch, dir, rpm, axis float64) (carry, side, apex, land, t float64) {
	const rad, g, dt = math.Pi / 180, 9.81, .004
	k := .5 * 1.2 * math.Pi * .02135 * .02135 / .0459
	v := [3]float64{mps * math.Cos(launch*rad) * math.Cos(dir*rad), mps * math.Sin(launch*rad),
		mps * math.Cos(launch*rad) * math.Sin(dir*rad)}
	var p [3]float64
	w := rpm * 2 * math.Pi / 60
	for p[1] >= 0 {
		s := math.Sqrt(v[0]*v[0] + v[1]*v[1] + v[2]*v[2])
		ratio := w * .02135 / s
		cd, cl := .2+.33*ratio, .46*math.Pow(ratio, .4)
		h := math.Hypot(v[0], v[2])
		// Lift stands at a right angle to the way, turned by the axis.
		up := [3]float64{-v[1] * v[0] / (h * s), h / s, -v[1] * v[2] / (h * s)}
		right := [3]float64{-v[2] / h, 0, v[0] / h}
		for i := range v {
			a := k * s * s * (cl*(up[i]*math.Cos(axis*rad)+right[i]*math.Sin(axis*rad)) - cd*v[i]/s)
			if i == 1 {
				a -= g
			}
			v[i] += a * dt
			p[i] += v[i] * dt
		}
		w *= 1 - .04*dt
		apex = math.Max(apex, p[1])
		t += dt
	}
	return p[0], p[2], apex, math.Atan2(-v[1], math.Hypot(v[0], v[2])) / rad, t
}

// shots are what a player hits, as the device measures it, in SI and degrees.
func (d *drifter) shots(n int) (shots []map[string]float64, clubs []string) {
	r := d.r
	skill := .72 + .36*r.Float64()
	drag := 1 + .02*r.NormFloat64() // its own model of the flight, or the day's air
	bias := 1.5 * r.NormFloat64()
	first := r.IntN(len(drifterClubs))
	at := time.Date(2025+r.IntN(2), time.Month(1+r.IntN(12)), 1+r.IntN(28), 7+r.IntN(11), r.IntN(60), r.IntN(60), 0, d.local)
	for i := range n {
		c := drifterClubs[first]
		if d.twoClubs && i >= n/2 {
			c = drifterClubs[(first+3)%len(drifterClubs)]
		}
		at = at.Add(time.Duration(18+r.IntN(70)) * time.Second)
		if d.putts && i%5 == 3 {
			v := 1.2 + 2.5*r.Float64()
			shots = append(shots, map[string]float64{"ball_speed": v, "clubhead_speed": v / 1.68, "launch_direction": .9 * r.NormFloat64(),
				"time": float64(at.Unix()), "role": float64(event.Role_ROLE_ROLL)})
			clubs = append(clubs, "Putter")
			continue
		}
		face := bias + 2.2*r.NormFloat64()
		path := bias*.6 + 2.6*r.NormFloat64()
		strike := r.NormFloat64()
		mph := c.ball * skill * (1 + .025*r.NormFloat64())
		launch := c.launch + 3*(1-skill) + 1.1*r.NormFloat64()
		spin := c.spin * (.8 + .2*skill) * (1 + .08*r.NormFloat64())
		dir := .81*face + .19*path + .25*r.NormFloat64()
		axis := 30*math.Sin((face-path)*math.Pi/180)*3.2*.6 - 1.2*strike + .6*r.NormFloat64()
		mps := mph * .44704
		carry, side, apex, land, t := fly(mps, launch, dir, spin, axis)
		m := map[string]float64{"ball_speed": mps, "clubhead_speed": mps / c.smash * (1 + .012*r.NormFloat64()), "attack_angle": c.aa +
			1.1*r.NormFloat64(),
			"club_path": path, "face_angle": face, "face_to_path": face - path, "dynamic_loft": launch*1.13 + .8*r.NormFloat64(),
			"launch_angle": launch, "launch_direction": dir, "spin_rate": spin, "spin_axis": axis,
			"back_spin": spin * math.Cos(axis*math.Pi/180), "side_spin": spin * math.Sin(axis*math.Pi/180),
			"carry": carry * drag * (1 + .01*r.NormFloat64()), "offline": side + .6*r.NormFloat64(), "apex": apex * drag * (1 +
				.025*r.NormFloat64()),
			"landing_angle": land + .8*r.NormFloat64(), "hang_time": t * (1 + .015*r.NormFloat64()), "time": float64(at.Unix())}
		m["smash_factor"] = m["ball_speed"] / m["clubhead_speed"]
		roll := math.Max(.5, 28-.42*land+2*r.NormFloat64())
		m["total"], m["total_offline"] = m["carry"]+roll, m["offline"]*(1+roll/m["carry"]*.8)
		m["(roll)"], m["(curve)"] = roll, m["offline"]-m["carry"]*math.Tan(dir*math.Pi/180)
		shots, clubs = append(shots, m), append(clubs, c.name)
	}
	return shots, clubs
}

var drifterSigned = map[string]bool{"launch_direction": true, "spin_axis": true, "side_spin": true, "offline": true,
	"total_offline": true,
	"face_angle":    true, "club_path": true, "face_to_path": true}

// unitOf is the unit in which the device has a field.
func (d *drifter) unitOf(field string) string {
	switch field {
	case "ball_speed", "clubhead_speed":
		return d.speed
	case "carry", "total", "offline", "total_offline", "(roll)", "(curve)":
		return d.length
	case "apex":
		return d.apexUnit
	case "hang_time":
		return d.timeUnit
	case "spin_rate", "back_spin", "side_spin":
		return "rpm"
	case "smash_factor":
		return ""
	}
	return "deg"
}

// conv turns a field's unit into SI and back.
func (d *drifter) conv(field string) unit.Converter {
	q := unit.Angle
	switch field {
	case "ball_speed", "clubhead_speed":
		q = unit.Speed
	case "carry", "total", "offline", "total_offline", "(roll)", "(curve)", "apex":
		q = unit.Length
	case "hang_time":
		q = unit.Time
	case "spin_rate", "back_spin", "side_spin":
		q = unit.Rotation
	case "smash_factor":
		q = unit.Ratio
	}
	c, err := unit.Lookup(q, d.unitOf(field))
	if err != nil {
		panic(err)
	}
	return c
}

// head is a column's name with its unit where units stand in names.
func (d *drifter) head(field string) string {
	name, u := d.heads[field], d.spelled(d.unitOf(field))
	if u != "" {
		switch d.unitAt {
		case "bracket":
			name += " (" + u + ")"
		case "square":
			name += "[" + u + "]"
		case "suffix":
			name += "_" + strings.NewReplacer("/", "", "°", "deg").Replace(u)
		case "in":
			name += " in " + u
		case "comma":
			name += ", " + u
		}
	}
	if d.side == "inverted stated" && drifterSigned[field] && d.stated() == "" {
		name += " [L+]"
	}
	return name
}

// stated tells the sides in a line before the shots, where the device has such lines.
func (d *drifter) stated() string {
	if d.kind != "preamble" && d.kind != "comments" {
		return ""
	}
	switch d.side {
	case "stated":
		return []string{"Sign convention: positive = right of target", "left negative, right positive", "+ is right"}[d.style%3]
	case "inverted stated":
		return []string{"Sign convention: positive = left of target", "left positive, right negative", "+ is left"}[d.style%3]
	}
	return ""
}

// spelled is a unit as the device spells it.
func (d *drifter) spelled(u string) string {
	long := map[string][3]string{"mph": {"mph", "MPH", "mi/h"}, "km/h": {"km/h", "kph", "kmh"}, "m/s": {"m/s", "mps", "m/s"},
		"yd": {"yd", "yds", "yards"},
		"m":  {"m", "m", "meters"}, "ft": {"ft", "feet", "ft"}, "deg": {"deg", "°", "degrees"}, "rpm": {"rpm", "RPM", "rpm"}, "s": {"s",
			"sec", "s"},
		"ms": {"ms", "ms", "ms"}}
	if w, ok := long[u]; ok {
		return w[d.unitWords]
	}
	return u
}

// text writes one measure; tag is what a column of its own says of the side.
func (d *drifter) text(field string, v float64) (text, tag string, si float64) {
	c, n := d.conv(field), d.digits[field]
	p := math.Pow(10, float64(n))
	x := math.Round(c.From(v)*p) / p
	if x == 0 {
		x = 0 // no -0
	}
	si = c.To(x)
	if field == d.inverted || d.side == "inverted stated" && drifterSigned[field] {
		x = -x
	}
	num := func(f float64) string {
		s := strconv.FormatFloat(f, 'f', n, 64)
		unit := ""
		if d.unitAt == "cell" && d.unitOf(field) != "" {
			if unit = d.spelled(d.unitOf(field)); unit != "°" {
				unit = " " + unit
			}
		}
		if d.group != "" && math.Abs(f) >= 1000 {
			whole, rest, _ := strings.Cut(s, ".")
			s = whole[:len(whole)-3] + d.group + whole[len(whole)-3:]
			if rest != "" {
				s += "." + rest
			}
		}
		if d.comma {
			if d.group == "." {
				return strings.NewReplacer(".", ",", "§", ".").Replace(strings.Replace(s, ".", "§", strings.Count(s, ".")-min(1, n))) + unit
			}
			s = strings.ReplaceAll(s, ".", ",")
		}
		return s + unit
	}
	text = num(x)
	if drifterSigned[field] {
		l, r := "L", "R"
		if d.foreignSides {
			switch d.tongue {
			case "de":
				l, r = "links", "rechts"
			case "fr":
				l, r = "G", "D"
			case "es":
				l, r = "izq", "der"
			case "it":
				l, r = "S", "D"
			case "sv":
				l, r = "V", "H"
			}
		}
		tag = r
		if x < 0 {
			tag = l
		}
		plain := num(math.Abs(x))
		if math.Abs(x) == 0 {
			tag = ""
		}
		switch d.side {
		case "letter behind":
			text = plain + tag
		case "letter apart":
			text = strings.TrimSpace(plain + " " + tag)
		case "letter before":
			text = tag + plain
		case "words":
			text = plain
			if tag != "" {
				text += map[bool]string{true: " right", false: " left"}[x > 0]
			}
		case "swing words":
			w := [2]string{"left", "right"}
			switch field {
			case "club_path":
				w = [2]string{"out-in", "in-out"}
			case "face_angle", "face_to_path":
				w = [2]string{"closed", "open"}
			}
			text = plain
			if tag != "" {
				text += " " + map[bool]string{true: w[1], false: w[0]}[x > 0]
			}
		case "column":
			text = plain
		case "parentheses":
			if x < 0 {
				text = "(" + plain + ")"
			}
		}
	}
	return text, tag, si
}

// drift makes the drifter i of a lot.
func drift(seed uint64, i int) specimen {
	r := rand.New(rand.NewPCG(seed, uint64(i)))
	d := &drifter{r: r, kind: pick(r, drifterKinds), unitAt: pick(r, drifterUnits), side: pick(r, drifterSides), clock: pick(r,
		drifterClocks),
		id: pick(r, drifterIDs), miss: pick(r, drifterMiss), style: r.IntN(len(drifterStyles)), heads: map[string]string{},
		digits: map[string]int{},
		sep:    pick(r, []string{",", ",", ",", ";", "\t", "|", "^"}), quote: pick(r, []string{"", "", "all", "text"}), unitWords: r.IntN(3),
		local: time.Local}
	d.level = []int{0, 0, 0, 0, 1, 1, 1, 2}[r.IntN(8)]
	tongues := []string{"de", "fr", "es", "sv", "it", "nl", "fi", "ja", "pl", "pt", "da"}
	if r.IntN(4) == 0 {
		d.tongue = pick(r, tongues)
		d.foreignSides = r.IntN(2) == 0
	}
	sys := pick(r, [][4]string{{"mph", "yd", "yd", "s"}, {"mph", "yd", "ft", "s"}, {"km/h", "m", "m", "s"}, {"m/s", "m", "m", "s"},
		{"mph", "m", "m", "s"}})
	d.speed, d.length, d.apexUnit, d.timeUnit = sys[0], sys[1], sys[2], sys[3]
	d.twoClubs, d.putts, d.clubColumn, d.zeroSpin = r.IntN(3) == 0, r.IntN(8) == 0, r.IntN(2) == 0, r.IntN(6) == 0
	if d.putts || d.kind == "club means" {
		d.clubColumn = true
	}
	json := map[string]bool{"ndjson": true, "nested": true, "leaves": true, "growing": true, "document": true, "columnar": true,
		"matrix": true}[d.kind]
	if !json && d.kind != "pairs" && (d.tongue != "" && d.tongue != "ja" && r.IntN(2) == 0 || r.IntN(12) == 0) && d.sep != "," {
		d.comma = true
	}
	if !json && r.IntN(6) == 0 {
		d.group = ","
		if d.comma {
			d.group = "."
		}
		if d.sep == "," && d.quote == "" {
			d.quote = "all"
		}
	}
	// What the records cannot hold is not asked of them.
	if json && (d.unitAt == "row" || d.unitAt == "legend" || d.unitAt == "statement") || d.kind == "leaves" {
		d.unitAt = pick(r, []string{"suffix", "none", "cell"})
	}
	if d.unitAt == "legend" || d.unitAt == "statement" {
		if d.kind != "comments" {
			d.kind = "preamble"
		}
	}
	if d.unitAt == "row" && d.kind != "fixed" && d.kind != "two lines" && d.kind != "transposed" && d.kind != "ruled" {
		d.kind = "delimited"
	}
	if (d.kind == "attributes" || d.kind == "elements") && (d.unitAt == "bracket" || d.unitAt == "square" || d.unitAt == "in" ||
		d.unitAt == "comma") {
		d.unitAt = "suffix"
	}
	if d.clock == "time only" && d.kind != "comments" {
		d.kind = "preamble"
	}
	names := append([]string{}, []string{"ball_speed", "launch_angle", "launch_direction", "spin_rate", "carry"}...)
	for _, f := range []string{"clubhead_speed", "smash_factor", "attack_angle", "club_path", "face_angle", "face_to_path",
		"dynamic_loft", "spin_axis",
		"total", "offline", "total_offline", "apex", "landing_angle", "hang_time"} {
		if r.IntN(2) == 0 {
			names = append(names, f)
		}
	}
	if r.IntN(6) == 0 {
		names = append(names, "back_spin", "side_spin")
		if r.IntN(2) == 0 {
			names = append(names[:3], names[4:]...) // no spin_rate
		}
	}
	if r.IntN(5) == 0 {
		names = append(names, "(roll)")
	}
	if r.IntN(5) == 0 {
		names = append(names, "(curve)")
	}
	used := map[string]bool{}
	for _, f := range names {
		name := map[string]string{"(roll)": "roll", "(curve)": "curve"}[f]
		if name == "" {
			if t := drifterTongues[d.tongue]; t != nil {
				name = t[f]
				if name == "" {
					continue
				}
			} else {
				name = pick(r, drifterNames[f][d.level])
			}
		}
		if t := drifterStyles[d.style]; d.tongue == "" && (d.level < 2 || strings.HasPrefix(f, "(")) {
			name = t(name)
		}
		if d.kind == "attributes" || d.kind == "elements" {
			name = strings.NewReplacer(" ", "_", "'", "", ".", "", "-", "_").Replace(name)
		}
		if used[strings.ToLower(name)] {
			continue
		}
		used[strings.ToLower(name)] = true
		d.heads[f] = name
		d.fields = append(d.fields, f)
		d.digits[f] = 1
		switch {
		case d.unitOf(f) == "rpm":
			d.digits[f] = 0
		case f == "smash_factor" || f == "hang_time":
			d.digits[f] = 2
		}
	}
	if r.IntN(2) == 0 {
		r.Shuffle(len(d.fields), func(i, j int) { d.fields[i], d.fields[j] = d.fields[j], d.fields[i] })
	}
	if d.side == "other way" { // what goes with the rest shows it
		d.side = "plain"
		has := map[string]bool{}
		for _, f := range d.fields {
			has[f] = true
		}
		if has["offline"] && has["spin_axis"] {
			d.inverted = pick(r, []string{"spin_axis", "offline", "launch_direction"})
		}
	}
	s := specimen{name: fmt.Sprintf("%d/%03d %s|%s%d|%s|%s|%s|%s", seed, i, d.kind, d.tongue, d.level, d.unitAt, d.side+d.inverted,
		d.clock, d.id)}
	if d.side == "swing words" {
		s.handed = []string{"club_path", "face_angle", "face_to_path"}
	}
	d.write(&s)
	return s
}
