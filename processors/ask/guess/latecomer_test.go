package guess

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"
)

// latecomers write as banks, weather stations, laboratories, loggers and web
// services do. They were made before the guess was looked at again.
var latecomerKinds = []outsider{
	{name: "bank-statement", cols: cols("ball_speed|Ballgeschwindigkeit|km/h|1; clubhead_speed|Schlägerkopfgeschwindigkeit|km/h|1; " +
		"launch_angle|Abflugwinkel|deg|1; launch_direction|Startrichtung|deg|1; spin_rate|Spinrate|rpm|0; carry|Carry|m|1"),
		comma: true, time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "\"Auszug\";\"Platz 2\";\n\"Zeitraum\";\"laufend\";\n\n\"Datum\";\"Uhrzeit\";\"Nr.\";"
			for _, n := range names(c, "%s in %s") {
				b += `"` + n + `";`
			}
			b += "\n"
			for i, r := range rows {
				b += fmt.Sprintf("\"%s\";\"%s\";\"%d\";", at[i].Format("02.01.2006"), at[i].Format("15:04:05"), i+1)
				for k, v := range r {
					if c[k].field == "spin_rate" {
						v = grouped(v, ".")
					}
					b += `"` + v + `";`
				}
				b += "\n"
			}
			return one("auszug.csv", b+"\"Mittelwert\";\"\";\"\";\"201,2\";\"\";\"\";\"\";\"\";\"\";\n")
		}},
	{name: "logger-four-rows", cols: cols("ball_speed|BallSpd|mph|2; clubhead_speed|HeadSpd|mph|2; launch_angle|LaunchV|deg|2; " +
		"launch_direction|LaunchH|deg|2; spin_rate|Spin_Tot|rpm|0; carry|CarryDist|yd|2"), time: true, gaps: "spin_rate",
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "\"LOG1\",\"bay2\",\"unit 4\",\"prog v3\",\"shots\"\n\"TIMESTAMP\",\"RECORD\""
			second, third := "\"TS\",\"RN\"", "\"\",\"\""
			for _, k := range c {
				b += fmt.Sprintf(",%q", k.name)
				second += fmt.Sprintf(",%q", k.unit)
				third += ",\"Smp\""
			}
			b += "\n" + second + "\n" + third + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%q,%d", at[i].Format("2006-01-02 15:04:05"), i)
				for _, v := range r {
					if v == "" {
						v = `"NAN"`
					}
					b += "," + v
				}
				b += "\n"
			}
			return one("bay2_shots.dat", b)
		}},
	{name: "sentences", cols: cols("ball_speed||m/s|2; launch_angle||deg|1; launch_direction||deg|1; spin_rate||rpm|0; " +
		"carry||m|1"), time: true,
		write: func(_ testing.TB, _ []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				body := fmt.Sprintf("SHT,%d,%s,%s,%s", i+1, at[i].UTC().Format("150405.00"), at[i].UTC().Format("020106"), strings.Join(r, ","))
				sum := byte(0)
				for k := range len(body) {
					sum ^= body[k]
				}
				b += fmt.Sprintf("$%s*%02X\r\n", body, sum)
			}
			return one("stream.txt", b)
		}},
	{name: "parentheses", cols: cols(fullEnglish), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("ledger.csv", lined(",", append([]string{"No", "Date"}, names(c, "%s (%s)")...),
				each(rows, func(v string) string {
					if strings.HasPrefix(v, "-") {
						return "(" + v[1:] + ")"
					}
					return v
				}), at, "2006-01-02 15:04:05"))
		}},
	{name: "minus-behind", cols: cols("ball_speed|Ball Velocity|m/s|2; launch_angle|Launch|deg|1; launch_direction|Direction|deg|1; " +
		"spin_rate|Spin|rpm|0; spin_axis|Spin Axis|deg|1; carry|Carry|m|1; offline|Deviation|m|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("list.txt", lined("\t", append([]string{"Pos", "Posted"}, names(c, "%s %s")...),
				each(rows, func(v string) string {
					if strings.HasPrefix(v, "-") {
						return v[1:] + "-"
					}
					return v
				}), at, "20060102 150405"))
		}},
	{name: "page-table", cols: cols(fullEnglish), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "<!DOCTYPE html>\n<html><head><meta charset=\"utf-8\"><title>Session</title></head><body>\n<h1>Session</h1>\n<table border=1>\n" +
				"<thead><tr><th>No</th><th>Time</th>"
			for _, n := range names(c, "%s (%s)") {
				b += "<th>" + n + "</th>"
			}
			b += "</tr></thead>\n<tbody>\n"
			for i, r := range rows {
				b += fmt.Sprintf("<tr><td>%d</td><td>%s</td><td>%s</td></tr>\n", i+1, at[i].Format("2006-01-02 15:04:05"), strings.Join(r,
					"</td><td>"))
			}
			return one("session.html", b+"</tbody></table>\n</body></html>\n")
		}},
	{name: "columns-and-data", cols: cols("ball_speed|ball_speed_ms|m/s|3; launch_angle|launch_angle_deg|deg|2; " +
		"launch_direction|launch_dir_deg|deg|2; spin_rate|spin_rpm|rpm|0; carry|carry_m|m|2"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			var data []string
			for i, r := range rows {
				data = append(data, fmt.Sprintf("[%d,%d,%s]", i+1, at[i].UnixMilli(), strings.Join(r, ",")))
			}
			head, err := json.Marshal(append([]string{"id", "t_ms"}, names(c, "")...))
			if err != nil {
				panic(err)
			}
			return one("frame.json", `{"columns":`+string(head)+`,"data":[`+strings.Join(data, ",")+"]}\n")
		}},
	{name: "lists-in-lines", cols: cols("ball_speed|ballSpeedMph|mph|1; launch_angle|launchAngle|deg|1; " +
		"launch_direction|launchDirection|deg|1; " +
		"spin_rate|spinRate|rpm|0; carry|carryYards|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			head, err := json.Marshal(append([]string{"seq", "time"}, names(c, "")...))
			if err != nil {
				panic(err)
			}
			b := string(head) + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("[%d,%q,%s]\n", i+1, at[i].UTC().Format(time.RFC3339), strings.Join(r, ","))
			}
			return one("rows.jsonl", b)
		}},
	{name: "keyed-by-id", cols: cols("ball_speed|ballSpeed|m/s|3; launch_angle|launchAngle|deg|2; launch_direction|launchDirection|deg|2; " +
		"spin_rate|spin|rpm|0; carry|carry|m|2"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			var list []string
			for i, r := range rows {
				list = append(list, fmt.Sprintf("%q:{\"at\":%q,%s}", fmt.Sprintf("s%04d", 1700+i), at[i].UTC().Format(time.RFC3339), jsonPairs(c, r)))
			}
			return one("dump.json", `{"version":2,"shots":{`+strings.Join(list, ",")+"}}\n")
		}},
	{name: "features", cols: cols("ball_speed|ball_speed|m/s|3; launch_angle|launch_angle|deg|2; launch_direction|launch_direction|deg|2; " +
		"spin_rate|spin_rate|rpm|0; carry|carry|m|2"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			var list []string
			for i, r := range rows {
				list = append(list, fmt.Sprintf("{\"type\":\"Feature\",\"id\":%d,\"geometry\":{\"type\":\"Point\",\"coordinates\":[%.5f,%.5f]},"+
					"\"properties\":{\"time\":%q,%s}}", i+1, 7.12345+.0001*float64(i), 51.4+.0001*float64(i), at[i].UTC().Format(time.RFC3339),
					jsonPairs(c, r)))
			}
			return one("track.geojson", `{"type":"FeatureCollection","features":[`+strings.Join(list, ",\n")+"]}\n")
		}},
	{name: "paged-report", cols: cols("ball_speed|Ball|mph|1; clubhead_speed|Club|mph|1; launch_angle|Launch|deg|1; " +
		"launch_direction|Azimuth|deg|1; spin_rate|Spin|rpm|0; carry|Carry|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				if i%5 == 0 {
					b += fmt.Sprintf("\n  SESSION LISTING                                   Page %d\n\n%4s  %-19s", i/5+1, "No.", "Date")
					rule := "----  -------------------"
					for _, k := range c {
						b += fmt.Sprintf("%14s", k.name+"("+k.unit+")")
						rule += "  ------------"
					}
					b += "\n" + rule + "\n"
				}
				b += fmt.Sprintf("%4d  %-19s", i+1, at[i].Format("2006-01-02 15:04:05"))
				for _, v := range r {
					b += fmt.Sprintf("%14s", v)
				}
				b += "\n"
			}
			return one("listing.lst", b+"\n  END OF LISTING\n")
		}},
	{name: "system-log", cols: cols("ball_speed|ball|mph|1; launch_angle|launch|deg|1; launch_direction|direction|deg|1; " +
		"spin_rate|spin|rpm|0; " +
		"carry|carry|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				b += fmt.Sprintf("%s bay3 shotd[812]: shot=%d", at[i].Format("2006-01-02T15:04:05-07:00"), i+1)
				for k, v := range r {
					b += fmt.Sprintf(" %s=%s %s", c[k].name, v, c[k].unit)
				}
				b += "\n"
			}
			return one("shotd.log", b)
		}},
	{name: "objects-in-a-log", cols: cols("ball_speed|ball_speed_mph|mph|1; launch_angle|launch_deg|deg|1; " +
		"launch_direction|direction_deg|deg|1; spin_rate|spin_rpm|rpm|0; carry|carry_yd|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				b += fmt.Sprintf("%s INFO shot {\"n\":%d,%s}\n", at[i].UTC().Format("2006-01-02T15:04:05.000Z"), i+1, jsonPairs(c, r))
			}
			return one("service.log", b)
		}},
	{name: "documents", cols: cols("ball_speed|ball_speed|m/s|2; launch_angle|launch_angle|deg|1; launch_direction|launch_direction|deg|1; " +
		"spin_rate|spin_rate|rpm|0; carry|carry_distance|m|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				b += fmt.Sprintf("---\nshot: %d\ntaken: %s\n", i+1, at[i].UTC().Format(time.RFC3339))
				for k, v := range r {
					b += fmt.Sprintf("%s: %s %s\n", c[k].name, v, c[k].unit)
				}
			}
			return one("shots.yml", b)
		}},
	{name: "commas-in-quotes", cols: cols("clubhead_speed|Vitesse de tête|km/h|1; ball_speed|Vitesse de balle|km/h|1; " +
		"launch_angle|Angle de décollage|deg|1; launch_direction|Direction|deg|1; spin_rate|Rotation|rpm|0; carry|Portée|m|1; offline|Écart|m|1"),
		comma: true, time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("export.csv", lined(",", append([]string{`"Coup"`, `"Date et heure"`}, names(c, `"%s (%s)"`)...),
				each(rows, func(v string) string { return `"` + v + `"` }), at, `"02/01/2006 15:04:05"`))
		}},
	{name: "told-delimiter", cols: cols(fullEnglish), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "sep=;\r\nShot ID;Time;" + strings.Join(names(c, "%s (%s)"), ";") + "\r\n"
			for i, r := range rows {
				b += fmt.Sprintf("=\"%04d\";%s;%s\r\n", 17+i, at[i].Format("2006-01-02 15:04:05"), strings.Join(r, ";"))
			}
			return one("report.csv", b)
		}},
	{name: "names-of-three-lines", cols: cols(fullEnglish), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			var head []string
			for _, k := range c {
				head = append(head, `"`+strings.ReplaceAll(k.name, " ", "\n")+"\n("+k.unit+`)"`)
			}
			return one("sheet.csv", "\ufeff"+lined(",", append([]string{"\"Shot\nNo\"", `"Time"`}, head...), rows, at, "2006-01-02 15:04:05"))
		}},
	{name: "workbook-merged", cols: cols(fullEnglish), time: true,
		write: func(t testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("day.xlsx", mergedWorkbook(t, c, rows, at))
		}},
	{name: "database-of-values", cols: cols("ball_speed|Ball speed|mph|1; launch_angle|Launch angle|deg|1; " +
		"launch_direction|Launch direction|deg|1; spin_rate|Spin rate|rpm|0; carry|Carry|yd|1"),
		write: func(t testing.TB, c []col, rows [][]string, _ []time.Time, _ *rand.Rand) []specimenFile {
			return one("values.db", valuesDatabase(t, c, rows))
		}},
	{name: "database-of-several", cols: cols("ball_speed|ball_speed|mph|1; clubhead_speed|club_speed|mph|1; " +
		"launch_angle|launch_angle|deg|1; " +
		"launch_direction|launch_azimuth|deg|1; spin_rate|spin|rpm|0; carry|carry|yd|1; offline|offline|yd|1"), time: true,
		write: func(t testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("range.sqlite3", severalDatabase(t, c, rows, at))
		}},
	{name: "days-as-numbers", cols: cols(fullEnglish), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "Date Time,Shot," + strings.Join(names(c, "%s (%s)"), ",") + "\n"
			for i, r := range rows {
				_, off := at[i].Zone()
				days := float64(at[i].Unix()+int64(off))/86400 + 25569
				b += fmt.Sprintf("%.8f,%d,%s\n", days, i+1, strings.Join(r, ","))
			}
			return one("values.csv", b)
		}},
	{name: "elapsed", cols: cols(fullEnglish),
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "# started " + at[0].Format("2006-01-02 15:04:05") + "\nElapsed,Shot," + strings.Join(names(c, "%s (%s)"), ",") + "\n"
			for i, r := range rows {
				d := at[i].Sub(at[0]) + 14*time.Second
				b += fmt.Sprintf("%02d:%02d:%02d.%d,%d,%s\n", int(d.Hours()), int(d.Minutes())%60, int(d.Seconds())%60, i%10, i+1, strings.Join(r,
					","))
			}
			return one("run.csv", b)
		}},
	{name: "mail-dates-and-words", cols: cols(fullEnglish), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "Shot\tWhen\t" + strings.Join(names(c, ""), "\t") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d\t%s", i+1, at[i].Format("Mon, 02 Jan 2006 15:04:05 -0700"))
				for k, v := range r {
					side := ""
					if mirrors[c[k].field] {
						side = " right"
						if strings.HasPrefix(v, "-") {
							side, v = " left", v[1:]
						}
					}
					b += "\t" + v + " " + c[k].unit + side
				}
				b += "\n"
			}
			return one("shots.tsv", b)
		}},
	{name: "twice-in-two-units", cols: cols(fullEnglish), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			head, body := []string{"No.", "Time"}, make([][]string, len(rows))
			for k, x := range c {
				head = append(head, fmt.Sprintf("%s (%s)", x.name, x.unit))
				factor, other := 0.0, ""
				switch x.unit {
				case "mph":
					factor, other = 1.609344, "km/h"
				case "yd":
					factor, other = .9144, "m"
				}
				if other != "" {
					head = append(head, fmt.Sprintf("%s (%s)", x.name, other))
				}
				for i, r := range rows {
					body[i] = append(body[i], r[k])
					if n, err := strconv.ParseFloat(r[k], 64); err == nil && other != "" {
						body[i] = append(body[i], fmt.Sprintf("%.1f", n*factor))
					}
				}
			}
			return one("both.csv", lined(",", head, body, at, "2006-01-02 15:04:05"))
		}},
	{name: "two-units-in-a-cell", cols: cols("ball_speed|Ball|mph|1; launch_angle|Launch Angle|deg|1; launch_direction|Direction|deg|1; " +
		"spin_rate|Spin|rpm|0; carry|Carry|yd|1; apex|Apex|ft|0"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "#|Time|" + strings.Join(names(c, ""), "|") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d|%s", i+1, at[i].Format("2006-01-02 15:04:05"))
				for k, v := range r {
					n, err := strconv.ParseFloat(v, 64)
					if err != nil {
						panic(err)
					}
					switch c[k].unit {
					case "mph":
						v = fmt.Sprintf("%s mph / %.1f km/h", v, n*1.609344)
					case "yd":
						v = fmt.Sprintf("%s yd / %.1f m", v, n*.9144)
					case "ft":
						v = fmt.Sprintf("%s ft / %.1f m", v, n*.3048)
					}
					b += "|" + v
				}
				b += "\n"
			}
			return one("both.txt", b)
		}},
}

// grouped puts a sign between thousands.
func grouped(v, mark string) string {
	if i := len(v) - 3; i > 0 && !strings.ContainsAny(v, ".,-") {
		return v[:i] + mark + v[i:]
	}
	return v
}

func each(rows [][]string, change func(string) string) (out [][]string) {
	for _, r := range rows {
		var row []string
		for _, v := range r {
			row = append(row, change(v))
		}
		out = append(out, row)
	}
	return out
}

func jsonPairs(c []col, r []string) string {
	var list []string
	for k, v := range r {
		list = append(list, fmt.Sprintf("%q:%s", c[k].name, v))
	}
	return strings.Join(list, ",")
}
