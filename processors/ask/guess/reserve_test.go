package guess

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"
)

// reserveKinds were written together with the latecomers and looked at only
// once those had been mended for.
var reserveKinds = []outsider{
	{name: "apostrophes-and-ctime", cols: cols(fullEnglish), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "Nr;Stamp;" + strings.Join(names(c, "%s [%s]"), ";") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d;%s", i+1, at[i].Format("Mon Jan _2 15:04:05 2006"))
				for k, v := range r {
					if c[k].unit == "rpm" {
						v = grouped(v, "'")
					}
					b += ";" + v
				}
				b += "\n"
			}
			return one("liste.csv", b)
		}},
	{name: "compact-times-capitals", cols: cols("ball_speed|BALL_SPD_MPH|mph|1; clubhead_speed|CLUB_SPD_MPH|mph|1; " +
		"launch_angle|LAUNCH_ANG_DEG|deg|1; launch_direction|LAUNCH_DIR_DEG|deg|1; spin_rate|TOT_SPIN_RPM|rpm|0; carry|CARRY_DIST_YDS|yd|1"),
		time: true, gaps: "spin_rate",
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("EXPORT.CSV", lined(",", append([]string{"SHOT_NO", "SHOT_TS"}, names(c, "")...), each(rows, func(v string) string {
				if v == "" {
					return "99999"
				}
				return v
			}), at, "20060102150405"))
		}},
	{name: "tenths", cols: cols("ball_speed|ballSpeed_x10|mph|1; launch_angle|launchAngle_x10|deg|1; launch_direction|launchDir_x10|deg|1; " +
		"spin_rate|spin|rpm|0; carry|carryYards_x10|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "n,epoch," + strings.Join(names(c, ""), ",") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d,%d", i+1, at[i].Unix())
				for _, v := range r {
					if strings.Contains(v, ".") {
						n, err := strconv.ParseFloat(v, 64)
						if err != nil {
							panic(err)
						}
						v = fmt.Sprintf("%.0f", n*10)
					}
					b += "," + v
				}
				b += "\n"
			}
			return one("raw.csv", b)
		}},
	{name: "polish", comma: true, cols: cols("clubhead_speed|Prędkość główki kija|km/h|1; ball_speed|Prędkość piłki|km/h|1; " +
		"launch_angle|Kąt startu|deg|1; launch_direction|Kierunek startu|deg|1; spin_rate|Rotacja|rpm|0; carry|Odległość lotu|m|1; " +
		"total|Odległość całkowita|m|1; offline|Odchylenie boczne|m|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("sesja.csv", lined(";", append([]string{"Lp.", "Data i godzina"}, names(c, "%s [%s]")...), rows, at, "02.01.2006 15:04:05"))
		}},
	{name: "turkish", comma: true, cols: cols("clubhead_speed|Sopa başı hızı|km/h|1; ball_speed|Top hızı|km/h|1; " +
		"launch_angle|Kalkış açısı|deg|1; " +
		"launch_direction|Kalkış yönü|deg|1; spin_rate|Dönüş hızı|rpm|0; carry|Uçuş mesafesi|m|1; total|Toplam mesafe|m|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("oturum.csv", lined(";", append([]string{"Sıra", "Tarih Saat"}, names(c, "%s (%s)")...), rows, at,
				"02.01.2006 15:04"+":05"))
		}},
	{name: "true-minus-and-degrees", cols: cols(fullEnglish), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "Shot\tTime\t" + strings.Join(names(c, ""), "\t") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d\t%s", i+1, at[i].Format("2006-01-02T15:04:05-07:00"))
				for k, v := range r {
					u := " " + c[k].unit
					if c[k].unit == "deg" {
						u = "°"
					}
					b += "\t" + strings.ReplaceAll(v, "-", "−") + u
				}
				b += "\n"
			}
			return one("table.tsv", b)
		}},
	{name: "names-over-three-lines", cols: cols("ball_speed|Ball Speed|mph|1; clubhead_speed|Club Speed|mph|1; " +
		"launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Azimuth|deg|1; spin_rate|Spin Rate|rpm|0; carry|Carry Dist|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			l1, l2, l3 := fmt.Sprintf("%-6s%-21s", "Shot", "Date"), fmt.Sprintf("%-6s%-21s", "No", "Time"), strings.Repeat(" ", 27)
			for _, k := range c {
				w := strings.Fields(k.name)
				l1, l2, l3 = l1+fmt.Sprintf("%9s", w[0]), l2+fmt.Sprintf("%9s", w[1]), l3+fmt.Sprintf("%9s", "("+k.unit+")")
			}
			b := l1 + "\n" + l2 + "\n" + l3 + "\n" + strings.Repeat("-", len(l1)) + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%-6d%-21s", i+1, at[i].Format("2006-01-02 15:04:05"))
				for _, v := range r {
					b += fmt.Sprintf("%9s", v)
				}
				b += "\n"
			}
			return one("print.txt", b)
		}},
	{name: "open-and-closed", cols: cols("ball_speed|Ball Speed|mph|1; clubhead_speed|Club Speed|mph|1; face_angle|Face Angle|deg|1; " +
		"club_path|Club Path|deg|1; launch_angle|Launch Angle|deg|1; launch_direction|Launch Direction|deg|1; spin_rate|Spin Rate|rpm|0; " +
		"carry|Carry|yd|1"), time: true, handed: []string{"face_angle", "club_path"},
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			words := map[string][2]string{"face_angle": {"closed", "open"}, "club_path": {"out-in", "in-out"}, "launch_direction": {"left",
				"right"}}
			b := "Shot,Time," + strings.Join(names(c, "%s (%s)"), ",") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d,%s", i+1, at[i].Format("2006-01-02 15:04:05"))
				for k, v := range r {
					if w, ok := words[c[k].field]; ok {
						side := w[1]
						if strings.HasPrefix(v, "-") {
							v, side = v[1:], w[0]
						}
						v += " " + side
					}
					b += "," + v
				}
				b += "\n"
			}
			return one("lesson.csv", b)
		}},
	{name: "raw-and-normalised", cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Direction|deg|1; " +
		"spin_rate|Spin Rate|rpm|0; carry|Carry|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			head := append([]string{"Shot", "Date", "Target Ball Speed (mph)", "Carry Normalized (yd)", "Optimal Launch Angle (deg)",
				"Average Carry (yd)"},
				names(c, "%s (%s)")...)
			var body [][]string
			for _, r := range rows {
				n, err := strconv.ParseFloat(r[4], 64)
				if err != nil {
					panic(err)
				}
				body = append(body, append([]string{"120.0", fmt.Sprintf("%.1f", n*1.03+.4), "14.5", fmt.Sprintf("%.1f", n+2)}, r...))
			}
			return one("norm.csv", lined(",", head, body, at, "2006-01-02 15:04:05"))
		}},
	{name: "prefixed-elements", cols: cols("ball_speed|ballSpeed|m/s|2; launch_angle|launchAngle|deg|1; " +
		"launch_direction|launchDirection|deg|1; " +
		"spin_rate|spinRate|rpm|0; carry|carry|m|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "<?xml version=\"1.0\"?>\n<trk:log xmlns:trk=\"urn:example:log\" xmlns:m=\"urn:example:m\">\n"
			for i, r := range rows {
				b += fmt.Sprintf("<trk:pt id=\"%d\"><trk:time>%s</trk:time><trk:extensions>", i+1, at[i].UTC().Format(time.RFC3339))
				for k, v := range r {
					b += fmt.Sprintf("<m:%s uom=\"%s\">%s</m:%s>", c[k].name, c[k].unit, v, c[k].name)
				}
				b += "</trk:extensions></trk:pt>\n"
			}
			return one("log.xml", b+"</trk:log>\n")
		}},
	{name: "units-as-keys", cols: cols("ball_speed|ballSpeed|mph|1; clubhead_speed|clubSpeed|mph|1; launch_angle|launchAngle|deg|1; " +
		"launch_direction|launchDirection|deg|1; spin_rate|spinRate|rpm|0; carry|carry|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := ""
			for i, r := range rows {
				b += fmt.Sprintf("{\"event\":\"shot\",\"sequence\":%d,\"occurredAt\":%q,\"data\":{", i+1, at[i].UTC().Format(time.RFC3339))
				for k, v := range r {
					if k > 0 {
						b += ","
					}
					b += fmt.Sprintf("%q:{%q:%s}", c[k].name, map[string]string{"yd": "yards"}[c[k].unit]+strings.TrimPrefix(c[k].unit, "yd"), v)
				}
				b += "}}\n"
			}
			return one("events.ndjson", b)
		}},
	{name: "feet-and-inches", cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Direction|deg|1; " +
		"spin_rate|Spin Rate|rpm|0; carry|Carry|yd|1; apex|Max Height|ft|0"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			for _, r := range rows {
				r[5] = r[5] + `' 0"`
			}
			return one("heights.txt", lined("\t", append([]string{"Shot", "Time"}, names(c, "")...), rows, at, "1/2/2006 3:04:05 PM"))
		}},
	{name: "lists-beside", cols: cols("ball_speed|ball_speed_mph|mph|1; launch_angle|launch_angle_deg|deg|1; " +
		"launch_direction|launch_direction_deg|deg|1; spin_rate|spin_rpm|rpm|0; carry|carry_yd|yd|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			var ids, times []string
			lists := make([][]string, len(c))
			for i, r := range rows {
				ids, times = append(ids, fmt.Sprint(i+1)), append(times, fmt.Sprint(at[i].Unix()))
				for k, v := range r {
					lists[k] = append(lists[k], v)
				}
			}
			b := "{\"shot\":[" + strings.Join(ids, ",") + "],\"time\":[" + strings.Join(times, ",") + "]"
			for k, x := range c {
				b += fmt.Sprintf(",%q:[%s]", x.name, strings.Join(lists[k], ","))
			}
			return one("arrays.json", b+"}\n")
		}},
	{name: "left-is-plus-said-above", cols: cols("ball_speed|Ball Speed|m/s|2; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Direction|deg|1; spin_rate|Spin Rate|rpm|0; spin_axis|Spin Axis|deg|1; carry|Carry|m|1; offline|Lateral|m|1"),
		time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			for _, r := range rows {
				for k, x := range c {
					if mirrors[x.field] {
						if strings.HasPrefix(r[k], "-") {
							r[k] = r[k][1:]
						} else {
							r[k] = "-" + r[k]
						}
					}
				}
			}
			b := "Laboratory report 17\nOperator: A. Reed\nConvention: positive values are left of the target line\n\n"
			return one("lab.csv", b+lined(",", append([]string{"Trial", "Time"}, names(c, "%s (%s)")...), rows, at, "2006-01-02 15:04:05"))
		}},
	{name: "putts-among-them", cols: cols("ball_speed|Ball Speed|m/s|2; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Direction|deg|1; " +
		"spin_rate|Spin Rate|rpm|0; carry|Carry|m|1"), time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "Shot,Type,Time," + strings.Join(names(c, "%s (%s)"), ",") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d,Full,%s,%s\n", i+1, at[i].Format("2006-01-02 15:04:05"), strings.Join(r, ","))
			}
			return one("mixed.csv", b)
		}},
}
