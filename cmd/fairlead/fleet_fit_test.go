package main

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"path/filepath"
	"strings"
	"testing"
)

const fleetData = "../../testdata/fleet/"

// runFleet runs one command line and returns its exit code and outputs.
func runFleet(stdin string, args ...string) (int, string, string) {
	var out, errs bytes.Buffer
	code := run(context.Background(), append([]string{"fleet", "fit"}, args...), strings.NewReader(stdin), &out, &errs)
	return code, out.String(), errs.String()
}

func TestFleetFitPublishedMeta(t *testing.T) {
	code, out, errs := runFleet("", "--trials", fleetData+"bcg.csv", "--y", "yi", "--v", "vi", "--player", "trial", "--intercept", "--json")
	if code != 0 {
		t.Fatalf("exit %d: %s", code, errs)
	}
	var got struct {
		Terms []struct {
			Name     string   `json:"name"`
			Estimate float64  `json:"estimate"`
			SE       float64  `json:"se"`
			PILow    *float64 `json:"pi_low"`
			PIHigh   *float64 `json:"pi_high"`
		} `json:"terms"`
		Tau2     float64  `json:"tau2"`
		K        int      `json:"k"`
		Players  int      `json:"players"`
		Warnings []string `json:"warnings"`
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	e := got.Terms[0]
	for _, c := range []struct{ got, want float64 }{
		{e.Estimate, -0.7145}, {e.SE, 0.1798}, {got.Tau2, 0.3132}, {*e.PILow, -1.867}, {*e.PIHigh, 0.438},
	} {
		if math.Abs(c.got-c.want) > 1e-3 {
			t.Errorf("%v, want %v", c.got, c.want)
		}
	}
	if got.K != 13 || got.Players != 13 || e.Name != "intercept" {
		t.Errorf("k %d, players %d, term %q", got.K, got.Players, e.Name)
	}
}

func TestFleetFitNamesWhatIsWrong(t *testing.T) {
	const head = "player,session,y,v,a,b,m\n"
	two := head + "p1,s1,1,.1,0,0,1\np1,s1,2,.1,1,2,1\np1,s1,3,.2,2,4,1\np2,s2,2.5,.1,1,2,3\np2,s2,2,.1,0,0,3\np2,s2,2,.1,0,0,3\n"
	one := head + "p1,s1,1,.1,0,0,1\np1,s1,2,.1,1,0,1\np1,s1,3,.2,2,1,1\np1,s1,2.5,.1,1,1,1\n"
	gaps := head + "p1,s1,1,.1,0,0,1\np1,s1,2,.1,1,0,NA\np1,s1,3,.2,2,1,1\np2,s2,2.5,.1,1,1,\np3,s3,2.5,.1,1,1,2\n"
	cases := []struct {
		name, in string
		args     []string
		code     int
		want     string
	}{
		{"one player", one, []string{"--fixed", "a", "--session", "session", "--session-level"}, 0, "one player (p1)"},
		{"one session", one, []string{"--fixed", "a", "--session", "session", "--session-level"}, 0, "one session"},
		{"slopes of one player", one, []string{"--fixed", "a", "--random", "a"}, 1, "at least two players"},
		{"collinear", two, []string{"--fixed", "a,b", "--intercept"}, 1, "a, b: they are collinear"},
		{"trait under session levels", two, []string{"--fixed", "a,m", "--session", "session", "--session-level"}, 1,
			"m: it is the same in all rows of a session"},
		{"missing moderator", gaps, []string{"--fixed", "a,a:m"}, 0,
			"2 of 5 rows left out, because a number was missing (m in 2), at lines 3, 5"},
		{"zero sampling variance", head + "p1,s1,1,0,0,0,1\n", []string{"--fixed", "a"}, 1, "line 2, column v"},
		{"bad cell", head + "p1,s1,1,.1,?,0,1\n", []string{"--fixed", "a"}, 1, `line 2, column a: "?" is not a number`},
		{"no such column", two, []string{"--fixed", "loft"}, 1, `no column "loft"; the file has player, session`},
		{"no rows", head, []string{"--fixed", "a"}, 1, "there are no rows"},
		{"empty", "", []string{"--fixed", "a"}, 1, "the file is empty"},
		{"short row", head + "p1,s1\n", []string{"--fixed", "a"}, 1, "line 2"},
		{"nothing asked", two, nil, 2, "nothing to estimate"},
		{"wrong test", two, []string{"--fixed", "a", "--test", "t"}, 2, "use z or knha"},
		{"shared without session", two, []string{"--fixed", "a", "--vcov", "shared"}, 2, "--vcov shared needs"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			code, out, errs := runFleet(c.in, append([]string{"--trials", "-", "--v", "v"}, c.args...)...)
			if code != c.code || !strings.Contains(out+errs, c.want) {
				t.Errorf("exit %d, want %d with %q:\n%s%s", code, c.code, c.want, out, errs)
			}
		})
	}
}

func TestFleetFitRefusalIsJSONToo(t *testing.T) {
	in := "player,y,a,b\np1,1,1,2\np1,2,2,4\np2,2,3,6\np2,5,4,8\n"
	code, out, _ := runFleet(in, "--trials", "-", "--fixed", "a,b", "--json")
	var got struct {
		Error  string   `json:"error"`
		Blamed []string `json:"blamed"`
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil || code != 1 {
		t.Fatalf("exit %d, %v: %s", code, err, out)
	}
	if strings.Join(got.Blamed, ",") != "a,b" || got.Error == "" {
		t.Errorf("%+v", got)
	}
}

func TestFleetFitExamplesRun(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(root)
	text := strings.ReplaceAll(newFleetFitCommand().Example, "\\\n", " ")
	ran := 0
	for _, line := range strings.Split(text, "\n") {
		f := strings.Fields(line)
		if len(f) == 0 || f[0] != "fairlead" {
			continue
		}
		var out, errs bytes.Buffer
		if code := run(context.Background(), f[1:], strings.NewReader(""), &out, &errs); code != 0 {
			t.Errorf("%s: exit %d: %s", line, code, errs.String())
		}
		ran++
	}
	if ran < 2 {
		t.Fatalf("only %d examples ran", ran)
	}
}
