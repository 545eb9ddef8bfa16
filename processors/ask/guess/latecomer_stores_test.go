package guess

import (
	"bytes"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// mergedWorkbook has groups above its names, the day and the time of day in
// cells of their own, and a sheet of sums in front.
func mergedWorkbook(t testing.TB, c []col, rows [][]string, at []time.Time) string {
	f := excelize.NewFile()
	defer f.Close()
	set := func(sheet, cell string, v any) {
		if err := f.SetCellValue(sheet, cell, v); err != nil {
			t.Fatal(err)
		}
	}
	set("Sheet1", "A1", "Summary")
	set("Sheet1", "A2", "Average ball speed")
	set("Sheet1", "B2", 117.2)
	if _, err := f.NewSheet("Shots"); err != nil {
		t.Fatal(err)
	}
	cell := func(col, row int) string {
		name, err := excelize.CoordinatesToCellName(col, row)
		if err != nil {
			t.Fatal(err)
		}
		return name
	}
	set("Shots", "A1", "Bay 2")
	for k, head := range append([]string{"Shot", "Date", "Time"}, names(c, "%s (%s)")...) {
		set("Shots", cell(k+1, 3), head)
	}
	set("Shots", cell(4, 2), "Club")
	set("Shots", cell(5, 2), "Ball")
	if err := f.MergeCell("Shots", cell(5, 2), cell(len(c)+3, 2)); err != nil {
		t.Fatal(err)
	}
	style := func(format string) int {
		n, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	day, clock := style("dd/mm/yyyy"), style("hh:mm:ss")
	for i, r := range rows {
		_, off := at[i].Zone()
		serial := float64(at[i].Unix()+int64(off))/86400 + 25569
		whole := float64(int(serial))
		set("Shots", cell(1, i+4), i+1)
		set("Shots", cell(2, i+4), whole)
		set("Shots", cell(3, i+4), serial-whole)
		for k, n := range []int{day, clock} {
			if err := f.SetCellStyle("Shots", cell(k+2, i+4), cell(k+2, i+4), n); err != nil {
				t.Fatal(err)
			}
		}
		for k, v := range r {
			n, err := strconv.ParseFloat(v, 64)
			if err != nil {
				t.Fatal(err)
			}
			set("Shots", cell(k+4, i+4), n)
		}
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// stored makes a database by statements.
func stored(t testing.TB, fill func(run func(statement string, args ...any))) string {
	dir, err := os.MkdirTemp("", "latecomer")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "x.db")
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	fill(func(statement string, args ...any) {
		if _, err := db.Exec(statement, args...); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	})
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// valuesDatabase has a row a value.
func valuesDatabase(t testing.TB, c []col, rows [][]string) string {
	return stored(t, func(run func(string, ...any)) {
		run("CREATE TABLE reading (shot_id INTEGER, name TEXT, value REAL, unit TEXT)")
		for i, r := range rows {
			for k, v := range r {
				run("INSERT INTO reading VALUES (?, ?, ?, ?)", i+1, c[k].name, v, c[k].unit)
			}
		}
	})
}

// severalDatabase has tables beside the shots, among them one of means.
func severalDatabase(t testing.TB, c []col, rows [][]string, at []time.Time) string {
	return stored(t, func(run func(string, ...any)) {
		list, marks := "", ""
		for _, k := range c {
			list += ", " + k.name + " REAL"
			marks += ", ?"
		}
		run("CREATE TABLE club (id INTEGER PRIMARY KEY, name TEXT, loft REAL)")
		run("INSERT INTO club VALUES (1, 'Seven', 33), (2, 'Nine', 41)")
		run("CREATE TABLE session (id INTEGER PRIMARY KEY, player TEXT, avg_ball_speed REAL, avg_carry REAL)")
		run("INSERT INTO session VALUES (1, 'Reed', 117.1, 161.0)")
		run("CREATE TABLE shot (shot_id INTEGER PRIMARY KEY, session_id INTEGER, club_id INTEGER, time_utc TEXT" + list + ")")
		for i, r := range rows {
			args := []any{i + 1, 1, 1 + i%2, at[i].UTC().Format("2006-01-02 15:04:05")}
			for _, v := range r {
				args = append(args, v)
			}
			run(fmt.Sprintf("INSERT INTO shot VALUES (?, ?, ?, ?%s)", marks), args...)
		}
	})
}
