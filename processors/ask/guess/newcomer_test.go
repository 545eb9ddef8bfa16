package guess

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"
)

// newcomers are made for what is easily read wrong without a word: units that
// nobody says, sides that are turned for some columns only, a unit by row,
// differences and yesterday's values beside the true ones, signs in words. They
// were written, with the foundlings, before the guess was looked at again.

const (
	plainEnglish = "ball_speed|Ball Speed|%s|1; clubhead_speed|Club Speed|%s|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Direction|deg|1; spin_rate|Spin|rpm|0; spin_axis|Axis|deg|1; carry|Carry|%s|1; offline|Offline|%s|1"
	ballOnly = "ball_speed|ball_speed|m/s|2; launch_angle|launch_angle|deg|1; launch_direction|launch_direction|deg|1; " +
		"spin_rate|spin_rate|rpm|0; carry|carry|m|1"
)

func englishIn(speed, length string) []col {
	return cols(fmt.Sprintf(plainEnglish, speed, speed, length, length))
}

// turned writes a value with the other sign.
func turned(v string) string {
	if rest, minus := strings.CutPrefix(v, "-"); minus {
		return rest
	}
	return "-" + v
}

// signed writes a value's size and a word for its sign.
func signed(v, minus, plus string) string {
	if rest, neg := strings.CutPrefix(v, "-"); neg {
		return rest + minus
	}
	return v + plus
}

// changed writes some fields another way.
func changed(c []col, rows [][]string, how map[string]func(string) string) [][]string {
	for _, r := range rows {
		for k, x := range c {
			if change, ok := how[x.field]; ok && r[k] != "" {
				r[k] = change(r[k])
			}
		}
	}
	return rows
}

func number(v string) float64 {
	n, err := strconv.ParseFloat(v, 64)
	if err != nil {
		panic(err)
	}
	return n
}

const usual = "2006-01-02 15:04:05"

// turnedColumns writes a table in which the named fields have the other sign.
func turnedColumns(fields ...string) func(testing.TB, []col, [][]string, []time.Time, *rand.Rand) []specimenFile {
	return func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
		how := map[string]func(string) string{}
		for _, f := range fields {
			how[f] = turned
		}
		return one("shots.csv", lined(",", append([]string{"Shot", "Time"}, names(c, "")...), changed(c, rows, how), at, usual))
	}
}

func degreesMinutes(v string) string {
	rest, neg := strings.CutPrefix(v, "-")
	minutes := int(number(rest)*60 + .5)
	text := fmt.Sprintf("%d°%02d'", minutes/60, minutes%60)
	if neg {
		return "-" + text
	}
	return text
}

var newcomerKinds = []outsider{
	{name: "all-turned-unsaid", cols: englishIn("mph", "yd"), time: true,
		write: turnedColumns("launch_direction", "spin_axis", "offline")},
	{name: "offline-turned", cols: englishIn("mph", "yd"), time: true, write: turnedColumns("offline")},
	{name: "axis-turned", cols: englishIn("mph", "yd"), time: true, write: turnedColumns("spin_axis")},
	{name: "direction-turned-metres", cols: englishIn("km/h", "m"), time: true, write: turnedColumns("launch_direction")},
	{name: "knots-unsaid", cols: englishIn("kn", "m"), time: true, write: turnedColumns()},
	{name: "feet-unsaid", cols: englishIn("ft/s", "ft"), time: true, write: turnedColumns()},
	{name: "metres-and-miles-unsaid", cols: englishIn("mph", "m"), time: true, write: turnedColumns()},
	{name: "thousands-of-turns", cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch|deg|1; launch_direction|Direction|deg|1; " +
		"spin_rate|Spin|rpm|0; carry|Carry|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			rows = changed(c, rows, map[string]func(string) string{"spin_rate": func(v string) string {
				return fmt.Sprintf("%.3f", number(v)/1000)
			}})
			return one("k.csv", lined(",", []string{"Shot", "Time", "Ball Speed (mph)", "Launch (deg)", "Direction (deg)", "Spin (krpm)",
				"Carry (yd)"}, rows, at, usual))
		}},
	{name: "a-unit-by-row", cols: cols(ballOnly), time: true,
		write: func(_ testing.TB, _ []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "shot,time,ball_speed,ball_speed_unit,launch_angle,launch_direction,spin_rate,carry,carry_unit\n"
			for i, r := range rows {
				speed, u, carry, w := r[0], "m/s", r[4], "m"
				if i%3 == 1 { // exact: the truth is in metres
					speed, u = fmt.Sprintf("%.3f", number(r[0])*3.6), "km/h"
				}
				b += fmt.Sprintf("%d,%s,%s,%s,%s,%s,%s,%s,%s\n", i+1, at[i].Format(usual), speed, u, r[1], r[2], r[3], carry, w)
			}
			return one("mixed.csv", b)
		}},
	{name: "a-system-by-row", cols: cols(ballOnly), time: true,
		write: func(_ testing.TB, _ []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "shot,time,system,ball_speed,launch_angle,launch_direction,spin_rate,carry\n"
			for i, r := range rows {
				system, speed, carry := "M", r[0], r[4]
				if i%2 == 1 {
					system, speed = "I", fmt.Sprintf("%.8f", number(r[0])/.44704)
					carry = fmt.Sprintf("%.8f", number(r[4])/.9144)
				}
				b += fmt.Sprintf("%d,%s,%s,%s,%s,%s,%s,%s\n", i+1, at[i].Format(usual), system, speed, r[1], r[2], r[3], carry)
			}
			return one("systems.csv", b)
		}},
	{name: "differences-beside", cols: englishIn("mph", "yd"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			head := []string{"Prev Ball Speed (mph)", "Delta Ball Speed (mph)", "Best Carry (yd)", "Carry vs Avg (yd)", "Goal Launch Angle (deg)"}
			var body [][]string
			for i, r := range rows {
				p := rows[max(0, i-1)]
				body = append(body, append([]string{p[0], fmt.Sprintf("%.1f", number(r[0])-number(p[0])), rows[0][6],
					fmt.Sprintf("%.1f", number(r[6])-number(rows[0][6])), "13.5"}, r...))
			}
			return one("progress.csv", lined(",", append(append([]string{"Shot", "Time"}, head...), names(c, "%s (%s)")...), body, at, usual))
		}},
	{name: "pin-and-rings", cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Direction|deg|1; spin_rate|Spin Rate|rpm|0; carry|Carry Distance|yd|1; offline|Carry Side|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			var body [][]string
			for _, r := range rows {
				left := 160 - number(r[4])
				body = append(body, append([]string{"160", fmt.Sprintf("%.1f", left), fmt.Sprintf("%.1f", number(r[5])+2), "2"}, r...))
			}
			head := append([]string{"Shot", "Time", "Target Distance (yd)", "Distance To Pin (yd)", "Pin Side (yd)", "Wind Speed (mph)"},
				names(c, "%s (%s)")...)
			return one("targets.csv", lined(",", head, body, at, usual))
		}},
	{name: "up-and-down", cols: cols("attack_angle|Attack|deg|1; club_path|Path|deg|1; ball_speed|Ball|mph|1; launch_angle|Launch|deg|1; " +
		"launch_direction|Direction|deg|1; spin_rate|Spin|rpm|0; carry|Carry|yd|1"), time: true, handed: []string{"club_path"},
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			say := func(minus, plus string) func(string) string {
				return func(v string) string { return signed(v, " "+minus, " "+plus) }
			}
			rows = changed(c, rows, map[string]func(string) string{"attack_angle": say("down", "up"), "club_path": say("out-to-in", "in-to-out"),
				"launch_direction": say("left", "right")})
			return one("words.csv", lined(",", append([]string{"Shot", "Time"}, names(c, "%s (%s)")...), rows, at, usual))
		}},
	{name: "degrees-and-minutes", cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Direction|deg|1; spin_rate|Spin Rate|rpm|0; carry|Carry|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			rows = changed(c, rows, map[string]func(string) string{"launch_angle": degreesMinutes, "launch_direction": degreesMinutes})
			return one("survey.csv", lined(",", append([]string{"Shot", "Time"}, names(c, "")...), rows, at, usual))
		}},
	{name: "thousandths-of-radians", cols: cols("ball_speed|Ball Speed|m/s|2; launch_angle|Elevation|rad|4; launch_direction|Azimuth|rad|4; " +
		"spin_rate|Spin Rate|rpm|0; carry|Carry|m|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			milli := func(v string) string { return fmt.Sprintf("%.1f", number(v)*1000) }
			rows = changed(c, rows, map[string]func(string) string{"launch_angle": milli, "launch_direction": milli})
			return one("radar.csv", lined(",", []string{"Shot", "Time", "Ball Speed (m/s)", "Elevation (mrad)", "Azimuth (mrad)",
				"Spin Rate (rpm)", "Carry (m)"}, rows, at, usual))
		}},
	{name: "a-unit-in-each-value", cols: cols(ballOnly), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				b += fmt.Sprintf("{\"no\":%d,\"at\":%q,\"measures\":[", i+1, at[i].UTC().Format(time.RFC3339))
				for k, v := range r {
					if k > 0 {
						b += ","
					}
					b += fmt.Sprintf("{\"name\":%q,\"value\":%s,\"unit\":%q}", c[k].name, v, c[k].unit)
				}
				b += "]}\n"
			}
			return one("values.ndjson", b)
		}},
	{name: "units-at-the-head", cols: cols("ball_speed|ballSpeed|km/h|1; clubhead_speed|clubSpeed|km/h|1; launch_angle|launchAngle|deg|1; " +
		"launch_direction|launchDirection|deg|1; spin_rate|spin|rpm|0; carry|carry|yd|1; offline|side|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "{\"units\":{\"speed\":\"km/h\",\"distance\":\"yd\",\"angle\":\"deg\"},\"shots\":["
			for i, r := range rows {
				if i > 0 {
					b += ","
				}
				b += fmt.Sprintf("{\"id\":%d,\"time\":%q,%s}", i+1, at[i].UTC().Format(time.RFC3339), jsonPairs(c, r))
			}
			return one("export.json", b+"]}\n")
		}},
	{name: "sections-in-brackets", cols: cols("ball_speed|BallSpeed|mph|1; clubhead_speed|ClubSpeed|mph|1; launch_angle|LaunchAngle|deg|1; " +
		"launch_direction|LaunchDirection|deg|1; spin_rate|SpinRate|rpm|0; carry|Carry|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "[Device]\nModel=none\nUnits=mph,yd\n\n"
			for i, r := range rows {
				b += fmt.Sprintf("[Shot%d]\nTime=%s\n", i+1, at[i].Format(usual))
				for k, v := range r {
					b += c[k].name + "=" + v + "\n"
				}
				b += "\n"
			}
			return one("session.ini", b)
		}},
	{name: "dotted-leaders", cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Direction|deg|1; spin_rate|Spin Rate|rpm|0; carry|Carry|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				b += fmt.Sprintf("SHOT REPORT No. %d\nTaken ............ %s\n", i+1, at[i].Format(usual))
				for k, v := range r {
					b += c[k].name + " " + strings.Repeat(".", 17-len(c[k].name)) + " " + v + " " + c[k].unit + "\n"
				}
				b += "\n"
			}
			return one("reports.txt", b)
		}},
	{name: "two-lines-a-shot", cols: cols("clubhead_speed|club|mph|1; attack_angle|aoa|deg|1; ball_speed|ball|mph|1; " +
		"launch_angle|launch|deg|1; launch_direction|dir|deg|1; spin_rate|spin|rpm|0; carry|carry|yd|1"), time: true,
		write: func(_ testing.TB, _ []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				when := at[i].Format(usual)
				b += fmt.Sprintf("CLUB,%d,%s,club_mph=%s,aoa_deg=%s\n", i+1, when, r[0], r[1])
				b += fmt.Sprintf("BALL,%d,%s,ball_mph=%s,launch_deg=%s,dir_deg=%s,spin_rpm=%s,carry_yd=%s\n", i+1, when, r[2], r[3], r[4],
					r[5], r[6])
			}
			return one("halves.txt", b)
		}},
	{name: "flight-inside", cols: cols(ballOnly), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				carry := number(r[4])
				b += fmt.Sprintf("{\"id\":%d,\"time\":%q,%s,\"trajectory\":[[0,0,0],[%.1f,3.1,21.4],[%.1f,4.4,0]],\"samples\":3}\n", i+1,
					at[i].UTC().Format(time.RFC3339), jsonPairs(c, r), carry/2, carry)
			}
			return one("flights.ndjson", b)
		}},
	{name: "side-spin-turned", cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; launch_direction|Direction|deg|1; " +
		"back_spin|Back Spin|rpm|0; side_spin|Side Spin|rpm|0; carry|Carry|yd|1; offline|Offline|yd|1"), time: true,
		write: turnedColumns("side_spin")},
	{name: "lists-beside-and-a-count", cols: cols("ball_speed|v|m/s|2; launch_angle|elevation_deg|deg|1; " +
		"launch_direction|azimuth_deg|deg|1; spin_rate|rpm|rpm|0; carry|carry|m|1"), time: false,
		write: func(_ testing.TB, _ []col, rows [][]string, _ []time.Time, _ *rand.Rand) []specimenFile {
			lists := make([][]string, 5)
			for _, r := range rows {
				for k, v := range r {
					lists[k] = append(lists[k], v)
				}
			}
			b := "{\"n\":" + fmt.Sprint(len(rows))
			for k, name := range []string{"ball_speed_ms", "elevation_deg", "azimuth_deg", "spin_rpm", "carry_m"} {
				b += fmt.Sprintf(",%q:[%s]", name, strings.Join(lists[k], ","))
			}
			return one("columns.json", b+"}\n")
		}},
	{name: "averages-first", cols: englishIn("mph", "yd"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "Summary\nClub,Shots,Ball Speed (mph),Carry (yd)\nSeven,12,118.2,161.0\nAll,12,118.2,161.0\n\nShots\n"
			return one("review.csv", b+lined(",", append([]string{"Shot", "Time"}, names(c, "%s (%s)")...), rows, at, usual))
		}},
}

// TestNewcomers scores them.
func TestNewcomers(t *testing.T) {
	t.Logf("%+v", score(t, outsiders(t, newcomerKinds, len(newcomerKinds), 7)))
}
