package guess

import (
	"fmt"
	"maps"
	"strings"
	"testing"

	"fairlead/ingest/bay/sample"
	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/flight"
)

// flownLines are shots in standard air, a line each, by a function of the launch.
func flownLines(t *testing.T, n int, line func(l flight.Launch, f flight.Result) string) string {
	t.Helper()
	var b strings.Builder
	for i := range n {
		l := flight.Launch{BallSpeed: 50 + .4*float64(i%5), Angle: 17 + .3*float64(i%4), Direction: 2.4*float64(i%3) - 2.1,
			SpinRate: 6300 + 60*float64(i%7), SpinAxis: 3*float64(i%4) - 4}
		f, err := flight.Simulate(l, flight.Standard())
		if err != nil {
			t.Fatal(err)
		}
		b.WriteString(line(l, f) + "\n")
	}
	return b.String()
}

func draftText(t *testing.T, text string, answers map[string]string) *Proposal {
	t.Helper()
	table, err := sample.Read([]sample.File{{Name: "shots.csv", Data: []byte(text)}})
	if err != nil {
		t.Fatal(err)
	}
	p, err := Draft(table, "willow", answers)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// What is left open is asked once; each option settles all of it, and none of them
// asks one by one.
func TestWholeReadings(t *testing.T) {
	head := "No;Ball Speed (m/s);Launch Angle (deg);Spin (rpm);Direction (deg);Reach (m)\n"
	text := head + flownLines(t, 12, func(l flight.Launch, f flight.Result) string {
		return fmt.Sprintf("7;%.1f;%.1f;%.0f;%.1f;%.1f", l.BallSpeed, l.Angle, l.SpinRate, l.Direction, f.Carry)
	})
	p := draftText(t, text, nil)
	if len(p.Questions) != 1 || p.Questions[0].Key != WholeReading {
		t.Fatalf("asked: %+v", p.Questions)
	}
	q := p.Questions[0]
	inverted := 0
	for i, o := range q.Options {
		p := draftText(t, text, map[string]string{WholeReading: o})
		if o == NoReading {
			if len(p.Questions) < 2 {
				t.Errorf("one by one: %+v", p.Questions)
			}
			continue
		}
		if len(p.Questions) > 0 || !strings.Contains(p.Map, "carry:") {
			t.Errorf("%s (%s) leaves %+v of\n%s", o, q.Words[i], p.Questions, p.Map)
		}
		inverted += strings.Count(p.Map, "invert: true")
	}
	if inverted != 1 {
		t.Errorf("%d readings of %v count to the left", inverted, q.Options)
	}
	// What is told of a field by itself outranks the reading.
	told := map[string]string{WholeReading: q.Options[0], ToldUnit + "carry": "yd"}
	if p := draftText(t, text, told); !strings.Contains(p.Map, `carry: {column: "Reach (m)", unit: "yd"`) {
		t.Errorf("told yards:\n%s", p.Map)
	}
}

func TestAReadingsWordHoldsAnyName(t *testing.T) {
	parts := []part{{"names", `a "b; c" is carry + d=e is total`, ""}, {"side", "left", ""}, {"unit.length", "yd", ""}}
	want := map[string]string{}
	for _, p := range parts {
		want[p.key] = p.value
	}
	got := unfolded(map[string]string{WholeReading: wholly{parts: parts}.word()})
	delete(got, WholeReading)
	if !maps.Equal(got, want) {
		t.Errorf("%q became %v", wholly{parts: parts}.word(), got)
	}
}

// Numbers of which none says a side are no sides, and columns that are called after
// them say it wherever they stand.
func TestSizesAreNoSides(t *testing.T) {
	abs := func(v float64) float64 { return max(v, -v) }
	side := func(v float64) string { return map[bool]string{true: "L", false: "R"}[v < 0] }
	head := "No;Ball Speed (m/s);Launch Angle (deg);Spin (rpm);Carry (m);Direction (deg);Offline (m)"
	line := func(l flight.Launch, f flight.Result) string {
		return fmt.Sprintf("7;%.1f;%.1f;%.0f;%.1f;%.1f;%.1f", l.BallSpeed, l.Angle, l.SpinRate, f.Carry, abs(l.Direction), abs(f.Offline))
	}
	sized := draftText(t, head+"\n"+flownLines(t, 12, line), nil)
	for _, f := range sized.Fields {
		if info, _ := event.FieldNamed(f.Name); info.Mirrors {
			t.Errorf("%s is taken from sizes:\n%s", f.Name, sized.Map)
		}
	}
	apart := draftText(t, "Offline Side;Direction Side;"+head+"\n"+flownLines(t, 12, func(l flight.Launch, f flight.Result) string {
		return side(f.Offline) + ";" + side(l.Direction) + ";" + line(l, f)
	}), nil)
	for _, want := range []string{`side: {column: "Offline Side"`, `side: {column: "Direction Side"`} {
		if !strings.Contains(apart.Map, want) {
			t.Errorf("%s lacks in\n%s", want, apart.Map)
		}
	}
}
