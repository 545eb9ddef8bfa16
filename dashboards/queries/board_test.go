package queries

import (
	"encoding/json"
	"os"
	"regexp"
	"strings"
	"testing"

	"fairlead/processors/hub/store"
)

// boardIsAnswered asks every statement of the board of outcomes of a known studio.
func boardIsAnswered(t *testing.T, s *store.Store) {
	t.Helper()
	text, err := os.ReadFile("../grafana/outcomes/outcomes.json")
	if err != nil {
		t.Fatal(err)
	}
	var board struct {
		Panels []struct {
			Title       string
			Description string
			Targets     []struct{ RawSQL string }
		}
		Templating struct{ List []struct{ Query string } }
	}
	if err := json.Unmarshal(text, &board); err != nil {
		t.Fatal(err)
	}
	if len(board.Panels) < 9 || len(board.Templating.List) != 1 {
		t.Fatalf("%d panels", len(board.Panels))
	}
	filter := regexp.MustCompile(`\$__timeFilter\(([a-z_.]+)\)`)
	statements := map[string]string{"the list of studios": board.Templating.List[0].Query}
	for _, p := range board.Panels {
		if p.Title == "" || p.Description == "" || len(p.Targets) != 1 {
			t.Errorf("%q says nothing, or not one thing", p.Title)
			continue
		}
		sql := filter.ReplaceAllString(p.Targets[0].RawSQL,
			"$1 >= toDateTime('2020-01-01 00:00:00') AND $1 <= toDateTime('2100-01-01 00:00:00')")
		statements[p.Title] = strings.ReplaceAll(sql, "${studio:singlequote}", "'harbour-row'")
	}
	for title, sql := range statements {
		rows, err := s.Conn().Query(t.Context(), sql)
		if err != nil {
			t.Errorf("%s: %v", title, err)
			continue
		}
		n := 0
		for rows.Next() {
			n++
		}
		if err := rows.Err(); err != nil || n == 0 {
			t.Errorf("%s: %d rows, %v", title, n, err)
		}
		rows.Close()
	}
}
