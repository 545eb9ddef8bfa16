package store

import (
	"context"
	"fmt"
	"strings"

	"github.com/ClickHouse/clickhouse-go/v2"
)

// named are the parameters of a statement, as the server reads them.
type named map[string]string

func (n named) args() []any {
	var out []any
	for k, v := range n {
		out = append(out, clickhouse.Named(k, v))
	}
	return out
}

func (s *Store) count(ctx context.Context, question string, args named) (n uint64, err error) {
	err = s.conn.QueryRow(ctx, question, args.args()...).Scan(&n)
	return n, err
}

func (s *Store) texts(ctx context.Context, what, question string, args named) ([]string, error) {
	rows, err := s.conn.Query(ctx, question, args.args()...)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	defer rows.Close()
	var out []string
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return nil, fmt.Errorf("%s: %w", what, err)
		}
		out = append(out, text)
	}
	return out, rows.Err()
}

// Quote writes a text as a literal of SQL, for what a statement takes no parameter for.
func Quote(text string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, `'`, `\'`).Replace(text) + "'"
}

func arrayLiteral(texts []string) string {
	q := make([]string, len(texts))
	for i, t := range texts {
		q[i] = Quote(t)
	}
	return "[" + strings.Join(q, ",") + "]"
}

// literal puts the parameters into a statement, for a mutation: the server keeps
// it as text, and takes none.
func (n named) literal(text string) string {
	var pairs []string
	for k, v := range n {
		pairs = append(pairs, "{"+k+":String}", Quote(v), "{"+k+":Array(String)}", v)
	}
	return strings.NewReplacer(pairs...).Replace(text)
}
