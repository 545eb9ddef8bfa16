package queries

import (
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"go.uber.org/goleak"

	"fairlead/deploy/engine/enginetest"
	"fairlead/processors/hub/store"
)

func TestMain(m *testing.M) {
	goleak.VerifyTestMain(enginetest.Wrap(m))
}

// header is what a file says of itself.
type header struct {
	title   string
	parts   map[string]bool
	params  []string // name (Type)
	columns []string
	url     string
	body    string // the file that --data-binary names
}

var (
	heading   = regexp.MustCompile(`^-- (For|Parameters|Columns|Run):`)
	parameter = regexp.MustCompile(`^--   (\w+ \(\w+\)): \S`)
	described = regexp.MustCompile(`^--   (\w+)  +\S`)
	used      = regexp.MustCompile(`\{(\w+):(\w+)\}`)
	address   = regexp.MustCompile(`'(http://[^']+)'`)
	data      = regexp.MustCompile(`--data-binary @(\S+)`)
)

func read(t *testing.T, file string) (header, string) {
	t.Helper()
	text, err := os.ReadFile(file)
	check(t, err)
	h := header{parts: map[string]bool{}}
	part := ""
	for i, line := range strings.Split(string(text), "\n") {
		if !strings.HasPrefix(line, "--") {
			return h, string(text)
		}
		if i == 0 {
			h.title = strings.TrimPrefix(line, "-- ")
		}
		if m := heading.FindStringSubmatch(line); m != nil {
			part = m[1]
			h.parts[part] = true
			continue
		}
		switch part {
		case "Parameters":
			if m := parameter.FindStringSubmatch(line); m != nil {
				h.params = append(h.params, m[1])
			} else {
				t.Errorf("%s: %q: write a parameter as name (Type): what it is", file, line)
			}
		case "Columns":
			if m := described.FindStringSubmatch(line); m != nil {
				h.columns = append(h.columns, m[1])
			} else {
				t.Errorf("%s: %q: write a column as its name, two spaces, and what it is", file, line)
			}
		case "Run":
			if m := address.FindStringSubmatch(line); m != nil {
				h.url = m[1]
			}
			if m := data.FindStringSubmatch(line); m != nil {
				h.body = m[1]
			}
		}
	}
	t.Fatalf("%s: no statement", file)
	return h, ""
}

func files(t *testing.T) []string {
	t.Helper()
	out, err := filepath.Glob("*.sql")
	check(t, err)
	if len(out) < 12 {
		t.Fatalf("only %d questions here", len(out))
	}
	return out
}

// Headers are complete, parameters in them are those of the statement, and the
// README lists the file.
func TestHeaders(t *testing.T) {
	readme, err := os.ReadFile("README.md")
	check(t, err)
	for _, file := range files(t) {
		h, text := read(t, file)
		if h.title == "" || !h.parts["For"] || !h.parts["Columns"] || !h.parts["Run"] || len(h.columns) == 0 {
			t.Errorf("%s: the header lacks a part: title, For, Columns, Run", file)
		}
		if h.body != "dashboards/queries/"+file {
			t.Errorf("%s: the command sends %q", file, h.body)
		}
		want := map[string]bool{}
		for _, m := range used.FindAllStringSubmatch(text, -1) {
			want[fmt.Sprintf("%s (%s)", m[1], m[2])] = true
			if !strings.Contains(h.url, "&param_"+m[1]+"=") {
				t.Errorf("%s: the command gives no %s", file, m[1])
			}
		}
		for _, p := range h.params {
			if !want[p] {
				t.Errorf("%s: parameter %s is described but not used", file, p)
			}
			delete(want, p)
		}
		for p := range want {
			t.Errorf("%s: parameter %s is used but not described", file, p)
		}
		if !strings.Contains(string(readme), "]("+file+")") {
			t.Errorf("README.md does not list %s", file)
		}
	}
	for _, m := range regexp.MustCompile(`\]\((\w+\.sql)\)`).FindAllStringSubmatch(string(readme), -1) {
		if _, err := os.Stat(m[1]); err != nil {
			t.Errorf("README.md lists %s, which is not there", m[1])
		}
	}
}

// ask sends a file as its header's command does, and returns the lines.
func ask(t *testing.T, db *enginetest.Database, h header, text string) []string {
	t.Helper()
	url := strings.Replace(h.url, "127.0.0.1:8123", db.Process.Addr(), 1)
	url = strings.Replace(url, "database=fairlead", "database="+db.Name, 1)
	request, err := http.NewRequestWithContext(t.Context(), http.MethodPost, url, strings.NewReader(text))
	check(t, err)
	request.Header.Set("X-ClickHouse-Key", db.Process.Token())
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	response, err := client.Do(request)
	check(t, err)
	defer response.Body.Close()
	answer, err := io.ReadAll(response.Body)
	check(t, err)
	if response.StatusCode != http.StatusOK {
		t.Fatalf("%s\n%s", response.Status, answer)
	}
	return strings.Split(strings.TrimSuffix(string(answer), "\n"), "\n")
}

func TestKnownAnswers(t *testing.T) {
	db := enginetest.New(t)
	s := store.New(db.Open(t))
	newWorld(t, s)
	t.Run("the board of outcomes", func(t *testing.T) { boardIsAnswered(t, s) })
	for _, file := range files(t) {
		t.Run(file, func(t *testing.T) {
			h, text := read(t, file)
			got := ask(t, db, h, text)
			if columns := strings.Join(h.columns, "\t"); got[0] != columns {
				t.Errorf("columns\n%s\nbut the header says\n%s", got[0], columns)
			}
			if file == "storage_by_table.sql" {
				storage(t, got[1:])
				return
			}
			want, ok := answers[file]
			if !ok {
				t.Fatalf("no known answer; it says\n%s", strings.Join(got[1:], "\n"))
			}
			if answer := strings.Join(got[1:], "\n"); answer != strings.TrimSpace(strings.ReplaceAll(want, "|", "\t")) {
				t.Errorf("got\n%s\nwant\n%s", strings.ReplaceAll(answer, "\t", "|"), strings.TrimSpace(want))
			}
		})
	}
}

// storage checks what does not depend on how the engine packs.
func storage(t *testing.T, lines []string) {
	seen := map[string]bool{}
	for _, line := range lines {
		var table string
		var parts, rows, disk, unpacked int
		var ratio, each float64
		if _, err := fmt.Sscan(line, &table, &parts, &rows, &disk, &unpacked, &ratio, &each); err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		seen[table] = true
		if rows <= 0 || disk <= 0 || ratio <= 0 || each < float64(disk)/float64(rows)-.1 || each > float64(disk)/float64(rows)+.1 {
			t.Errorf("%q", line)
		}
		if table == "trials" && rows != 10 {
			t.Errorf("%d trials", rows)
		}
	}
	if !seen["entries"] || !seen["trials"] || !seen["verdicts"] {
		t.Errorf("tables %v", seen)
	}
}
