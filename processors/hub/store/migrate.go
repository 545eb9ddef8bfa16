package store

import (
	"context"
	"embed"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"
)

//go:embed migrations/*.sql
var migrations embed.FS

// Migration is one forward step of the schema.
type Migration struct {
	Number     int
	Name       string
	Statements []string
}

// Migrations returns the steps in order.
func Migrations() ([]Migration, error) {
	names, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		return nil, err
	}
	slices.Sort(names)
	var out []Migration
	for _, name := range names {
		text, err := migrations.ReadFile(name)
		if err != nil {
			return nil, err
		}
		base := strings.TrimSuffix(strings.TrimPrefix(name, "migrations/"), ".sql")
		number, err := strconv.Atoi(base[:4])
		if err != nil {
			return nil, fmt.Errorf("migration %s: a name begins with four digits", name)
		}
		out = append(out, Migration{Number: number, Name: base, Statements: statements(string(text))})
	}
	return out, nil
}

// statements splits a script at semicolons that end a line.
func statements(text string) (out []string) {
	for part := range strings.SplitSeq(text, ";\n") {
		var code []string
		for line := range strings.Lines(part) {
			if !strings.HasPrefix(strings.TrimSpace(line), "--") {
				code = append(code, line)
			}
		}
		if s := strings.TrimSuffix(strings.TrimSpace(strings.Join(code, "")), ";"); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// Plan says at which step the schema is, and which ones this program has beyond
// it. A schema that is newer than the program is an error.
func (s *Store) Plan(ctx context.Context) (done int, pending []Migration, err error) {
	var there uint64
	var at uint32
	const table = "SELECT count() FROM system.tables WHERE database = currentDatabase() AND name = 'schema_steps'"
	if err := s.conn.QueryRow(ctx, table).Scan(&there); err != nil {
		return 0, nil, fmt.Errorf("migrate: %w", err)
	}
	if there > 0 {
		if at, err = s.Step(ctx); err != nil {
			return 0, nil, fmt.Errorf("migrate: %w", err)
		}
	}
	steps, err := Migrations()
	if err != nil {
		return 0, nil, fmt.Errorf("migrate: %w", err)
	}
	if last := steps[len(steps)-1].Number; int(at) > last {
		return int(at), nil, fmt.Errorf("migrate: the schema is at step %d, this program knows up to %d: update it", at, last)
	}
	for _, step := range steps {
		if step.Number > int(at) {
			pending = append(pending, step)
		}
	}
	return int(at), pending, nil
}

// Step is the step that the schema is at; an error where there is none yet.
func (s *Store) Step(ctx context.Context) (step uint32, err error) {
	return step, s.conn.QueryRow(ctx, "SELECT max(number) FROM schema_steps").Scan(&step)
}

// Migrate brings the schema to this program's version. Each statement may run
// again, so a step that was cut short is simply repeated; a schema that is newer than the
// program is refused rather than written to.
func (s *Store) Migrate(ctx context.Context) error {
	const table = `CREATE TABLE IF NOT EXISTS schema_steps (number UInt32, name String, at DateTime64(3, 'UTC') DEFAULT now64(3))
		ENGINE = ReplacingMergeTree ORDER BY number`
	if err := s.conn.Exec(ctx, table); err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	_, steps, err := s.Plan(ctx)
	if err != nil {
		return err
	}
	for _, step := range steps {
		for _, statement := range step.Statements {
			if err := s.conn.Exec(ctx, statement); err != nil {
				return fmt.Errorf("migrate: step %s: %w\n%s", step.Name, err, statement)
			}
		}
		if err := s.conn.Exec(ctx, "INSERT INTO schema_steps (number, name) VALUES (?, ?)", uint32(step.Number), step.Name); err != nil {
			return fmt.Errorf("migrate: step %s: %w", step.Name, err)
		}
	}
	return s.writeFlightNow(ctx)
}

// Replicated turns a statement of the schema into its form for a cluster: every
// table on all nodes, with replicated engines. It is text work on our own
// statements only; the engine parse-checks the result in a test.
func Replicated(statement, cluster string) string {
	lines := strings.SplitN(statement, "\n", 2)
	head := lines[0]
	for _, kind := range []string{"CREATE TABLE IF NOT EXISTS ", "CREATE VIEW IF NOT EXISTS ", "CREATE OR REPLACE VIEW ", "ALTER TABLE "} {
		if rest, ok := strings.CutPrefix(head, kind); ok {
			name, tail, _ := strings.Cut(rest, " ")
			head = kind + name + " ON CLUSTER '" + cluster + "'"
			if tail != "" {
				head += " " + tail
			}
		}
	}
	lines[0] = head
	out := strings.Join(lines, "\n")
	const args = "'/clickhouse/tables/{shard}/{database}/{table}', '{replica}'"
	out = strings.Replace(out, "ENGINE = ReplacingMergeTree(", "ENGINE = ReplicatedReplacingMergeTree("+args+", ", 1)
	out = strings.Replace(out, "ENGINE = ReplacingMergeTree\n", "ENGINE = ReplicatedReplacingMergeTree("+args+")\n", 1)
	return strings.Replace(out, "ENGINE = MergeTree\n", "ENGINE = ReplicatedMergeTree("+args+")\n", 1)
}
