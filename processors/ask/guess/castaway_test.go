package guess

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
)

// castaways were written together with the wayfarers, before the guess was looked
// at, and are measured once those have been mended for.

// blocks writes the shots one after the other, each between two texts, its pairs
// in between.
func blocks(c []col, rows [][]string, head func(i int) string, pair func(c col, v string) string, foot string) string {
	b := ""
	for i, r := range rows {
		b += head(i)
		for k, v := range r {
			b += pair(c[k], v)
		}
		b += foot
	}
	return b
}

var castawayKinds = []outsider{
	{name: "units-once-then-a-list", time: true, cols: cols("ball_speed|ball|mph|1; clubhead_speed|club|mph|1; launch_angle|launch|deg|1; " +
		"launch_direction|direction|deg|1; spin_rate|spin|rpm|0; carry|carry|yd|1; offline|offline|yd|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			return one("session.yaml", "session: 9\nunits:\n  speed: mph\n  distance: yd\nshots:\n"+blocks(c, rows, func(i int) string {
				return fmt.Sprintf("- no: %d\n  time: %s\n", i+1, at[i].Format(usual))
			}, func(c col, v string) string { return "  " + c.name + ": " + v + "\n" }, ""))
		})},
	{name: "korean", time: true, cols: cols("clubhead_speed|클럽 스피드|m/s|1; ball_speed|볼 스피드|m/s|1; launch_angle|발사각|deg|1; " +
		"launch_direction|좌우 발사각|deg|1; spin_rate|백스핀|rpm|0; carry|캐리 거리|m|1; offline|좌우 편차|m|1"),
		alter: func(_ int, truth map[string]float64, _ []string) {
			truth["back_spin"] = truth["spin_rate"]
			delete(truth, "spin_rate")
		},
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			return one("연습.csv", lined(",", append([]string{"번호", "시간"}, names(c, "%s(%s)")...), rows, at, usual))
		})},
	{name: "a-unit-beside-each", time: true, cols: englishIn("mph", "yd"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "Shot,Time"
			for _, n := range names(c, "") {
				b += "," + n + "," + n + " Unit"
			}
			b += "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d,%s", i+1, at[i].Format(usual))
				for k, v := range r {
					b += "," + v + "," + c[k].unit
				}
				b += "\n"
			}
			return one("pairs.csv", b)
		})},
	{name: "keyed-by-their-times", time: true, cols: metric("speed", "vla", "hla", "spin", "axis", "carry", "side"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "{"
			for i, r := range rows {
				b += fmt.Sprintf("%q:{%s},\n", at[i].UTC().Format(time.RFC3339), jsonPairs(c, r))
			}
			return one("by-time.json", strings.TrimSuffix(b, ",\n")+"}\n")
		})},
	{name: "degrees-and-words", time: true, cols: englishIn("mph", "yd"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			how := map[string]func(string) string{}
			for _, f := range []string{"launch_direction", "spin_axis"} {
				how[f] = func(v string) string { return signed(v, "° left", "° right") }
			}
			how["offline"] = func(v string) string { return signed(v, " yds left", " yds right") }
			how["launch_angle"] = func(v string) string { return v + "° up" }
			how["carry"] = func(v string) string { return v + " yds" }
			how["ball_speed"] = func(v string) string { return v + " mph" }
			how["clubhead_speed"] = how["ball_speed"]
			how["spin_rate"] = func(v string) string { return v + " rpm" }
			return one("share.csv", lined(",", append([]string{"Shot", "Time"}, names(c, "")...), changed(c, rows, how), at, usual))
		})},
	{name: "plus-or-minus", time: true, cols: metric("Ball speed", "Launch angle", "Launch direction", "Spin rate", "Spin axis", "Carry",
		"Offline"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			rows = each(rows, func(v string) string { return v + " ± 0.4" })
			return one("lab.csv", lined(";", append([]string{"Shot", "Time"}, names(c, "%s / %s")...), rows, at, usual))
		})},
	{name: "how-sure-of-each", time: true, cols: metric("ball_speed", "launch_angle", "launch_dir", "spin", "spin_axis", "carry", "side"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := ""
			for i, r := range rows {
				b += fmt.Sprintf("{\"shot\":%d,\"utc\":%q", i+1, at[i].UTC().Format(time.RFC3339))
				for k, v := range r {
					b += fmt.Sprintf(",\"%s\":{\"v\":%s,\"sd\":%.2f,\"q\":%d,\"u\":%q}", c[k].name, v, .1+.01*float64(k), 90+k, c[k].unit)
				}
				b += "}\n"
			}
			return one("sure.ndjson", b)
		})},
	{name: "labels-and-blank-lines", time: true, gaps: "spin_axis", cols: englishIn("km/h", "m"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			return one("printer.txt", blocks(c, rows, func(i int) string {
				return fmt.Sprintf("Shot: %d\nDate: %s\nClub: 7 iron\n", i+1, at[i].Format("02 Jan 2006 15:04:05"))
			}, func(c col, v string) string {
				if v == "" {
					return ""
				}
				return c.name + ": " + v + " " + c.unit + "\n"
			}, "\n"))
		})},
	{name: "asked-of-a-server", time: true, cols: cols("ball_speed|ball|mph|1; launch_angle|launch|deg|1; launch_direction|dir|deg|1; " +
		"spin_rate|spin|rpm|0; carry|carry|yd|1; offline|off|yd|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			return one("access.log", blocks(c, rows, func(i int) string {
				return fmt.Sprintf("192.0.2.7 - - [%s] \"GET /shot?id=%d", at[i].Format("02/Jan/2006:15:04:05 -0700"), i+1)
			}, func(c col, v string) string { return "&" + c.name + "_" + c.unit + "=" + v }, " HTTP/1.1\" 204 0\n"))
		})},
	{name: "means-behind", time: true, cols: englishIn("mph", "yd"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := lined("\t", append([]string{"Shot", "Time"}, names(c, "%s (%s)")...), rows, at, usual)
			return one("day.tsv", b+"\nSummary by club\nClub\tShots\tBall Speed (mph)\tCarry (yd)\n7 Iron\t8\t118.2\t160.3\nAll\t8\t118.2\t160.3\n")
		})},
	{name: "a-side-beside-each", time: true, cols: englishIn("mph", "yd"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "Shot,Time"
			for _, c := range c {
				b += fmt.Sprintf(",%s (%s)", c.name, c.unit)
				if mirrors[c.field] {
					b += "," + c.name + " L/R"
				}
			}
			b += "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d,%s", i+1, at[i].Format(usual))
				for k, v := range r {
					if mirrors[c[k].field] {
						v = signed(v, ",L", ",R")
					}
					b += "," + v
				}
				b += "\n"
			}
			return one("lr.csv", b)
		})},
	{name: "objects-without-line-ends", time: true, cols: metric("ballSpeed", "launchAngle", "launchDirection", "spinRate", "spinAxis",
		"carry", "offline"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := ""
			for i, r := range rows {
				b += fmt.Sprintf("{\"id\":%d,\"time\":%q,%s}", i+1, at[i].UTC().Format(time.RFC3339), jsonPairs(c, r))
			}
			return one("socket.json", b)
		})},
	{name: "cells-as-formulas", time: true, cols: englishIn("mph", "yd"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			rows = each(rows, func(v string) string { return `="` + v + `"` })
			return one("guarded.csv", lined(",", append([]string{"Shot", "Time"}, names(c, "%s (%s)")...), rows, at, usual))
		})},
	{name: "plus-is-left-in-the-name", time: true, cols: englishIn("mph", "yd"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			head := []string{"Shot", "Time"}
			how := map[string]func(string) string{}
			for _, c := range c {
				n := c.name + " (" + c.unit + ")"
				if mirrors[c.field] {
					n, how[c.field] = c.name+" ("+c.unit+"; + left)", turned
				}
				head = append(head, n)
			}
			return one("signs.csv", lined(",", head, changed(c, rows, how), at, usual))
		})},
	{name: "factors-in-names", time: true, cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Direction|deg|1; spin_rate|Spin Rate|rpm|0; carry|Carry|yd|1"),
		write: written(func(_ []col, rows [][]string, at []time.Time) []specimenFile {
			for _, r := range rows {
				for k := range r {
					r[k] = map[bool]string{true: scaled(r[k], .01, 2), false: scaled(r[k], 10, 0)}[k == 3]
				}
			}
			return one("registers.csv", lined(",", []string{"Shot", "Time", "Ball Speed (0.1 mph)", "Launch Angle (0.1 deg)",
				"Launch Direction (0.1 deg)", "Spin Rate (100 rpm)", "Carry (0.1 yd)"}, rows, at, usual))
		})},
	{name: "toe-and-heel", time: true, cols: cols("clubhead_speed|Club Speed|mph|1; ball_speed|Ball Speed|mph|1; " +
		"launch_angle|Launch Angle|deg|1; launch_direction|Launch Direction|deg|1; spin_rate|Spin Rate|rpm|0; carry|Carry|yd|1; " +
		"strike_x|Impact Horizontal|mm|1; strike_y|Impact Vertical|mm|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			rows = changed(c, rows, map[string]func(string) string{
				"strike_x": func(v string) string { return signed(v, " heel", " toe") },
				"strike_y": func(v string) string { return signed(v, " low", " high") }})
			return one("face.csv", lined(",", append([]string{"Shot", "Time"}, names(c, "%s (%s)")...), rows, at, usual))
		})},
	{name: "short-rows", time: true, cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Direction|deg|1; spin_rate|Spin Rate|rpm|0; carry|Carry|yd|1; clubhead_speed|Club Speed|mph|1; " +
		"attack_angle|Attack Angle|deg|1; club_path|Club Path|deg|1"),
		alter: func(k int, truth map[string]float64, row []string) {
			if k%3 == 0 {
				for i, f := range []string{"clubhead_speed", "attack_angle", "club_path"} {
					delete(truth, f)
					row[5+i] = ""
				}
			}
		},
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := ""
			for _, l := range strings.Split(lined(",", append([]string{"Shot", "Time"}, names(c, "%s (%s)")...), rows, at, usual), "\n") {
				b += strings.TrimRight(l, ",") + "\n"
			}
			return one("ragged.csv", strings.TrimSuffix(b, "\n"))
		})},
	{name: "tables-in-turn", time: true, cols: metric("ball_speed", "launch_angle", "launch_direction", "spin_rate", "spin_axis", "carry",
		"offline"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			return one("log.toml", "[device]\nname = \"bay\"\nspeed_unit = \"m/s\"\n\n"+blocks(c, rows, func(i int) string {
				return fmt.Sprintf("[[shot]]\nid = %d\ntime = %s\n", i+1, at[i].UTC().Format(time.RFC3339))
			}, func(c col, v string) string { return c.name + " = " + v + "\n" }, "\n"))
		})},
	{name: "rolls-alone", time: true, cols: cols("ball_speed|Ball Speed|m/s|2; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Start Direction|deg|1; skid_distance|Skid|cm|0; putt_distance|Distance|m|2"),
		alter: func(k int, truth map[string]float64, row []string) {
			truth["role"] = float64(event.Role_ROLE_ROLL)
			v := 1.8 + .1*float64(k%5)
			truth["ball_speed"], row[0] = number(fmt.Sprintf("%.2f", v)), fmt.Sprintf("%.2f", v)
			truth["launch_angle"], row[1] = 2.1, "2.1"
			truth["launch_direction"], row[2] = []float64{-.4, .3, .8}[k%3], []string{"-0.4", "0.3", "0.8"}[k%3]
			truth["skid_distance"], row[3] = .32+.01*float64(k), fmt.Sprint(32+k)
			truth["putt_distance"], row[4] = number(fmt.Sprintf("%.2f", v*1.7)), fmt.Sprintf("%.2f", v*1.7)
		},
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			return one("putting.csv", lined(",", append([]string{"Putt", "Time"}, names(c, "%s (%s)")...), rows, at, usual))
		})},
	{name: "bars-and-colons", time: true, cols: cols("ball_speed|BS|mph|1; clubhead_speed|CS|mph|1; launch_angle|LA|deg|1; " +
		"launch_direction|LD|deg|1; spin_rate|SR|rpm|0; carry|CD|yd|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			return one("serial.txt", blocks(c, rows, func(i int) string {
				return fmt.Sprintf("SHOT:%d|TS:%d", i+1, at[i].Unix())
			}, func(c col, v string) string { return "|" + c.name + ":" + v }, "\n"))
		})},
}

// TestCastaways scores them.
func TestCastaways(t *testing.T) {
	t.Logf("%+v", score(t, outsiders(t, castawayKinds, len(castawayKinds), 13)))
}
