package guess

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
)

// The corpus is made here: invented devices that write known shots in every
// mixture of dialect, names, units, sides and clocks. Names of columns are our
// own words for trade terms; no device of the world is meant.

// specimen is one device's output and what stands in it.
type specimen struct {
	name  string
	files []specimenFile
	truth []map[string]float64 // SI by field, in order; "time" in Unix s
	hand  bool                 // sides go by the player's hand
	// Fields that go by the player's hand where others go by the target: open, closed.
	handed []string
}

type specimenFile struct{ name, text string }

// column of a specimen.
type trueColumn struct {
	field, head, unit string
	digits            int
}

// vocabularies are sets of column names; a field that a set lacks is not written.
var vocabularies = []map[string]string{
	{"clubhead_speed": "Club Speed", "ball_speed": "Ball Speed", "smash_factor": "Smash Factor", "attack_angle": "Attack Angle",
		"club_path": "Club Path", "face_angle": "Face Angle",
		"launch_angle": "Launch Angle", "launch_direction": "Launch Direction", "spin_rate": "Spin Rate", "spin_axis": "Spin Axis",
		"carry": "Carry", "total": "Total", "offline": "Offline",
		"apex": "Apex", "landing_angle": "Landing Angle", "hang_time": "Hang Time"},
	{"clubhead_speed": "headSpeed", "ball_speed": "ballSpeed", "smash_factor": "efficiency", "launch_angle": "launchAngle",
		"launch_direction": "azimuth", "spin_rate": "totalSpin",
		"back_spin": "backSpin", "side_spin": "sideSpin", "carry": "carryDistance", "total": "totalDistance", "offline": "lateral",
		"apex": "peakHeight", "landing_angle": "descentAngle", "hang_time": "airTime"},
	{"clubhead_speed": "Schlägerkopfgeschwindigkeit", "ball_speed": "Ballgeschwindigkeit", "launch_angle": "Abflugwinkel",
		"launch_direction": "Startrichtung", "spin_rate": "Spinrate",
		"spin_axis": "Spinachse", "carry": "Carry", "total": "Gesamt", "offline": "Seitenabweichung", "apex": "Scheitelhöhe",
		"landing_angle": "Landewinkel", "hang_time": "Flugzeit", "attack_angle": "Eintreffwinkel"},
	{"ball_speed": "v_ball", "clubhead_speed": "v_head", "launch_angle": "launch_v", "launch_direction": "launch_h", "spin_rate": "spin",
		"spin_axis": "tilt", "carry": "carry", "offline": "side",
		"apex": "height", "smash_factor": "smash"},
	{"ball_speed": "Vitesse de balle", "clubhead_speed": "Vitesse de tête", "launch_angle": "Angle de lancement",
		"launch_direction": "Direction", "spin_rate": "Rotation", "spin_axis": "Axe",
		"carry": "Carry", "total": "Distance totale", "offline": "Ecart", "apex": "Hauteur"},
	{"ball_speed": "Ball", "clubhead_speed": "Club", "launch_angle": "Launch", "launch_direction": "Start Line", "spin_rate": "Spin",
		"spin_axis": "Tilt", "carry": "Carry", "total": "Total", "offline": "Side", "face_angle": "Face", "club_path": "Path",
		"face_to_path": "Face to Path"},
}

// systems are the units that a device writes.
var systems = []map[unit.Quantity]string{
	{unit.Speed: "mph", unit.Length: "yd", unit.Angle: "deg", unit.Rotation: "rpm", unit.Time: "s"},
	{unit.Speed: "km/h", unit.Length: "m", unit.Angle: "deg", unit.Rotation: "rpm", unit.Time: "s"},
	{unit.Speed: "m/s", unit.Length: "m", unit.Angle: "deg", unit.Rotation: "rpm", unit.Time: "s"},
	{unit.Speed: "mph", unit.Length: "m", unit.Angle: "deg", unit.Rotation: "rpm", unit.Time: "s"},
	{unit.Speed: "fps", unit.Length: "ft", unit.Angle: "deg", unit.Rotation: "rps", unit.Time: "ms"},
	{unit.Speed: "m/s", unit.Length: "m", unit.Angle: "rad", unit.Rotation: "rad/s", unit.Time: "s"},
}

var clubsPlayed = [][4]float64{{68, 13, 2600, 1.47}, {52, 17.5, 6600, 1.36}, {36, 29, 9200, 1.19}, {60, 15, 4300, 1.42}}

// trueShots plays n shots.
func trueShots(r *rand.Rand, n int) (out []map[string]float64) {
	k := clubsPlayed[r.IntN(len(clubsPlayed))]
	at := time.Date(2026, time.Month(1+r.IntN(12)), 1+r.IntN(28), 9+r.IntN(8), r.IntN(60), r.IntN(60), 0, time.Local)
	for range n {
		face, path := 2.4*r.NormFloat64(), 2.4*r.NormFloat64()
		l := flight.Launch{BallSpeed: k[0] * (1 + .025*r.NormFloat64()), Angle: k[1] + 1.3*r.NormFloat64(),
			Direction: .78*face + .22*path + .2*r.NormFloat64(),
			SpinRate:  k[2] * (1 + .07*r.NormFloat64()), SpinAxis: 2.5*(face-path) + r.NormFloat64()}
		f, err := flight.Simulate(l, flight.Standard())
		if err != nil {
			panic(err)
		}
		rad := l.SpinAxis * math.Pi / 180
		ball := l.BallSpeed
		at = at.Add(time.Duration(20+r.IntN(60)) * time.Second)
		s := map[string]float64{"ball_speed": ball, "clubhead_speed": ball / k[3] * (1 + .008*r.NormFloat64()), "launch_angle": l.Angle,
			"launch_direction": l.Direction,
			"spin_rate":        l.SpinRate, "spin_axis": l.SpinAxis, "back_spin": l.SpinRate * math.Cos(rad),
			"side_spin": l.SpinRate * math.Sin(rad),
			"carry":     f.Carry * (1 + .02*r.NormFloat64()), "total": f.Total + 1, "offline": f.Offline + r.NormFloat64(),
			"apex":          f.Apex * (1 + .04*r.NormFloat64()),
			"landing_angle": f.LandingAngle + r.NormFloat64(), "hang_time": f.HangTime * (1 + .02*r.NormFloat64()), "face_angle": face,
			"club_path": path, "face_to_path": face - path,
			"attack_angle": -2.5 + r.NormFloat64(), "time": float64(at.Unix())}
		s["smash_factor"] = s["ball_speed"] / s["clubhead_speed"]
		follow(s, f)
		out = append(out, s)
	}
	return out
}

// follow adds what depends on the rest: no lot draws for it, so that lots of
// before stay as they were.
func follow(s map[string]float64, f flight.Result) {
	turn := s["face_to_path"]
	loft := s["launch_angle"]*1.12 + .6
	maps.Copy(s, map[string]float64{"dynamic_loft": loft, "spin_loft": loft - s["attack_angle"], "landing_speed": f.LandingSpeed,
		"total_offline": f.TotalOffline + .8*turn, "strike_x": .0042 * turn, "strike_y": .003*(s["attack_angle"]+2.5) - .002,
		"dynamic_lie": .7*turn - .5, "closure_rate": 380 + 25*turn, "swing_direction": s["club_path"] + .5*s["attack_angle"],
		"swing_plane": 58.5 + .8*s["attack_angle"], "low_point": .03 - .018*s["attack_angle"], "backswing_time": .78 + .01*turn,
		"downswing_time": .26 + .002*turn, "air_temperature": 21.5 + .01*turn, "air_pressure": 101120 + 10*turn, "air_humidity": .46})
	s["tempo"] = s["backswing_time"] / s["downswing_time"]
}

// manner is how a specimen is written.
type manner struct {
	dialect, unitAt, side, clock, id string
	words, system                    int
	missing                          string
	noise                            int // 0 none, 1 preamble, 2 summary rows, 3 comments
}

var (
	dialects = []string{"comma", "semicolon", "tab", "pipe", "fixed", "ndjson", "nested", "list", "pretty", "attributes", "elements",
		"pairs",
		"blocks", "blanks", "utf16"}
	unitsAt  = []string{"bracket", "suffix", "row", "cell", "none"}
	sidesBy  = []string{"plus", "letter", "word", "front", "minus", "stated"}
	clocksBy = []string{"iso", "millis", "day first", "month first", "two columns", "none", "rfc"}
	idsBy    = []string{"number", "uuid", "session", "none"}
)

// mirrors are the fields with sides.
var mirrors = map[string]bool{"launch_direction": true, "spin_axis": true, "side_spin": true, "offline": true, "face_angle": true,
	"club_path": true, "face_to_path": true}

// corpus makes the specimens: every dialect with every other choice, in turn
// and by lot.
func corpus(n int, seed uint64) (out []specimen) {
	r := rand.New(rand.NewPCG(seed, 13))
	for i := range n {
		m := manner{dialect: dialects[i%len(dialects)], unitAt: unitsAt[r.IntN(len(unitsAt))], side: sidesBy[r.IntN(len(sidesBy))],
			clock: clocksBy[r.IntN(len(clocksBy))], id: idsBy[r.IntN(len(idsBy))], words: r.IntN(len(vocabularies)), system: r.IntN(len(systems)),
			missing: []string{"", "--", "n/a", "-999", "0.0"}[r.IntN(5)], noise: r.IntN(4)}
		out = append(out, m.specimen(r, i))
	}
	return out
}

func quantityOf(field string) unit.Quantity {
	switch field {
	case "ball_speed", "clubhead_speed":
		return unit.Speed
	case "carry", "total", "offline", "apex":
		return unit.Length
	case "spin_rate", "back_spin", "side_spin":
		return unit.Rotation
	case "hang_time":
		return unit.Time
	case "smash_factor":
		return unit.Ratio
	}
	if info, ok := event.FieldNamed(field); ok {
		return info.Quantity
	}
	return unit.Angle
}

var fieldOrder = []string{"clubhead_speed", "ball_speed", "smash_factor", "attack_angle", "club_path", "face_angle", "face_to_path",
	"launch_angle", "launch_direction",
	"spin_rate", "spin_axis", "back_spin", "side_spin", "carry", "total", "offline", "apex", "landing_angle", "hang_time"}

func (m *manner) specimen(r *rand.Rand, i int) specimen {
	tabular := m.tabular()
	if !tabular {
		m.noise = 0
		if m.unitAt == "row" {
			m.unitAt = "none"
		}
	}
	if m.dialect == "blanks" { // no blanks in names or cells
		m.words, m.unitAt, m.side, m.clock = 3, "none", []string{"plus", "minus"}[r.IntN(2)], []string{"millis", "none"}[r.IntN(2)]
		if m.missing == "" || m.missing == "n/a" {
			m.missing = "--"
		}
	}
	if m.dialect == "pairs" && m.unitAt == "cell" {
		m.side = "plus" // 0.4degR is beyond reading
	}
	if m.missing == "0.0" && m.comma() {
		m.missing = "0,0"
	}
	if m.noise == 3 && m.dialect == "utf16" {
		m.noise = 1
	}
	truth := trueShots(r, 9+r.IntN(6))
	var cols []trueColumn
	for _, f := range fieldOrder {
		head, ok := vocabularies[m.words][f]
		if !ok {
			continue
		}
		u := systems[m.system][quantityOf(f)]
		if f == "apex" && systems[m.system][unit.Length] == "yd" {
			u = "ft"
		}
		digits := map[string]int{"rad": 4, "m/s": 2, "rpm": 0, "ms": 0, "rps": 2, "rad/s": 1, "": 2, "s": 2}[u]
		if digits == 0 && u != "rpm" && u != "ms" {
			digits = 1
		}
		cols = append(cols, trueColumn{f, head, u, digits})
	}
	s := specimen{name: fmt.Sprintf("%03d-%s-%s-%s-%s-%s", i, m.dialect, m.unitAt, m.side, strings.ReplaceAll(m.clock, " ", "-"), m.id)}
	// What is written is what counts: the truth is read off the rounded values.
	rows := make([][]string, len(truth))
	for k, shot := range truth {
		kept := map[string]float64{}
		for _, c := range cols {
			cell, v, ok := m.cell(r, c, shot[c.field], k)
			rows[k] = append(rows[k], cell)
			if ok {
				kept[c.field] = v
			}
		}
		if m.clock != "none" {
			kept["time"] = shot["time"]
		}
		s.truth = append(s.truth, kept)
		truth[k]["no"] = float64(k + 1)
	}
	s.files = m.render(r, cols, rows, truth, i)
	return s
}

func (m *manner) tabular() bool {
	switch m.dialect {
	case "comma", "semicolon", "tab", "pipe", "fixed", "utf16":
		return true
	}
	return false
}
