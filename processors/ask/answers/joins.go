package answers

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store/question"
	"fairlead/processors/visit"
)

// side is a studio's player of a join.
type side struct{ studio, player string }

// joined finds which players' visits are told of as one player's, and under which id:
// those for whom two studios keep the same join. A join of one studio alone, or of more
// than two, joins nobody: a code is for two, and who has it from somewhere else must not
// make one of strangers.
func joined(events map[string][]*event.VisitEvent) map[string]string {
	sides := map[string][]side{}
	for _, studio := range slices.Sorted(maps.Keys(events)) {
		for join, player := range visit.JoinsOf(events[studio]) {
			sides[join] = append(sides[join], side{studio, player})
		}
	}
	root := map[string]string{}
	var find func(p string) string
	find = func(p string) string {
		if up, ok := root[p]; ok && up != p {
			root[p] = find(up)
			return root[p]
		}
		root[p] = p
		return p
	}
	for _, join := range slices.Sorted(maps.Keys(sides)) {
		if s := sides[join]; len(s) == 2 && s[0].player != "" && s[1].player != "" {
			root[find(s[0].player)] = find(s[1].player)
		}
	}
	groups := map[string][]string{}
	for _, p := range slices.Sorted(maps.Keys(root)) {
		groups[find(p)] = append(groups[find(p)], p)
	}
	out := map[string]string{}
	for _, all := range groups {
		sum := sha256.Sum256(fmt.Appendf(nil, "joined %q", all))
		for _, p := range all {
			out[p] = "j-" + hex.EncodeToString(sum[:10])
		}
	}
	return out
}

// signOf tells one set of joined players from another; empty: nobody is.
func signOf(joins map[string]string) string {
	if len(joins) == 0 {
		return ""
	}
	return digest("joins", joins)
}

// joins asks the store.
func (f *Fleet) joins(ctx context.Context) (map[string]string, error) {
	events, err := f.store.JoinEvents(ctx)
	if err != nil {
		return nil, err
	}
	return joined(events), nil
}

func (f *Fleet) keepJoins(ctx context.Context, snapshot uint64, joins map[string]string) error {
	var rows [][]any
	for _, p := range slices.Sorted(maps.Keys(joins)) {
		rows = append(rows, []any{snapshot, p, joins[p]})
	}
	return f.put(ctx, "keep who is told of as one", question.KeepJoins(), rows...)
}

// toldAs is, as SQL, as whom a trial's player is told of; empty: as themselves.
func toldAs(joins map[string]string) string {
	if len(joins) == 0 {
		return ""
	}
	from := slices.Sorted(maps.Keys(joins))
	to := make([]string, len(from))
	for i, p := range from {
		to[i] = joins[p]
	}
	return fmt.Sprintf("transform(player, [%s], [%s], player)", quoteAll(from), quoteAll(to))
}

// joinedAs is as whom snapshots tell of a player beside their own id.
func (f *Fleet) joinedAs(ctx context.Context, player string) (out []string, err error) {
	rows, err := f.store.Conn().Query(ctx, question.JoinedAs(), clickhouse.Named("v", player))
	if err != nil {
		return nil, fmt.Errorf("who is told of as one: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var id string
		if err := rows.Scan(&id); err != nil {
			return nil, fmt.Errorf("who is told of as one: %w", err)
		}
		out = append(out, id)
	}
	return out, rows.Err()
}
