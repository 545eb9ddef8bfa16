package main

import (
	"go/parser"
	"go/token"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
)

// The checker shares nothing with what it checks.
func TestTheCheckerIsAStranger(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) < 4 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, file := range files {
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, i := range f.Imports {
			if p := strings.Trim(i.Path.Value, `"`); strings.HasPrefix(p, "fairlead") || strings.Contains(p, ".") {
				t.Errorf("%s knows %s", file, p)
			}
		}
	}
}

// Each kind of fault is found by the checker, and nothing else.
func TestTheCheckerFindsEachFault(t *testing.T) {
	begin := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	after := func(s float64) time.Time { return begin.Add(time.Duration(s * float64(time.Second))) }
	commands := []command{
		{Bay: "north", Do: "start", Trial: "t1", From: after(0), To: after(0)},
		{Bay: "north", Do: "start", Trial: "t2", From: after(10), To: after(10.1)},
		{Bay: "north", Do: "pause", From: after(20), To: after(20)},
		{Bay: "north", Do: "exclude", Shot: "2", From: after(30), To: after(30)},
		{Bay: "north", Do: "move", Shot: "3", Trial: "t2", From: after(30), To: after(30)},
	}
	lines := []line{{"north", "1", after(5), 150, 1}, {"north", "2", after(6), 151, 1}, {"north", "3", after(7), 152, 1},
		{"north", "4", after(10.05), 153, 1}, {"north", "5", after(15), 154, 1}, {"north", "6", after(25), 155, 1}}
	whole := func() ([]row, []trialRow) {
		f := func(x float64) *float64 { return &x }
		return []row{
			{"north", "1", "counts", "t1", f(150), f(1)}, {"north", "2", "excluded", "t1", f(151), f(1)},
			{"north", "3", "counts", "t2", f(152), f(1)}, {"north", "4", "counts", "t1", f(153), f(1)},
			{"north", "5", "counts", "t2", f(154), f(1)}, {"north", "6", "paused", "", f(155), f(1)},
			{"north", "1", "repeat", "", f(150), f(1)}, {"north", "", "rejected", "", nil, nil},
		}, []trialRow{{"north", "t1", 2}, {"north", "t2", 2}}
	}
	for name, c := range map[string]struct {
		damage func([]row, []trialRow) ([]row, []trialRow)
		want   verdict
	}{
		"none": {func(r []row, t []trialRow) ([]row, []trialRow) { return r, t }, verdict{}},
		"either side of a change": {func(r []row, t []trialRow) ([]row, []trialRow) {
			r[3].Trial, t[0].N, t[1].N = "t2", 1, 3
			return r, t
		}, verdict{}},
		"asked": {func(r []row, t []trialRow) ([]row, []trialRow) {
			r[4].Status, r[4].Trial, t[1].N = "between", "", 1
			return r, t
		}, verdict{Asked: 1}},
		"lost":    {func(r []row, t []trialRow) ([]row, []trialRow) { return slices.Delete(r, 5, 6), t }, verdict{Lost: 1}},
		"doubled": {func(r []row, t []trialRow) ([]row, []trialRow) { return append(r, r[0]), t }, verdict{Doubled: 1}},
		"strange": {func(r []row, t []trialRow) ([]row, []trialRow) {
			return append(r, row{Bay: "quay", ID: "1", Status: "counts", Trial: "t1"}), t
		}, verdict{Strange: 1}},
		"altered": {func(r []row, t []trialRow) ([]row, []trialRow) { *r[0].Carry = 149; return r, t }, verdict{Altered: 1}},
		"mistagged": {func(r []row, t []trialRow) ([]row, []trialRow) {
			r[0].Trial, t[0].N, t[1].N = "t2", 1, 3
			return r, t
		}, verdict{Mistagged: 1}},
		"a row that counts wrongly": {func(r []row, t []trialRow) ([]row, []trialRow) { t[0].N = 7; return r, t }, verdict{TrialsWrong: 1}},
		"a row gone":                {func(r []row, t []trialRow) ([]row, []trialRow) { return r, t[:1] }, verdict{TrialsWrong: 1}},
	} {
		rows, trials := c.damage(whole())
		got := compare(lines, commands, rows, trials)
		c.want.Lines, got.Examples = len(lines), nil
		if !reflect.DeepEqual(*got, c.want) {
			t.Errorf("%s: %+v, want %+v", name, *got, c.want)
		}
	}
}
