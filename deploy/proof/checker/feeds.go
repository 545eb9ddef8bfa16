package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// line is a shot as a device wrote it.
type line struct {
	bay, id string
	at      time.Time // when it was hit
	carry   float64   // m
	offline float64   // m
}

// readFeeds reads every BAY.csv: id,at,carry,offline, and hit where the device's
// clock (at) is not the hub's: a column that no map reads. A last line without its
// end is still being written. Lines that are no shot are not the checker's to count.
func readFeeds(dir string) (out []line, err error) {
	files, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	if err != nil || len(files) == 0 {
		return nil, fmt.Errorf("no feed files in %s", dir)
	}
	seen := map[string]bool{}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		bay := strings.TrimSuffix(filepath.Base(file), ".csv")
		whole := text[:strings.LastIndexByte(string(text), '\n')+1]
		for row := range strings.Lines(string(whole)) {
			cells := strings.Split(strings.TrimSpace(row), ",")
			if len(cells) < 4 || len(cells) > 5 || seen[bay+"/"+cells[0]] {
				continue // the same shot once more
			}
			if len(cells) == 5 {
				cells[1] = cells[4]
			}
			at, wrong1 := time.Parse(time.RFC3339Nano, cells[1])
			carry, wrong2 := strconv.ParseFloat(cells[2], 64)
			offline, wrong3 := strconv.ParseFloat(cells[3], 64)
			if wrong1 != nil || wrong2 != nil || wrong3 != nil {
				continue
			}
			seen[bay+"/"+cells[0]] = true
			out = append(out, line{bay, cells[0], at, carry, offline})
		}
	}
	return out, nil
}

// command is what a fitter did, and between which instants of the hub's clock it was
// taken. Do is start (a trial), pause, resume, exclude or move (a shot, by the
// device's number).
type command struct {
	Bay   string    `json:"bay"`
	Do    string    `json:"do"`
	Trial string    `json:"trial,omitempty"`
	Shot  string    `json:"shot,omitempty"`
	From  time.Time `json:"from"`
	To    time.Time `json:"to"`
}

func readCommands(file string) (out []command, err error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	for n := 1; lines.Scan(); n++ {
		var c command
		if err := json.Unmarshal(lines.Bytes(), &c); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", file, n, err)
		}
		out = append(out, c)
	}
	return out, lines.Err()
}
