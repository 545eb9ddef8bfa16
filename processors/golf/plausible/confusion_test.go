package plausible

import (
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
)

// swings are runs of true shots of a club: ball speed in m/s, launch, spin, smash.
var swings = map[string][4]float64{
	"driver": {68, 13, 2600, 1.47}, "iron": {52, 17.5, 6600, 1.36}, "wedge": {36, 29, 9200, 1.19},
}

// played makes n true shots of a club in standard air, with what a device errs.
func played(r *rand.Rand, club string, n int) Shots {
	k := swings[club]
	out := make(Shots, n)
	for i := range out {
		ball := k[0] * (1 + .025*r.NormFloat64())
		face, path := 2*r.NormFloat64(), 2*r.NormFloat64()
		l := flight.Launch{BallSpeed: ball, Angle: k[1] + 1.2*r.NormFloat64(), Direction: .78*face + .22*path + .3*r.NormFloat64(),
			SpinRate: k[2] * (1 + .07*r.NormFloat64()), SpinAxis: 2.5*(face-path) + r.NormFloat64()}
		f, err := flight.Simulate(l, flight.Standard())
		if err != nil {
			panic(err)
		}
		rad := l.SpinAxis * math.Pi / 180
		attack := -3 + r.NormFloat64()
		dynamic := l.Angle/.84 + .4*r.NormFloat64()
		out[i] = Shot{
			"ball_speed": ball, "clubhead_speed": ball / k[3] * (1 + .008*r.NormFloat64()), "launch_angle": l.Angle, "launch_direction": l.Direction,
			"spin_rate": l.SpinRate, "spin_axis": l.SpinAxis, "back_spin": l.SpinRate * math.Cos(rad), "side_spin": l.SpinRate * math.Sin(rad),
			"carry": f.Carry * (1 + .015*r.NormFloat64()), "total": f.Total, "offline": f.Offline + r.NormFloat64(),
			"apex":          f.Apex * (1 + .03*r.NormFloat64()),
			"landing_angle": f.LandingAngle + .8*r.NormFloat64(), "hang_time": f.HangTime * (1 + .02*r.NormFloat64()),
			"face_angle": face, "club_path": path, "face_to_path": face - path, "attack_angle": attack, "dynamic_loft": dynamic,
			"spin_loft": dynamic - attack,
		}
		out[i]["smash_factor"] = out[i]["ball_speed"] / out[i]["clubhead_speed"]
	}
	return out
}

func only(s Shots, fields ...string) Shots {
	out := make(Shots, len(s))
	for i := range s {
		out[i] = Shot{}
		for _, f := range fields {
			out[i][f] = s[i][f]
		}
	}
	return out
}

var quantities = map[string]Declared{
	"ball_speed": {unit.Speed, "mph", false}, "clubhead_speed": {unit.Speed, "mph", false}, "smash_factor": {unit.Ratio, "", false},
	"launch_angle": {unit.Angle, "deg", false}, "launch_direction": {unit.Angle, "deg", true}, "spin_rate": {unit.Rotation, "rpm", false},
	"spin_axis": {unit.Angle, "deg", true}, "back_spin": {unit.Rotation, "rpm", false}, "side_spin": {unit.Rotation, "rpm", true},
	"carry": {unit.Length, "yd", false}, "total": {unit.Length, "yd", false}, "offline": {unit.Length, "yd", true},
	"apex":          {unit.Length, "ft", false},
	"landing_angle": {unit.Angle, "deg", false}, "hang_time": {unit.Time, "s", false}, "face_angle": {unit.Angle, "deg", true},
	"club_path": {unit.Angle, "deg", true}, "face_to_path": {unit.Angle, "deg", true}, "attack_angle": {unit.Angle, "deg", false},
	"dynamic_loft": {unit.Angle, "deg", false}, "spin_loft": {unit.Angle, "deg", false},
}

var launchSet = []string{"ball_speed", "clubhead_speed", "launch_angle", "launch_direction", "spin_rate", "spin_axis", "carry", "offline",
	"apex"}

// TestTrueShotsAreNotSuspected holds the guard quiet on what is right.
func TestTrueShotsAreNotSuspected(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for i := range 24 {
		for club := range swings {
			s := played(r, club, 4+i%12)
			for _, set := range [][]string{s.fields(), launchSet, {"ball_speed", "carry"}, {"clubhead_speed", "club_path", "face_angle"}} {
				if got := Suspect(only(s, set...), quantities, false); len(got) > 0 {
					t.Fatalf("%s, %d shots of %v: %+v", club, len(s), set, got[0])
				}
			}
		}
	}
}

// Pitches run out by half their carry and more: nothing is wrong with their map.
func TestPitchesMayRun(t *testing.T) {
	var s Shots
	for i := range 8 {
		carry := 30 + 4*float64(i)
		s = append(s, Shot{"carry": carry, "total": carry + 24})
	}
	if got := Suspect(s, quantities, false); len(got) > 0 {
		t.Errorf("pitches that run 24 m: %+v", got[0])
	}
}

// TestEachMistakeIsNamed makes one mistake in a right map at a time.
func TestEachMistakeIsNamed(t *testing.T) {
	type mistake struct {
		name string
		set  []string
		do   func(Shots) Shots
		want []string // fields of the suspicion
		kind string
		says string // unit of the map, where not as ever
	}
	// misread: the values are in unit is, and the map says unit says.
	misread := func(field, is, says string) func(Shots) Shots {
		return func(s Shots) Shots {
			q := quantities[field].Quantity
			a, _ := unit.Lookup(q, is)
			b, _ := unit.Lookup(q, says)
			return s.with(field, func(v float64) float64 { return b.To(a.From(v)) })
		}
	}
	negate := func(field string) func(Shots) Shots {
		return func(s Shots) Shots { return s.with(field, func(v float64) float64 { return -v }) }
	}
	swap := func(f, g string) func(Shots) Shots { return func(s Shots) Shots { return s.swapped(f, g) } }
	times := func(field string, by float64) func(Shots) Shots {
		return func(s Shots) Shots { return s.with(field, func(v float64) float64 { return v * by }) }
	}
	all := played(rand.New(rand.NewPCG(1, 1)), "iron", 1).fields()
	for _, m := range []mistake{
		{"knots for mph", launchSet, misread("ball_speed", "mph", "kn"), []string{"ball_speed"}, "unit", "kn"},
		{"km/h for mph", launchSet, misread("ball_speed", "mph", "km/h"), []string{"ball_speed"}, "unit", "km/h"},
		{"m/s for mph, club", launchSet, misread("clubhead_speed", "mph", "m/s"), []string{"clubhead_speed"}, "unit", "m/s"},
		{"metres for yards", launchSet, misread("carry", "yd", "m"), []string{"carry"}, "unit", "m"},
		{"yards for metres", launchSet, misread("carry", "m", "yd"), []string{"carry"}, "unit", "yd"},
		{"feet for metres of height", launchSet, misread("apex", "m", "ft"), []string{"apex"}, "unit", "ft"},
		{"radians for degrees", launchSet, misread("launch_angle", "deg", "rad"), []string{"launch_angle"}, "unit", "rad"},
		{"rps for rpm", launchSet, misread("spin_rate", "rpm", "rps"), []string{"spin_rate"}, "unit", "rps"},
		{"launch and direction", launchSet, swap("launch_angle", "launch_direction"), []string{"launch_angle", "launch_direction"}, "swap", ""},
		{"ball and club", launchSet, swap("ball_speed", "clubhead_speed"), []string{"ball_speed", "clubhead_speed"}, "swap", ""},
		{"carry and total", all, swap("carry", "total"), []string{"carry", "total"}, "swap", ""},
		{"back and side spin", all, swap("back_spin", "side_spin"), []string{"back_spin", "side_spin"}, "swap", ""},
		{"face and path", all, swap("face_angle", "club_path"), []string{"club_path", "face_angle"}, "swap", ""},
		{"direction turned", launchSet, negate("launch_direction"), []string{"launch_direction"}, "sign", ""},
		{"offline turned", launchSet, negate("offline"), []string{"offline"}, "sign", ""},
		{"axis turned", all, negate("spin_axis"), []string{"spin_axis"}, "sign", ""},
		{"side spin turned", all, negate("side_spin"), []string{"side_spin"}, "sign", ""},
		{"face turned", all, negate("face_angle"), []string{"face_angle"}, "sign", ""},
		{"path turned", all, negate("club_path"), []string{"club_path"}, "sign", ""},
		{"launch turned", launchSet, negate("launch_angle"), []string{"launch_angle"}, "sign", ""},
		{"a thousands point", launchSet, times("spin_rate", .001), []string{"spin_rate"}, "", ""},
		{"a thousands point in carry", launchSet, times("carry", .001), []string{"carry"}, "", ""},
		{"a lost decimal comma", launchSet, times("ball_speed", 10), []string{"ball_speed"}, "", ""},
		{"milliseconds", all, times("hang_time", .001), []string{"hang_time"}, "", ""},
		{"smash in percent", all, times("smash_factor", 100), []string{"smash_factor"}, "", ""},
	} {
		named, tries := 0, 0
		declared := maps.Clone(quantities)
		if m.says != "" {
			declared[m.want[0]] = Declared{quantities[m.want[0]].Quantity, m.says, quantities[m.want[0]].Mirrors}
		}
		r := rand.New(rand.NewPCG(7, 7))
		for club := range swings {
			if club == "wedge" && m.name == "carry and total" {
				continue // it hardly runs
			}
			for range 2 {
				tries++
				got := Suspect(m.do(only(played(r, club, 12), m.set...)), declared, false)
				if len(got) == 0 {
					continue
				}
				if slices.ContainsFunc(got, func(s Suspicion) bool {
					return slices.Equal(s.Fields, m.want) && (m.kind == "" || s.Kind == m.kind)
				}) {
					named++
				} else if tries == 1 {
					t.Logf("%s: %+v", m.name, got)
				}
			}
		}
		if named < tries {
			t.Errorf("%s: named in %d of %d runs of 12 shots", m.name, named, tries)
		}
	}
}

// What is a ratio is told as one: nothing is missed downwards by more than all of it.
func TestRatiosAreTold(t *testing.T) {
	told := map[string]string{}
	for _, l := range laws {
		told[l.name] = l.says(-8)
	}
	for name, want := range map[string]string{
		"carry by ball speed": "-94 % against what such a ball speed carries", "carry": "-41 % against the flight of the launch",
		"spin parts": "-38 % between the spin rate and its parts", "back spin": "-33 % between back spin and spin rate by the axis",
		"landing angle": "-64.0 against the flight of the launch", "smash": "the smash factor is -0.24 off ball speed by club speed",
	} {
		if told[name] != want {
			t.Errorf("%s: %q, not %q", name, told[name], want)
		}
	}
}
