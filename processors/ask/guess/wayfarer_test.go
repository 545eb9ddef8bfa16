package guess

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
)

// wayfarers are what an engineer of a device writes who has never heard of us:
// the firmware's integers, the laboratory's symbols, the office's spreadsheet, the
// web service's envelope. They were written before the guess was looked at.

// render is how a kind writes; written leaves the testing.TB and the dice out.
type render = func(testing.TB, []col, [][]string, []time.Time, *rand.Rand) []specimenFile

func written(write func(c []col, rows [][]string, at []time.Time) []specimenFile) render {
	return func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
		return write(c, rows, at)
	}
}

// scaled writes a number times a factor with so many digits; exact where the
// factor is a power of ten.
func scaled(v string, factor float64, digits int) string {
	if v == "" {
		return ""
	}
	return fmt.Sprintf("%.*f", digits, number(v)*factor)
}

const (
	ballMetric = "ball_speed|%s|m/s|2; launch_angle|%s|deg|1; launch_direction|%s|deg|1; spin_rate|%s|rpm|0; spin_axis|%s|deg|1; " +
		"carry|%s|m|1; offline|%s|m|1"
	clubHead = "clubhead_speed|Club Head Speed|mph|1; attack_angle|Attack Angle|deg|1; club_path|Club Path|deg|1; " +
		"face_angle|Face Angle|deg|1; dynamic_loft|Dynamic Loft|deg|1; closure_rate|Closure Rate|deg/s|0; " +
		"strike_x|Impact Toe/Heel|mm|1; strike_y|Impact High/Low|mm|1; low_point|Low Point|in|1"
)

func metric(names ...any) []col { return cols(fmt.Sprintf(ballMetric, names...)) }

var wayfarerKinds = []outsider{
	{name: "office-german", comma: true, time: true, cols: cols("clubhead_speed|Schlägerkopf|km/h|1; ball_speed|Ball|km/h|1; " +
		"smash_factor|Smash||2; launch_angle|Abflug|deg|1; launch_direction|Richtung|deg|1; spin_rate|Spin|rpm|0; spin_axis|Achse|deg|1; " +
		"carry|Carry|m|1; offline|Seite|m|1; apex|Höhe|m|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			head := append([]string{"Schlag", "Zeitpunkt", "Schläger"}, names(c, "")...)
			b := "\uFEFFTrainingsbericht\nSpieler;Anna Riedel\nHand;rechts\n\n" + strings.Join(head, ";") + "\n;;;" +
				strings.Join(units(c, 0), ";") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d;%s;Eisen %d;%s\n", i+1, at[i].Format("02.01.2006 15:04:05"), 6+i%2, strings.Join(r, ";"))
			}
			return one("bericht.csv", b+"Ø;;;140,1;190,2;1,36;17,2;0,4;6480;1,1;150,2;1,4;28,1\nσ;;;2,1;3,2;0,02;1,1;1,4;480;2,1;5,2;3,4;1,1\n")
		})},
	{name: "envelopes-and-heartbeats", time: true, cols: cols("ball_speed|speed|m/s|3; launch_angle|elevation|deg|2; " +
		"launch_direction|azimuth|deg|2; spin_rate|total|rpm|0; spin_axis|axis|deg|2; carry|carry|m|2; offline|lateral|m|2; apex|apex|m|2"),
		write: written(func(_ []col, rows [][]string, at []time.Time) []specimenFile {
			b := ""
			for i, r := range rows {
				if i%3 == 0 {
					b += fmt.Sprintf("{\"type\":\"heartbeat\",\"ts\":%d,\"payload\":{\"cpu\":41.5,\"temp\":38.2}}\n", at[i].UnixMilli()-9000)
				}
				b += fmt.Sprintf("{\"type\":\"shot\",\"ts\":%d,\"seq\":%d,\"payload\":{\"ball\":{\"speed\":{\"value\":%s,\"unit\":\"m/s\"},"+
					"\"launch\":{\"elevation\":%s,\"azimuth\":%s},\"spin\":{\"total\":%s,\"axis\":%s}},\"flight\":{\"carry\":{\"value\":%s,"+
					"\"unit\":\"m\"},\"lateral\":{\"value\":%s,\"unit\":\"m\"},\"apex\":{\"value\":%s,\"unit\":\"m\"}}}}\n", at[i].UnixMilli(), i+40,
					r[0], r[1], r[2], r[3], r[4], r[5], r[6], r[7])
			}
			return one("stream.ndjson", b)
		})},
	{name: "units-of-the-root", time: true, cols: englishIn("mph", "yd"),
		write: written(func(_ []col, rows [][]string, at []time.Time) []specimenFile {
			b := "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<Session units=\"imperial\" player=\"17\" hand=\"right\">\n"
			for i, r := range rows {
				b += fmt.Sprintf("  <Shot n=\"%d\" at=\"%s\"><Ball speed=\"%s\" vla=\"%s\" hla=\"%s\" spin=\"%s\" axis=\"%s\"/><Club speed=\"%s\"/>"+
					"<Result carry=\"%s\" offline=\"%s\"/></Shot>\n", i+1, at[i].Format("2006-01-02T15:04:05-07:00"), r[0], r[2], r[3], r[4], r[5],
					r[1], r[6], r[7])
			}
			return one("session.xml", b+"</Session>\n")
		})},
	{name: "a-document-each", time: true, cols: metric("velocity", "launch", "direction", "rate", "axis", "carry", "side"),
		write: written(func(_ []col, rows [][]string, at []time.Time) (out []specimenFile) {
			for i, r := range rows {
				out = append(out, specimenFile{fmt.Sprintf("shot_%04d.yml", i+1), fmt.Sprintf("id: %d\ntaken: %s\nball:\n  velocity: %s m/s\n"+
					"  launch: %s deg\n  direction: %s deg\nspin:\n  rate: %s rpm\n  axis: %s deg\nresult:\n  carry: %s m\n  side: %s m\n", i+1,
					at[i].Format(usual), r[0], r[1], r[2], r[3], r[4], r[5], r[6])})
			}
			return out
		})},
	{name: "sheet-on-its-side", time: true, cols: englishIn("mph", "yd"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "Shot"
			for i := range rows {
				b += fmt.Sprintf(",%d", i+1)
			}
			b += ",Average,Std Dev\nTime"
			for i := range rows {
				b += "," + at[i].Format(usual)
			}
			b += ",,\n"
			for k, n := range names(c, "%s (%s)") {
				b += n
				sum := 0.
				for _, r := range rows {
					b += "," + r[k]
					sum += number(r[k])
				}
				b += fmt.Sprintf(",%.1f,%.1f\n", sum/float64(len(rows)), 1.7)
			}
			return one("compare.csv", b)
		})},
	{name: "channels", time: true, cols: metric("BALL.VEL", "BALL.ELEV", "BALL.AZIM", "BALL.SPIN", "BALL.TILT", "FLT.CARRY", "FLT.LAT"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "event;stamp;channel;value;unit\n"
			for i, r := range rows {
				for k, v := range r {
					b += fmt.Sprintf("%d;%s;%s;%s;%s\n", 300+i, at[i].Format(usual), c[k].name, v, c[k].unit)
				}
			}
			return one("channels.csv", b)
		})},
	{name: "mainframe", time: true, cols: cols("ball_speed|BSPD|mph|1; clubhead_speed|CSPD|mph|1; launch_angle|LA|deg|1; " +
		"launch_direction|LD|deg|1; spin_rate|SPIN|rpm|0; carry|CARRY|yd|1; total|TOTAL|yd|1; offline|DISP|yd|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "                         RANGE LISTING                  PAGE 1\n\n  SEQ DATE       TIME    "
			u, rule := "                        ", "----- ---------- --------"
			for _, c := range c {
				b, u, rule = b+fmt.Sprintf("%8s", c.name), u+fmt.Sprintf("%8s", c.unit), rule+" -------"
			}
			b += "\n" + u + "\n" + rule + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%5d %s", i+1, at[i].Format(usual))
				for _, v := range r {
					b += fmt.Sprintf("%8s", v)
				}
				b += "\n"
			}
			return one("RANGE.LST", b+rule+"\n MEAN                      118.4    86.1    17.1     0.4    6480   160.1   166.2     1.2\n")
		})},
	{name: "a-service-that-logs", time: true, cols: cols("ball_speed|bs|mph|1; launch_angle|la|deg|1; launch_direction|ld|deg|1; " +
		"spin_rate|sp|rpm|0; spin_axis|sa|deg|1; carry|ca|yd|1; offline|off|yd|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := ""
			for i, r := range rows {
				stamp := at[i].UTC().Format("2006-01-02T15:04:05.000Z")
				b += fmt.Sprintf("time=%s level=debug msg=\"trigger armed\" gain=%d\n", stamp, 12+i%3)
				b += fmt.Sprintf("time=%s level=info msg=\"shot\" n=%d", stamp, i+1)
				for k, v := range r {
					b += fmt.Sprintf(" %s=%s%s", c[k].name, v, c[k].unit)
				}
				b += "\n"
			}
			return one("tracker.log", b)
		})},
	{name: "result-and-path", time: true, cols: metric("speed", "angle", "direction", "spin", "axis", "carry", "lateral"),
		write: written(func(_ []col, rows [][]string, at []time.Time) []specimenFile {
			b := "[\n"
			for i, r := range rows {
				x := number(r[5])
				b += fmt.Sprintf("{\"uuid\":\"c%07d-11aa\",\"created\":%q,\"start\":{\"speed\":%s,\"angle\":%s,\"direction\":%s},\"rotation\":"+
					"{\"spin\":%s,\"axis\":%s},\"impact\":{\"carry\":%s,\"lateral\":%s},\"path\":[", 4711+i*37,
					at[i].UTC().Format(time.RFC3339), r[0], r[1],
					r[2], r[3], r[4], r[5], r[6])
				for p := range 6 {
					f := float64(p) / 5
					b += fmt.Sprintf("{\"t\":%.2f,\"x\":%.2f,\"y\":%.2f,\"z\":%.2f},", 6*f, x*f, 90*f*(1-f), number(r[6])*f*f)
				}
				b = strings.TrimSuffix(b, ",") + "]},\n"
			}
			return one("history.json", strings.TrimSuffix(b, ",\n")+"\n]\n")
		})},
	{name: "relative-to-the-player", time: true, handed: []string{"club_path", "face_angle", "launch_direction", "spin_axis"},
		cols: cols("clubhead_speed|Club Speed|mph|1; ball_speed|Ball Speed|mph|1; club_path|Path|deg|1; face_angle|Face|deg|1; " +
			"launch_angle|Launch Angle|deg|1; launch_direction|Start Direction|deg|1; spin_rate|Spin|rpm|0; spin_axis|Spin Axis|deg|1; " +
			"carry|Carry|yd|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			return one("lesson.csv", "# Player: Olin, left-handed\n# Signs are relative to the player: + is push, fade, open, in-to-out\n"+
				lined(",", append([]string{"Shot", "Time"}, names(c, "%s (%s)")...), rows, at, usual))
		})},
	{name: "club-not-seen", time: true, cols: cols("clubhead_speed|Club Speed|mph|1; smash_factor|Smash||2; attack_angle|Attack|deg|1; " +
		"club_path|Path|deg|1; ball_speed|Ball Speed|mph|1; launch_angle|Launch|deg|1; launch_direction|Direction|deg|1; " +
		"spin_rate|Spin|rpm|0; carry|Carry|yd|1"),
		alter: func(k int, truth map[string]float64, row []string) {
			if k%3 == 1 {
				for i, f := range []string{"clubhead_speed", "smash_factor", "attack_angle", "club_path"} {
					delete(truth, f)
					row[i] = []string{"0.0", "0.00", "0.0", "0.0"}[i]
				}
			}
		},
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			return one("data.csv", lined(",", append([]string{"No", "Time"}, names(c, "%s [%s]")...), rows, at, usual))
		})},
	{name: "putts-among", time: true, cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Launch Direction|deg|1; spin_rate|Spin Rate|rpm|0; carry|Carry|yd|1; total|Total|yd|1"),
		alter: func(k int, truth map[string]float64, row []string) {
			if k%4 == 3 {
				truth["role"] = float64(event.Role_ROLE_ROLL)
				truth["ball_speed"], row[0] = 5*.44704, "5.0"
				for i, f := range []string{"launch_angle", "", "spin_rate", "carry", "total"} {
					if f != "" {
						delete(truth, f)
						row[i+1] = ""
					}
				}
			}
		},
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "Shot,Time,Shot Type," + strings.Join(names(c, "%s (%s)"), ",") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d,%s,%s,%s\n", i+1, at[i].Format(usual), map[bool]string{true: "Putt", false: "Full Swing"}[r[3] == ""],
					strings.Join(r, ","))
			}
			return one("practice.csv", b)
		})},
	{name: "a-table-a-club", time: true, cols: englishIn("mph", "yd"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "Session Report,12 May\n\n"
			for i, r := range rows {
				if i == 0 || i == len(rows)/2 {
					b += fmt.Sprintf("Club: %s\n#,Time,%s\n", []string{"Seven Iron", "Eight Iron"}[min(i, 1)], strings.Join(names(c, "%s (%s)"), ","))
				}
				b += fmt.Sprintf("%d,%s,%s\n", i+1, at[i].Format(usual), strings.Join(r, ","))
				if i == len(rows)/2-1 || i == len(rows)-1 {
					b += "Average,,118.1,86.2,17.0,0.1,6480,0.2,160.4,0.3\nStd. Dev.,,2.1,1.2,1.0,1.1,480,2.2,5.4,4.3\n\n"
				}
			}
			return one("report.csv", b)
		})},
	{name: "symbols-of-physics", time: true, cols: metric("v0", "theta", "phi", "omega", "tau", "R", "d"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "k\tt_us"
			for i, n := range names(c, "") {
				b += "\t" + n + []string{" [m/s]", " [deg]", " [deg]", " [1/min]", " [deg]", " [m]", " [m]"}[i]
			}
			b += "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d\t%d\t%s\n", i, at[i].UnixMicro(), strings.Join(r, "\t"))
			}
			return one("run07.dat", b)
		})},
	{name: "spanish-afternoon", time: true, comma: true, cols: cols("ball_speed|Velocidad de bola|km/h|1; " +
		"clubhead_speed|Velocidad de palo|km/h|1; launch_angle|Ángulo de salida|deg|1; launch_direction|Dirección de salida|deg|1; " +
		"spin_rate|Efecto|rpm|0; carry|Vuelo|m|1; total|Total|m|1; offline|Desvío|m|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "Golpe;Fecha;Hora;Palo;" + strings.Join(names(c, "%s (%s)"), ";") + "\n"
			for i, r := range rows {
				half := map[bool]string{true: "a. m.", false: "p. m."}[at[i].Hour() < 12]
				b += fmt.Sprintf("%d;%s;%s %s;Hierro 7;%s\n", i+1, at[i].Format("02/01/2006"), at[i].Format("3:04:05"), half, strings.Join(r, ";"))
			}
			return one("sesion.csv", b)
		})},
	{name: "side-before-the-number", time: true, cols: englishIn("mph", "yd"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			side := func(v string) string {
				if rest, neg := strings.CutPrefix(v, "-"); neg {
					return "L " + rest
				}
				return "R " + v
			}
			rows = changed(c, rows, map[string]func(string) string{"launch_direction": side, "spin_axis": side, "offline": side})
			b := strings.Join(append([]string{"Shot", "Time"}, names(c, "%s (%s)")...), ",") + ",Notes\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d,%s,%s,%s\n", i+1, at[i].Format("1/2/2006 3:04:05 PM"), strings.Join(r, ","),
					[]string{"", "\"thin, a bit\"", "good"}[i%3])
			}
			return one("export.csv", b)
		})},
	{name: "french-narrow-blanks", time: true, comma: true, cols: cols("ball_speed|Vitesse de balle|km/h|1; " +
		"clubhead_speed|Vitesse du club|km/h|1; launch_angle|Angle de décollage|deg|1; launch_direction|Direction|deg|1; " +
		"spin_rate|Rotation totale|rpm|0; spin_axis|Inclinaison de l'axe|deg|1; carry|Portée|m|1; offline|Écart latéral|m|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			local := strings.NewReplacer("(rpm)", "(tr/min)", "(deg)", "(°)")
			b := "Coup;Date et heure;" + local.Replace(strings.Join(names(c, "%s (%s)"), ";")) + "\n"
			for i, r := range rows {
				r[4] = grouped(r[4], "\u202f")
				b += fmt.Sprintf("%d;%s;%s\n", i+1, at[i].Format("02/01/2006 15:04:05"), strings.Join(r, ";"))
			}
			return one("séance.csv", b)
		})},
	{name: "japanese-sides", time: true, cols: cols("clubhead_speed|ヘッドスピード|m/s|1; ball_speed|ボール初速|m/s|1; " +
		"launch_angle|打出角|deg|1; launch_direction|左右角|deg|1; spin_rate|スピン量|rpm|0; carry|キャリー|yd|1; offline|左右ズレ|yd|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			side := func(v string) string {
				if rest, neg := strings.CutPrefix(v, "-"); neg {
					return "左" + rest
				}
				return "右" + v
			}
			rows = changed(c, rows, map[string]func(string) string{"launch_direction": side, "offline": side})
			b := "番号,日時,クラブ"
			for _, c := range c {
				b += "," + c.name + "（" + strings.Replace(c.unit, "deg", "度", 1) + "）"
			}
			b += "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d,%s,7番アイアン,%s\n", i+1, at[i].Format("2006年01月02日 15:04:05"), strings.Join(r, ","))
			}
			return one("ショット.csv", b)
		})},
	{name: "velocity-vector", time: true, cols: cols("ball_speed|speed|m/s|3; spin_rate|spin_total|rpm|0; carry|carry|m|1; apex|apex|m|1"),
		write: func(_ testing.TB, _ []col, rows [][]string, at []time.Time, r *rand.Rand) []specimenFile {
			b := "n,t_ms,vx,vy,vz,speed_mps,spin_total_rpm,carry_m,apex_m\n"
			for i, row := range rows {
				v := number(row[0])
				b += fmt.Sprintf("%d,%d,%.3f,%.3f,%.3f,%s\n", i+1, at[i].UnixMilli(), v*.95, .4*r.NormFloat64(), v*.3, strings.Join(row, ","))
			}
			return one("vectors.csv", b)
		}},
	{name: "names-over-lines-in-quotes", time: true, cols: englishIn("mph", "yd"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "\"Shot\nNo.\",\"Date\nTime\""
			for _, c := range c {
				b += fmt.Sprintf(",\"%s\n(%s)\"", strings.Replace(c.name, " ", "\n", 1), c.unit)
			}
			b += "\n"
			for i, r := range rows {
				r[4] = "\"" + grouped(r[4], ",") + "\""
				b += fmt.Sprintf("%d,%s,%s\n", i+1, at[i].Format("\"Jan 2, 2006 15:04:05\""), strings.Join(r, ","))
			}
			return one("quoted.csv", b)
		})},
	{name: "names-in-a-comment", cols: metric("v0", "elev", "azim", "spin", "tilt", "carry", "lat"),
		write: written(func(c []col, rows [][]string, _ []time.Time) []specimenFile {
			b := "% range session, bay 4\n% columns: shot " + strings.Join(names(c, "%s[%s]"), " ") + "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d %s\n", i+1, strings.Join(r, " "))
			}
			return one("session.m.dat", b)
		})},
	{name: "array-that-grows", time: true, cols: metric("ballSpeed", "launchV", "launchH", "spin", "spinAxis", "carry", "deviation"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "{\"version\":2,\"unitSystem\":\"SI\",\"session\":{\"id\":\"s9\",\"shots\":[\n"
			for i, r := range rows {
				b += fmt.Sprintf("  {\"index\":%d,\"time\":\"%s\",%s},\n", i, at[i].Format("2006-01-02T15:04:05"), jsonPairs(c, r))
			}
			return one("live.json", b)
		})},
	{name: "clock-and-a-dated-file", time: true, cols: englishIn("km/h", "m"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			return one(at[0].Format("2006-01-02")+"_bay3.csv", lined(";", append([]string{"Nr", "Uhrzeit"}, names(c, "%s [%s]")...), rows, at,
				"15:04:05"))
		})},
	{name: "initials-and-no-units", time: true, cols: cols("ball_speed|BS|km/h|1; launch_angle|LA|deg|1; launch_direction|DIR|deg|1; " +
		"spin_rate|SPN|rpm|0; spin_axis|AX|deg|1; carry|CRY|yd|1; apex|HGT|ft|0; offline|DEV|yd|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			return one("x.csv", lined(",", append([]string{"N", "T"}, names(c, "")...), rows, at, usual))
		})},
	{name: "statements-of-a-database", time: true, cols: metric("ball_speed_ms", "launch_deg", "direction_deg", "spin_rpm", "axis_deg",
		"carry_m", "offline_m"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := "CREATE TABLE shots (id INTEGER PRIMARY KEY, taken TEXT"
			for _, c := range c {
				b += ", " + c.name + " REAL"
			}
			b += ");\n"
			for i, r := range rows {
				b += fmt.Sprintf("INSERT INTO shots VALUES (%d,'%s',%s);\n", i+1, at[i].Format(usual), strings.Join(r, ","))
			}
			return one("dump.sql", b)
		})},
	{name: "points-of-a-series", time: true, cols: metric("ball_speed", "launch_angle", "launch_direction", "spin_rate", "spin_axis", "carry",
		"offline"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := ""
			for i, r := range rows {
				b += "shot,bay=3,club=7i "
				for k, v := range r {
					b += c[k].name + "=" + v + ","
				}
				b += fmt.Sprintf("number=%di %d\n", i+1, at[i].UnixNano())
			}
			return one("export.lp", b)
		})},
	{name: "minus-one-is-nothing", time: true, gaps: "spin_rate", cols: cols("ball_speed|ball_speed|mph|1; launch_angle|launch_angle|deg|1; " +
		"launch_direction|launch_direction|deg|1; spin_rate|spin_rate|rpm|0; carry|carry|yd|1; offline|offline|yd|1"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			for _, r := range rows {
				if r[3] == "" {
					r[3] = "-1"
				}
			}
			return one("tracker.csv", lined(",", append([]string{"shot_id", "created_at"}, names(c, "%s_%s")...), rows, at, usual))
		})},
	{name: "integers-of-firmware", time: true, cols: cols("ball_speed|vball_cms|m/s|2; launch_angle|elev_cdeg|deg|2; " +
		"launch_direction|azim_cdeg|deg|2; spin_rate|spin_rpm|rpm|0; carry|carry_cm|m|2; offline|side_cm|m|2"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			for _, r := range rows {
				for k := range r {
					if c[k].digits == 2 {
						r[k] = scaled(r[k], 100, 0)
					}
				}
			}
			return one("fw.csv", lined(",", append([]string{"seq", "time"}, names(c, "")...), rows, at, usual))
		})},
	{name: "the-club-alone", time: true, cols: cols(clubHead),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			return one("club.csv", lined(",", append([]string{"Swing", "Time"}, names(c, "%s (%s)")...), rows, at, usual))
		}),
		alter: func(_ int, truth map[string]float64, _ []string) { truth["role"] = float64(event.Role_ROLE_CLUB) }},
	{name: "with-the-weather", time: true, cols: cols("ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
		"launch_direction|Side Angle|deg|1; back_spin|Backspin|rpm|0; side_spin|Sidespin|rpm|0; carry|Carry Distance|yd|1; " +
		"landing_speed|Landing Speed|mph|1; landing_angle|Land Angle|deg|1; air_temperature|Temp|F|1; air_pressure|Pressure|inHg|2; " +
		"air_humidity|Humidity|%|0"),
		write: written(func(c []col, rows [][]string, at []time.Time) []specimenFile {
			b := strings.Join(append([]string{"Shot", "Time"}, names(c, "%s (%s)")...), ",") + ",Altitude (ft),Wind (mph),Wind Dir (deg)\n"
			for i, r := range rows {
				b += fmt.Sprintf("%d,%s,%s,320,0,0\n", i+1, at[i].Format(usual), strings.Join(r, ","))
			}
			return one("outdoor.csv", b)
		})},
}

// TestWayfarers scores them.
func TestWayfarers(t *testing.T) {
	t.Logf("%+v", score(t, outsiders(t, wayfarerKinds, len(wayfarerKinds), 11)))
}
