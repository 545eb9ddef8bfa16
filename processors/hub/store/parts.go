package store

import (
	"context"
	"fmt"
	"reflect"
	"strings"
)

// A part is a piece of a table on the disk. One bit that flips in it makes
// every question fail that reads it, and merges too; ClickHouse leaves it to a
// hand to take the part away. Here it is done by the program: what can still
// be read is written again, the part is detached (it stays on the disk, for
// who wants to look), and what is missing then comes from journals and facts.

// Damage is a part that can't be read as it was written.
type Damage struct {
	Table string
	Part  string
	Why   string
	Rows  uint64 // in it
	Saved uint64 // of them, read and written again
}

// signs are the errors that a damaged part can show as. A sign is no proof: it
// is only worth a look.
const signs = `'CHECKSUM_DOESNT_MATCH','CORRUPTED_DATA','CANNOT_DECOMPRESS','CANNOT_READ_ALL_DATA','ATTEMPT_TO_READ_AFTER_EOF',
	'INCORRECT_DATA','UNEXPECTED_END_OF_FILE','FILE_DOESNT_EXIST','CANNOT_OPEN_FILE','NO_FILE_IN_DATA_PART',
	'BAD_SIZE_OF_FILE_IN_DATA_PART','UNKNOWN_CODEC','TOO_LARGE_SIZE_COMPRESSED','UNKNOWN_TYPE','SIZES_OF_MARKS_FILES_ARE_INCONSISTENT',
	'CANNOT_PARSE_INPUT_ASSERTION_FAILED','CANNOT_READ_FROM_FILE_DESCRIPTOR'`

// Signs counts, since the server started, what may be signs of a damaged part:
// whoever met them, a question or a merge.
func (s *Store) Signs(ctx context.Context) (n uint64, err error) {
	if err := s.conn.QueryRow(ctx, "SELECT sum(value) FROM system.errors WHERE name IN ("+signs+")").Scan(&n); err != nil {
		return 0, fmt.Errorf("signs of damage: %w", plain(err))
	}
	return n, nil
}

// Detached counts the parts that were taken away, by us or by the server when it started.
func (s *Store) Detached(ctx context.Context) (n uint64, err error) {
	if err := s.conn.QueryRow(ctx, "SELECT count() FROM system.detached_parts WHERE database = currentDatabase()").Scan(&n); err != nil {
		return 0, fmt.Errorf("detached parts: %w", plain(err))
	}
	return n, nil
}

// Damaged reads every part of the database and lists those that are not as
// they were written. Replicated tables mend themselves from their replicas.
func (s *Store) Damaged(ctx context.Context) ([]Damage, error) {
	tables, err := s.texts(ctx, "tables", `SELECT name FROM system.tables
		WHERE database = currentDatabase() AND endsWith(engine, 'MergeTree') AND NOT startsWith(engine, 'Replicated') ORDER BY name`, nil)
	if err != nil {
		return nil, err
	}
	var out []Damage
	for _, table := range tables {
		found, err := s.checkTable(ctx, table)
		if err != nil {
			return out, err
		}
		out = append(out, found...)
	}
	return out, nil
}

func (s *Store) checkTable(ctx context.Context, table string) ([]Damage, error) {
	rows, err := s.conn.Query(ctx, "CHECK TABLE "+table+" SETTINGS check_query_single_value_result = 0")
	if err != nil {
		return nil, fmt.Errorf("check table %s: %w", table, plain(err))
	}
	defer rows.Close()
	var out []Damage
	for rows.Next() {
		d := Damage{Table: table}
		passed := reflect.New(rows.ColumnTypes()[1].ScanType()) // a number in some versions, a truth in others
		if err := rows.Scan(&d.Part, passed.Interface(), &d.Why); err != nil {
			return out, fmt.Errorf("check table %s: %w", table, err)
		}
		if passed.Elem().IsZero() {
			d.Why, _, _ = strings.Cut(d.Why, "Stack trace")
			out = append(out, d)
		}
	}
	if err := rows.Err(); err != nil {
		return out, fmt.Errorf("check table %s: %w", table, plain(err))
	}
	return out, nil
}

// SetAside writes again what can be read of a damaged part, and detaches it.
func (s *Store) SetAside(ctx context.Context, d *Damage) error {
	err := s.conn.QueryRow(ctx, "SELECT sum(rows) FROM system.parts WHERE active AND database = currentDatabase() AND table = ? AND name = ?",
		d.Table, d.Part).Scan(&d.Rows)
	if err != nil {
		return fmt.Errorf("rows of part %s of %s: %w", d.Part, d.Table, plain(err))
	}
	if d.Rows == 0 {
		return nil // merged or dropped meanwhile
	}
	if d.Saved, err = s.salvage(ctx, d, 0, d.Rows); err != nil {
		return err
	}
	if err := s.conn.Exec(ctx, "ALTER TABLE "+d.Table+" DETACH PART "+Quote(d.Part)); err != nil {
		return fmt.Errorf("detach part %s of %s: %w", d.Part, d.Table, plain(err))
	}
	return nil
}

// granule is how many rows are read together: fewer can't be told apart.
const granule = 8192

// salvage copies rows [from, to) of a part, leaving out granules that can't be
// read. A repeated row changes nothing, so the part may stay until all is done.
func (s *Store) salvage(ctx context.Context, d *Damage, from, to uint64) (saved uint64, err error) {
	err = s.conn.Exec(ctx, fmt.Sprintf("INSERT INTO %s SELECT * FROM %s WHERE _part = ? AND _part_offset >= ? AND _part_offset < ?", d.Table,
		d.Table),
		d.Part, from, to)
	if err == nil {
		return to - from, nil
	}
	if ctx.Err() != nil {
		return 0, ctx.Err()
	}
	if !strings.Contains(err.Error(), "code") { // not the server's word
		return 0, fmt.Errorf("save the rows of part %s of %s: %w", d.Part, d.Table, plain(err))
	}
	if to-from <= granule {
		return 0, nil
	}
	middle := from + (to-from)/2/granule*granule
	if middle == from {
		middle = from + granule
	}
	for _, half := range [2][2]uint64{{from, middle}, {middle, to}} {
		n, err := s.salvage(ctx, d, half[0], half[1])
		saved += n
		if err != nil {
			return saved, err
		}
	}
	return saved, nil
}

// Mutations is a number that grows with each change or deletion of rows that is
// ordered by statement: nothing of a shot's way is one, so that a new one is worth
// a look. The server forgets old ones, and numbers them on.
func (s *Store) Mutations(ctx context.Context) (n uint64, err error) {
	const question = `SELECT sum(latest) FROM (SELECT max(toUInt64OrZero(extract(mutation_id, '[0-9]+'))) AS latest FROM system.mutations
		WHERE database = currentDatabase() AND table IN ('entries', 'trials', 'verdicts', 'visit_events', 'set_aside') GROUP BY table)`
	if err := s.conn.QueryRow(ctx, question).Scan(&n); err != nil {
		return 0, fmt.Errorf("changes by statement: %w", plain(err))
	}
	return n, nil
}
