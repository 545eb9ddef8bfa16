package store

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"fairlead/ingest/contract/event"
)

// Words that people wrote before their texts were sealed stand in rows of events, in
// rows computed of them, in snapshots of the fleet and in sentences about those. A
// mutation would leave them in parts that the engine drops when it likes to. So a
// table is filled anew beside the old one, the two change names in one step, and the
// old one is dropped with its files. Each table is by itself, and may be done again.

// asideOf is the table that takes another's place.
func asideOf(table string) string { return table + "_sealing" }

// notedOf is a table of what changes in another.
func notedOf(table string) string { return table + "_sealed" }

// EachEvent gives the bytes of each visit event stored of a studio.
func (s *Store) EachEvent(ctx context.Context, studio string, each func(data []byte) error) error {
	rows, err := s.conn.Query(ctx, "SELECT event FROM visit_events FINAL WHERE studio = ? ORDER BY bay, id", studio)
	if err != nil {
		return fmt.Errorf("visit events: %w", plain(err))
	}
	defer rows.Close()
	for rows.Next() {
		var data []byte
		if err := rows.Scan(&data); err != nil {
			return fmt.Errorf("visit events: %w", err)
		}
		if err := each(data); err != nil {
			return err
		}
	}
	return rows.Err()
}

// run executes statements in their order.
func (s *Store) run(ctx context.Context, what string, statements ...string) error {
	for _, statement := range statements {
		if err := s.conn.Exec(ctx, statement); err != nil {
			return fmt.Errorf("seal %s: %w", what, plain(err))
		}
	}
	return nil
}

// drops are statements that take tables away with their files.
func drops(tables ...string) (out []string) {
	for _, t := range tables {
		out = append(out, "DROP TABLE IF EXISTS "+t+" SYNC")
	}
	return out
}

// Unsealing drops what a cut left beside the tables, some of it in clear.
func (s *Store) Unsealing(ctx context.Context) error {
	left, err := s.texts(ctx, "tables of a sealing", "SELECT name FROM system.tables WHERE database = currentDatabase() AND "+
		"(endsWith(name, '_sealing') OR endsWith(name, '_sealed') OR startsWith(name, 'scratch_'))", nil)
	if err != nil {
		return err
	}
	return s.run(ctx, "the store", drops(left...)...)
}

// refill puts a table in the place of another, filled by statements that write into {to}.
func (s *Store) refill(ctx context.Context, table string, fill ...string) error {
	statements := append(drops(asideOf(table)), "CREATE TABLE "+asideOf(table)+" AS "+table)
	for _, f := range fill {
		statements = append(statements, strings.ReplaceAll(f, "{to}", asideOf(table)))
	}
	statements = append(statements, "EXCHANGE TABLES "+table+" AND "+asideOf(table))
	return s.run(ctx, table, append(statements, drops(asideOf(table))...)...)
}

// SealEvents puts events in the place of those stored under their ids.
func (s *Store) SealEvents(ctx context.Context, events []*event.VisitEvent) error {
	const table = "visit_events"
	noted := notedOf(table)
	if err := s.run(ctx, table, append(drops(noted), "CREATE TABLE "+noted+" AS "+table)...); err != nil {
		return err
	}
	if err := insert(ctx, s, noted, eventColumns, events); err != nil {
		return fmt.Errorf("seal %s: %w", table, err)
	}
	err := s.refill(ctx, table,
		"INSERT INTO {to} SELECT * FROM "+table+" FINAL WHERE (studio, bay, id) NOT IN (SELECT studio, bay, id FROM "+noted+")",
		"INSERT INTO {to} SELECT * FROM "+noted+" FINAL")
	if err != nil {
		return err
	}
	return s.run(ctx, table, drops(noted)...)
}

// SealComputed puts rows as they should be in the place of those that say something
// else. A row that is missing, or that nothing explains, is the audit's to mend, and
// one of a trial that lost its shots goes: it says nothing, and says it in words.
func (s *Store) SealComputed(ctx context.Context, should *Scratch) error {
	for _, table := range computed {
		key, noted := "studio, bay, "+keysOf[table], notedOf(table)
		side := func(from string) string {
			return "(SELECT " + key + ", " + RowHash(table) + " AS h FROM " + from + " FINAL WHERE " + says[table] + ")"
		}
		err := s.run(ctx, table, append(drops(noted), "CREATE TABLE "+noted+" ENGINE = MergeTree ORDER BY tuple() AS SELECT "+key+" FROM "+
			side(table)+" AS is INNER JOIN "+side(should.name(table))+" AS should USING ("+key+") WHERE is.h != should.h")...)
		if err != nil {
			return err
		}
		own := "(" + key + ") IN (SELECT " + key + " FROM " + noted + ")"
		err = s.refill(ctx, table,
			"INSERT INTO {to} SELECT * FROM "+table+" FINAL WHERE "+says[table]+" AND NOT ("+own+")",
			"INSERT INTO {to} SELECT * FROM "+should.name(table)+" FINAL WHERE "+own)
		if err != nil {
			return err
		}
		if err := s.run(ctx, table, drops(noted)...); err != nil {
			return err
		}
	}
	return nil
}

// Word is a text that was in clear, and what stands for it.
type Word struct{ Clear, Sealed string }

// said is where sentences stand that may hold a text of a person.
var said = map[string][]string{"answers": {"label", "refused", "body"}, "set_aside": {"reason"}}

// wordTable holds the words while sentences are sealed.
const wordTable = "words_sealing"

// SealFleet takes into the snapshots of the fleet what the trials say now, and into
// sentences what stands for words. A row whose trial says nothing any more loses its
// words.
func (s *Store) SealFleet(ctx context.Context, words []Word) error {
	err := s.refill(ctx, "fleet_trials", `INSERT INTO {to} SELECT f.* REPLACE(t.build_name AS build_name, t.instruction AS instruction)
		FROM fleet_trials AS f LEFT ANY JOIN (SELECT studio, bay, session, trial, part, build_name, instruction FROM trials FINAL) AS t
		ON f.studio = t.studio AND f.bay = t.bay AND f.session = t.session AND f.trial = t.trial AND f.part = t.part`)
	if err != nil {
		return err
	}
	err = s.refill(ctx, "fleet_builds", `INSERT INTO {to} SELECT b.* REPLACE(n.name AS build_name)
		FROM fleet_builds AS b LEFT ANY JOIN (SELECT snapshot, category, build, any(build_name) AS name FROM fleet_trials WHERE NOT gamer
			GROUP BY snapshot, category, build) AS n
		ON b.snapshot = n.snapshot AND b.category = n.category AND b.build = n.build`)
	if err != nil || len(words) == 0 {
		return err
	}
	if err := s.putWords(ctx, words); err != nil {
		return err
	}
	for table, columns := range said {
		var replace []string
		for _, c := range columns {
			replace = append(replace, "arrayFold((said_, word_) -> replaceAll(said_, word_.1, word_.2), words_, "+c+") AS "+c)
		}
		err := s.refill(ctx, table, "INSERT INTO {to} WITH (SELECT groupArray((clear, sealed)) FROM "+wordTable+") AS words_ SELECT * REPLACE("+
			strings.Join(replace, ", ")+") FROM "+table+" FINAL")
		if err != nil {
			return err
		}
	}
	return s.run(ctx, "sentences", drops(wordTable)...)
}

// putWords writes the words down, longer ones first, as they stand in a text and as
// they stand in JSON.
func (s *Store) putWords(ctx context.Context, words []Word) error {
	err := s.run(ctx, "sentences", append(drops(wordTable),
		"CREATE TABLE "+wordTable+" (clear String, sealed String) ENGINE = MergeTree ORDER BY (-length(clear), clear)")...)
	if err != nil {
		return err
	}
	batch, err := s.conn.PrepareBatch(ctx, "INSERT INTO "+wordTable+" (clear, sealed)")
	if err != nil {
		return fmt.Errorf("seal sentences: %w", plain(err))
	}
	for _, w := range words {
		forms := map[string]bool{w.Clear: true}
		if quoted, err := json.Marshal(w.Clear); err == nil {
			forms[string(quoted[1:len(quoted)-1])] = true
		}
		for form := range forms {
			if err := batch.Append(form, w.Sealed); err != nil {
				batch.Abort()
				return fmt.Errorf("seal sentences: %w", err)
			}
		}
	}
	if err := batch.Send(); err != nil {
		return fmt.Errorf("seal sentences: %w", plain(err))
	}
	return nil
}

// Holding counts the rows, old versions included, that hold one of the words in any
// text, by table and column. Lines of devices and keys of rows are not looked at.
func (s *Store) Holding(ctx context.Context, words []string) (map[string]uint64, error) {
	out := map[string]uint64{}
	if len(words) == 0 {
		return out, nil
	}
	const columns = `SELECT concat(table, '.', name) FROM system.columns WHERE database = currentDatabase()
		AND type IN ('String', 'LowCardinality(String)') AND NOT (table = 'entries' AND name IN ('entry', 'faults', 'device_club', 'file'))
		AND table IN (SELECT name FROM system.tables WHERE database = currentDatabase() AND engine LIKE '%MergeTree') ORDER BY 1`
	all, err := s.texts(ctx, "columns of the store", columns, nil)
	if err != nil {
		return nil, err
	}
	list := make([]Word, len(words))
	for i, w := range words {
		list[i] = Word{w, ""}
	}
	if err := s.putWords(ctx, list); err != nil {
		return nil, err
	}
	defer s.run(context.WithoutCancel(ctx), "the store", drops(wordTable)...)
	for _, c := range all {
		table, column, _ := strings.Cut(c, ".")
		if table == wordTable {
			continue
		}
		n, err := s.count(ctx, fmt.Sprintf("WITH (SELECT groupArray(clear) FROM %s) AS words_ SELECT count() FROM %s WHERE "+
			"arrayExists(word_ -> position(%s, word_) > 0, words_)", wordTable, table, "`"+column+"`"), nil)
		if err != nil {
			return nil, fmt.Errorf("words in %s: %w", c, plain(err))
		}
		if n > 0 {
			out[c] = n
		}
	}
	return out, nil
}
