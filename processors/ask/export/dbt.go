package export

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/hub/store"
	"fairlead/processors/hub/store/question"
)

// sourceViews are what analysts build on, with what each holds.
var sourceViews = []struct{ name, holds string }{
	{"shots", "Shots that count, each once."}, {"shots_all", "Every entry once, whatever became of it; status says what."},
	{"trial_rows", "Trials that have shots, one row a part, with means, standard deviations and log spreads."},
	{"trial_outcomes", "The long form of trial_rows: one row a part and outcome, with its sampling variance."},
	{"verdicts_live", "What was decided and not taken back."}, {"verdicts_followed",
		"The same with who fitted, the order that was made of it and what came of that."}, {"promises_checked",
		"Promises of verdicts whose club was hit again, and what came of them."},
	{"bay_days", "What a bay did on a day."},
}

type sourceColumn struct {
	Name        string       `yaml:"name"`
	Description string       `yaml:"description"`
	Tests       []sourceTest `yaml:"data_tests,omitempty"`
}

type sourceTest struct {
	NotNull  bool
	Accepted []string
}

// MarshalYAML writes a test as dbt reads it.
func (t sourceTest) MarshalYAML() (any, error) {
	if t.NotNull {
		return "not_null", nil
	}
	return map[string]map[string][]string{"accepted_values": {"values": t.Accepted}}, nil
}

type sourceTable struct {
	Name        string         `yaml:"name"`
	Description string         `yaml:"description"`
	Columns     []sourceColumn `yaml:"columns"`
}

// keys are never empty in a view that has them.
var keys = []string{"studio", "bay", "shot_id", "session", "trial", "part", "verdict", "outcome", "day"}

// Sources are the store's views as a file of dbt's sources, with the dictionary's words
// and tests of keys and categories.
func Sources(ctx context.Context, s *store.Store) (string, error) {
	rows, err := s.Conn().Query(ctx, question.EveryColumn())
	if err != nil {
		return "", fmt.Errorf("columns of the store: %w", err)
	}
	defer rows.Close()
	of := map[string][]sourceColumn{}
	for rows.Next() {
		var table, name, kind, comment, engine string
		if err := rows.Scan(&table, &name, &kind, &comment, &engine); err != nil {
			return "", fmt.Errorf("columns of the store: %w", err)
		}
		c, ok := Describe(table, name)
		if !ok {
			return "", fmt.Errorf("column %s of %s is described nowhere: update this program", name, table)
		}
		column := sourceColumn{Name: name, Description: c.Comment()}
		if slices.Contains(keys, name) && !strings.HasPrefix(kind, "Nullable") {
			column.Tests = append(column.Tests, sourceTest{NotNull: true})
		}
		if name == "category" && table != "shots_all" {
			column.Tests = append(column.Tests, sourceTest{Accepted: glossary.CategoryNames()})
		}
		of[table] = append(of[table], column)
	}
	if err := rows.Err(); err != nil {
		return "", fmt.Errorf("columns of the store: %w", err)
	}
	var tables []sourceTable
	for _, v := range sourceViews {
		tables = append(tables, sourceTable{v.name, v.holds, of[v.name]})
	}
	type source struct {
		Name   string        `yaml:"name"`
		Schema string        `yaml:"schema"`
		Tables []sourceTable `yaml:"tables"`
	}
	var b strings.Builder
	b.WriteString("# Made of the store and its dictionary; a test says when it is out of date.\n")
	err = yaml.NewEncoder(&b, yaml.Indent(2)).Encode(struct {
		Version int      `yaml:"version"`
		Sources []source `yaml:"sources"`
	}{2, []source{{"fairlead", "fairlead", tables}}})
	return b.String(), err
}
