package guess

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"
)

// foundlings were written together with the newcomers and looked at only once
// those had been mended for.
var foundlingKinds = []outsider{
	{name: "record-lists", cols: cols(ballOnly), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "shots:\n"
			for i, r := range rows {
				b += fmt.Sprintf("  - shot: %d\n    time: %s\n", i+1, at[i].Format(usual))
				for k, v := range r {
					b += fmt.Sprintf("    %s: %s %s\n", c[k].name, v, c[k].unit)
				}
			}
			return one("shots.yml", b)
		}},
	{name: "marked-down-table", cols: cols(fullEnglish), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "# Practice\n\n| Shot | Time |"
			rule := "| ---: | --- |"
			for _, n := range names(c, "%s (%s)") {
				b, rule = b+" "+n+" |", rule+" ---: |"
			}
			b += "\n" + rule + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("| %d | %s | %s |\n", i+1, at[i].Format(usual), strings.Join(r, " | "))
			}
			return one("notes.md", b)
		}},
	{name: "hundreds-of-nanoseconds", cols: cols(ballOnly), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "id,ticks," + strings.Join(names(c, ""), ",") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d,%d,%s\n", i+1, (at[i].Unix()+11644473600)*10000000, strings.Join(r, ","))
			}
			return one("ticks.csv", b)
		}},
	{name: "seconds-since-a-start-above", cols: cols(ballOnly), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "# Session start: " + at[0].Format(usual) + "\n# Speeds in m/s, distances in m, angles in degrees\nshot,elapsed_s," +
				strings.Join(names(c, ""), ",") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d,%d,%s\n", i+1, at[i].Unix()-at[0].Unix(), strings.Join(r, ","))
			}
			return one("start.csv", b)
		}},
	{name: "pull-and-push", cols: englishIn("mph", "yd"), time: true, handed: []string{"launch_direction"},
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			rows = changed(c, rows, map[string]func(string) string{
				"launch_direction": func(v string) string { return signed(v, " pull", " push") },
				"offline":          func(v string) string { return signed(v, " L", " R") },
			})
			return one("coach.csv", lined(",", append([]string{"Shot", "Time"}, names(c, "%s (%s)")...), rows, at, usual))
		}},
	{name: "zero-for-not-seen", cols: englishIn("mph", "yd"), time: true, gaps: "clubhead_speed",
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			for _, r := range rows {
				if r[1] == "" {
					r[1] = "0.0"
				}
			}
			return one("zero.csv", lined(",", append([]string{"Shot", "Time"}, names(c, "%s (%s)")...), rows, at, usual))
		}},
	{name: "swedish", comma: true, cols: cols("clubhead_speed|Klubbhastighet|km/h|1; ball_speed|Bollhastighet|km/h|1; " +
		"launch_angle|Utgångsvinkel|deg|1; launch_direction|Startriktning|deg|1; spin_rate|Spinn|rpm|0; carry|Carry|m|1; " +
		"total|Totallängd|m|1; offline|Sidavvikelse|m|1; apex|Topphöjd|m|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("pass.csv", lined(";", append([]string{"Slag", "Tid"}, names(c, "%s (%s)")...), rows, at, usual))
		}},
	{name: "finnish", comma: true, cols: cols("clubhead_speed|Mailan nopeus|m/s|1; ball_speed|Pallon nopeus|m/s|1; " +
		"launch_angle|Lähtökulma|deg|1; launch_direction|Lähtösuunta|deg|1; spin_rate|Kierrokset|rpm|0; carry|Kantama|m|1; " +
		"total|Kokonaismatka|m|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("kierros.csv", lined(";", append([]string{"Lyönti", "Aika"}, names(c, "%s [%s]")...), rows, at, "2.1.2006 15.04.05"))
		}},
	{name: "pairs-of-name-and-value", cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Direction|deg|1; spin_rate|Spin Rate|rpm|0; carry|Carry|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				b += fmt.Sprintf("[[\"id\",%d],[\"time\",%q]", i+1, at[i].UTC().Format(time.RFC3339))
				for k, v := range r {
					b += fmt.Sprintf(",[\"%s (%s)\",%s]", c[k].name, c[k].unit, v)
				}
				b += "]\n"
			}
			return one("pairs.ndjson", b)
		}},
	{name: "parameters-by-name", cols: cols("ball_speed|BallSpeed|mph|1; launch_angle|LaunchAngle|deg|1; " +
		"launch_direction|LaunchDirection|deg|1; spin_rate|SpinRate|rpm|0; carry|Carry|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "<session>\n"
			for i, r := range rows {
				b += fmt.Sprintf("<shot no=\"%d\" time=\"%s\">", i+1, at[i].Format(usual))
				for k, v := range r {
					b += fmt.Sprintf("<param name=\"%s\" unit=\"%s\" value=\"%s\"/>", c[k].name, c[k].unit, v)
				}
				b += "</shot>\n"
			}
			return one("params.xml", b+"</session>\n")
		}},
	{name: "feet-of-carry-metres-of-apex", cols: cols("ball_speed|Ball|mph|1; launch_angle|Launch|deg|1; launch_direction|Direction|deg|1; " +
		"spin_rate|Spin|rpm|0; carry|Carry|ft|0; apex|Apex|m|1; landing_angle|Descent|deg|1; hang_time|Hang|s|2"), time: true,
		write: turnedColumns()},
	{name: "smash-in-hundreds", cols: cols("ball_speed|Ball Speed|mph|1; clubhead_speed|Club Speed|mph|1; smash_factor|Efficiency|%|0; " +
		"launch_angle|Launch|deg|1; launch_direction|Direction|deg|1; spin_rate|Spin|rpm|0; carry|Carry|yd|1"), time: true,
		write: turnedColumns()},
	{name: "two-players-in-turn", cols: englishIn("mph", "yd"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				if i == 0 || i == len(rows)/2 {
					b += fmt.Sprintf("Player:,Player %d\nClub:,Seven\n\nShot,Time,%s\n", i+1, strings.Join(names(c, "%s (%s)"), ","))
				}
				b += fmt.Sprintf("%d,%s,%s\n", i%(len(rows)/2)+1, at[i].Format(usual), strings.Join(r, ","))
			}
			return one("lesson.csv", b)
		}},
	{name: "hook-and-slice", cols: englishIn("mph", "yd"), time: true, handed: []string{"spin_axis"},
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			rows = changed(c, rows, map[string]func(string) string{
				"spin_axis":        func(v string) string { return signed(v, " draw", " fade") },
				"launch_direction": func(v string) string { return signed(v, "L", "R") },
				"offline":          func(v string) string { return signed(v, "L", "R") },
			})
			return one("shape.csv", lined(",", append([]string{"Shot", "Time"}, names(c, "%s (%s)")...), rows, at, usual))
		}},
	{name: "bearing-of-a-compass", cols: cols(ballOnly), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			rows = changed(c, rows, map[string]func(string) string{"launch_direction": func(v string) string {
				if n := number(v); n < 0 {
					return fmt.Sprintf("%.1f", n+360)
				}
				return v
			}})
			return one("bearing.csv", lined(",", append([]string{"shot", "time"}, names(c, "%s (%s)")...), rows, at, usual))
		}},
	{name: "newest-first-by-day", cols: englishIn("km/h", "m"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			// Listed from the last; the truth goes by the order of the file.
			b := "Time\tNo\t" + strings.Join(names(c, "%s [%s]"), "\t") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%s\t%d\t%s\n", at[i].Format("02-Jan-2006 15:04:05"), len(rows)-i, strings.Join(r, "\t"))
			}
			return one("latest.tsv", b)
		}},
	{name: "minutes-and-seconds-only", cols: cols(ballOnly),
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "clock," + strings.Join(names(c, "%s_%s"), ",") + "\n"
			for i, r := range rows {
				s := at[i].Unix() - at[0].Unix()
				b += fmt.Sprintf("%02d:%02d,%s\n", s/60, s%60, strings.Join(r, ","))
			}
			return one("clock.csv", b)
		}},
	{name: "a-log-of-sentences", cols: cols("ball_speed|ball speed|mph|1; launch_angle|launch|deg|1; spin_rate|spin|rpm|0; carry|carry|yd|1"),
		time: true,
		write: func(_ testing.TB, _ []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "service started\n"
			for i, r := range rows {
				b += fmt.Sprintf("%s Shot %d: ball speed %s mph, launch %s deg, spin %s rpm, carry %s yd.\n", at[i].Format(usual), i+1, r[0],
					r[1], r[2], r[3])
				if i%4 == 2 {
					b += at[i].Format(usual) + " camera recalibrated\n"
				}
			}
			return one("bay.log", b)
		}},
	{name: "millivolts-beside", cols: cols(ballOnly), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, r *rand.Rand) []specimenFile {
			var body [][]string
			for _, row := range rows {
				body = append(body, slices.Concat([]string{fmt.Sprint(3700 + r.IntN(200)), fmt.Sprintf("%.2f", r.Float64()),
					fmt.Sprint(r.IntN(100)), fmt.Sprintf("%.1f", 20+r.Float64())}, row))
			}
			head := append([]string{"n", "t", "battery_mv", "confidence", "spin_quality_pct", "cpu_temp_c"}, names(c, "%s (%s)")...)
			return one("diag.csv", lined(",", head, body, at, usual))
		}},
	{name: "inches-of-nothing", cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Direction|deg|1; spin_rate|Spin Rate|rpm|0; carry|Carry|yd|1; offline|Offline|ft|1"), time: true,
		write: turnedColumns()},
	{name: "start-and-curve", cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Start Direction|deg|1; spin_rate|Spin Rate|rpm|0; spin_axis|Spin Axis|deg|1; carry|Carry|yd|1; " +
		"offline|Side|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			var body [][]string
			for _, r := range rows {
				body = append(body, append([]string{fmt.Sprintf("%.1f", number(r[6])*.6), fmt.Sprintf("%.1f", number(r[4])*.01)}, r...))
			}
			head := append([]string{"Shot", "Time", "Curve (yd)", "Spin Loft Diff (deg)"}, names(c, "%s (%s)")...)
			return one("curve.csv", lined(",", head, body, at, usual))
		}},
	{name: "envelope-in-text", cols: cols(ballOnly), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				inner := fmt.Sprintf("{\"id\":%d,\"time\":%q,%s}", i+1, at[i].UTC().Format(time.RFC3339), jsonPairs(c, r))
				b += fmt.Sprintf("{\"topic\":\"bay/shot\",\"payload\":%q}\n", inner)
			}
			return one("bus.ndjson", b)
		}},
}

// TestFoundlings scores those that were kept back.
func TestFoundlings(t *testing.T) {
	t.Logf("%+v", score(t, outsiders(t, foundlingKinds, len(foundlingKinds), 9)))
}
