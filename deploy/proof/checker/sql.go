package main

import (
	"bufio"
	_ "embed"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"strings"
	"time"
)

// row is what the store says of an entry.
type row struct {
	Bay     string   `json:"bay"`
	ID      string   `json:"device_shot_id"`
	Status  string   `json:"status"`
	Trial   string   `json:"trial"`
	Carry   *float64 `json:"carry_m"`
	Offline *float64 `json:"offline_m"`
}

// stands says whether the row is a shot, rather than another reading of one.
func (r row) stands() bool {
	switch r.Status {
	case "repeat", "superseded", "paired", "rejected", "deleted":
		return false
	}
	return true
}

type trialRow struct {
	Bay   string `json:"bay"`
	Trial string `json:"trial"`
	N     int    `json:"shots"`
}

// asker asks the store.
type asker struct{ address, tokenFile, database string }

//go:embed rows.sql
var rowsQuestion string

//go:embed trials.sql
var trialsQuestion string

func (a *asker) rows() ([]row, error) { return questions[row](a, rowsQuestion) }

func (a *asker) trials() ([]trialRow, error) { return questions[trialRow](a, trialsQuestion) }

func questions[R any](a *asker, sql string) (out []R, err error) {
	request, err := http.NewRequest(http.MethodPost, a.address+"/?database="+url.QueryEscape(a.database),
		strings.NewReader(sql))
	if err != nil {
		return nil, err
	}
	if a.tokenFile != "" {
		token, err := os.ReadFile(a.tokenFile)
		if err != nil {
			return nil, err
		}
		request.Header.Set("X-ClickHouse-Key", strings.TrimSpace(string(token)))
	}
	answer, err := (&http.Client{Timeout: time.Minute}).Do(request)
	if err != nil {
		return nil, err
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		text, _ := io.ReadAll(io.LimitReader(answer.Body, 1000))
		return nil, fmt.Errorf("the store answers %s: %s", answer.Status, text)
	}
	lines := bufio.NewScanner(answer.Body)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		var r R
		if err := json.Unmarshal(lines.Bytes(), &r); err != nil {
			return nil, fmt.Errorf("the store's answer %q: %w", lines.Text(), err)
		}
		out = append(out, r)
	}
	return out, lines.Err()
}
