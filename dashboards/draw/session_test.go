package draw

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"fairlead/dashboards/figure"
	"fairlead/processors/visit/rolling"
)

// sessionWith makes a session of so many trials of so many shots each; the last
// trial of a wedge is of partial swings.
func sessionWith(category string, trials, shots int) *rolling.State {
	rng := rand.New(rand.NewPCG(7, uint64(trials)))
	s := &rolling.State{Session: &rolling.Session{Category: category}, Setting: &rolling.Setting{}}
	away := 140.0
	s.Setting.TargetDistanceM = &away
	n := 0
	for i := range trials {
		t := rolling.Trial{Key: fmt.Sprint("t", i), Number: i + 1, Club: i + 1, Part: 1, Parts: 1, Name: `a build with a rather long <name> & "quotes"`, Class: "full", Running: i == trials-1,
			Instruction: "let it go", Drifting: true, Feels: []rolling.Feel{{Event: fmt.Sprint(i), Words: "light", Liking: 1}}}
		if category == "wedge" && i == trials-1 {
			t.Class, t.ClassLength = "partial", 55
		}
		for range shots {
			n++
			d := rng.NormFloat64() * 3
			s.Shots = append(s.Shots, rolling.ShotRow{ID: fmt.Sprint("shot", n), Number: n, Row: t.Key, Status: "counts", Dir: &d,
				Values: map[string]float64{
					"carry_m": 150 + 8*rng.NormFloat64(), "offline_m": 7 * rng.NormFloat64(), "launch_direction_deg": d,
					"ball_speed_mps":   52 + rng.NormFloat64(),
					"launch_angle_deg": 17, "spin_rate_rpm": 6000, "strike_x_m": 0.01 * rng.NormFloat64(), "strike_y_m": 0.008 * rng.NormFloat64(),
					"club_path_deg": 2 + rng.NormFloat64(), "face_angle_deg": rng.NormFloat64()}})
		}
		s.Trials = append(s.Trials, t)
	}
	return s
}

func figures(s *Session) map[string]*Picture {
	return map[string]*Picture{"landed": s.Landed(), "curve": s.Curve(), "side": s.Side(), "strike": s.Strike(), "impact": s.Impact(),
		"timeline": s.Timeline()}
}

// places are the marks and texts of a picture with where they begin; of a text that
// ends at a place both are.
func places(t *testing.T, p *Picture) (at [][2]float64, texts []string) {
	t.Helper()
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		t.Fatal(err)
	}
	wellFormed(t, b.Bytes())
	first := regexp.MustCompile(`^M(-?[\d.]+) (-?[\d.]+)`)
	d := xml.NewDecoder(&b)
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return at, texts
		}
		if err != nil {
			t.Fatal(err)
		}
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		get := map[string]string{}
		for _, a := range e.Attr {
			get[a.Name.Local] = a.Value
		}
		x, y := get["x"], get["y"]
		switch e.Name.Local {
		case "circle":
			x, y = get["cx"], get["cy"]
		case "path":
			if m := first.FindStringSubmatch(get["d"]); m != nil {
				x, y = m[1], m[2]
			}
		case "text":
			if get["transform"] == "" {
				texts = append(texts, get["class"])
			}
		}
		if e.Name.Local == "text" && get["text-anchor"] == "end" {
			if inner, err := d.Token(); err == nil {
				if said, ok := inner.(xml.CharData); ok {
					ends, _ := strconv.ParseFloat(x, 64)
					down, _ := strconv.ParseFloat(y, 64)
					at = append(at, [2]float64{ends - textWidth(string(said)), down})
				}
			}
		}
		px, err1 := strconv.ParseFloat(x, 64)
		py, err2 := strconv.ParseFloat(y, 64)
		if err1 == nil && err2 == nil {
			at = append(at, [2]float64{px, py})
		}
	}
}

func TestNothingIsClippedOrPrintedOver(t *testing.T) {
	for _, category := range []string{"driver", "iron", "wedge", "putter"} {
		for _, trials := range []int{1, 2, 5, 9, 14} {
			state := sessionWith(category, trials, 8)
			for _, imperial := range []bool{false, true} {
				for name, p := range figures(Full(state, figure.Units{Imperial: imperial})) {
					if p == nil {
						if !(category == "putter" && name == "side") && !(category == "wedge" && trials == 1) {
							t.Errorf("%s, %d trials: no %s", category, trials, name)
						}
						continue
					}
					at, texts := places(t, p)
					for _, q := range at {
						if q[0] < -1 || q[0] > p.width+1 || q[1] < -1 || q[1] > p.height+1 {
							t.Errorf("%s, %d trials: %s has something at %v, its box is %v by %v", category, trials, name, q, p.width, p.height)
						}
					}
					if len(texts) == 0 {
						t.Errorf("%s says nothing", name)
					}
				}
			}
		}
	}
}

// Labels of trials' middles stand apart, whatever the middles do.
func TestLabelsStandApart(t *testing.T) {
	disc := regexp.MustCompile(`<circle class="disc" cx="([\d.]+)" cy="([\d.]+)"`)
	for _, trials := range []int{2, 6, 12, 18} {
		p := Full(sessionWith("iron", trials, 8), figure.Units{}).Landed()
		found := disc.FindAllStringSubmatch(p.body.String(), -1)
		if len(found) != trials {
			t.Fatalf("%d labels of %d trials", len(found), trials)
		}
		var at [][2]float64
		for _, m := range found {
			x, _ := strconv.ParseFloat(m[1], 64)
			y, _ := strconv.ParseFloat(m[2], 64)
			for _, o := range at {
				if math.Hypot(o[0]-x, o[1]-y) < 20 {
					t.Errorf("%d trials: labels at %v and %v,%v", trials, o, x, y)
				}
			}
			at = append(at, [2]float64{x, y})
		}
	}
}

// Every trial has a shape, a line, a region and a place in the legend of its own.
func TestTrialsAreToldApart(t *testing.T) {
	body := Full(sessionWith("iron", 6, 8), figure.Units{}).Landed().body.String()
	for i := 1; i <= 6; i++ {
		look := Series(i)
		if n := strings.Count(body, `<g class="`+look+`"><path class="line"`); n != 1 {
			t.Errorf("trial %d has %d regions", i, n)
		}
		if !strings.Contains(body, fmt.Sprintf(`>%d · a build`, i)) {
			t.Errorf("trial %d is not in the legend", i)
		}
		for k := 1; k < i; k++ {
			if Series(k) == look || Shape(k, 0, 0, 1) == Shape(i, 0, 0, 1) {
				t.Errorf("trials %d and %d look alike", k, i)
			}
		}
	}
}

// Partial swings have figures of their own, by their length.
func TestPartialSwingsStandApart(t *testing.T) {
	state := sessionWith("wedge", 3, 8)
	full, partial := Full(state, figure.Units{}), Partial(state, figure.Units{})
	if full.Series() != 2 || partial.Series() != 1 {
		t.Fatalf("%d full, %d partial", full.Series(), partial.Series())
	}
	if p := partial.Landed().body.String(); !strings.Contains(p, "55") || strings.Count(p, `data-shot`) != 8 {
		t.Errorf("partial: %s", p)
	}
	if p := full.Landed().body.String(); strings.Count(p, `data-shot`) != 16 {
		t.Error("full swings are missing, or partial ones among them")
	}
}

func TestNoShotsNoPicture(t *testing.T) {
	for name, p := range figures(Full(&rolling.State{Session: &rolling.Session{Category: "iron"},
		Trials: []rolling.Trial{{Key: "a", Number: 1, Class: "full"}}}, figure.Units{})) {
		if p != nil {
			t.Errorf("%s is drawn of nothing", name)
		}
	}
}
