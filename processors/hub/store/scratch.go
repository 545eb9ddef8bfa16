package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"fairlead/processors/golf/flight"
)

// Scratch are tables beside the real ones, with rows as they should be, to
// compare and to mend by. It is dropped by Close.
type Scratch struct {
	s    *Store
	mark string
}

// keysOf are the sort keys of the tables that are computed from facts, after
// studio and bay.
var keysOf = map[string]string{"entries": "journal, seq, shot_id", "trials": "session, trial, part", "verdicts": "id"}

// computed are those tables in the order in which they are looked at.
var computed = []string{"entries", "trials", "verdicts"}

// NewScratch makes empty tables; mark tells them from those of others.
func (s *Store) NewScratch(ctx context.Context, mark string) (*Scratch, error) {
	c := &Scratch{s: s, mark: mark}
	for table, key := range keysOf {
		statement := fmt.Sprintf("CREATE TABLE %s AS %s ENGINE = ReplacingMergeTree(version) ORDER BY (studio, bay, %s)", c.name(table), table,
			key)
		if err := s.conn.Exec(ctx, statement); err != nil {
			c.Close(context.WithoutCancel(ctx))
			return nil, fmt.Errorf("scratch table of %s: %w", table, plain(err))
		}
	}
	return c, nil
}

func (c *Scratch) name(table string) string { return "scratch_" + c.mark + "_" + table }

// Close drops the tables.
func (c *Scratch) Close(ctx context.Context) {
	for table := range keysOf {
		c.s.conn.Exec(ctx, "DROP TABLE IF EXISTS "+c.name(table)+" SYNC")
	}
	c.s.mu.Lock()
	defer c.s.mu.Unlock()
	for table := range keysOf {
		delete(c.s.known, c.name(table))
	}
}

// Insert adds rows as they should be.
func (c *Scratch) Insert(ctx context.Context, entries []EntryRow, trials []TrialRow, verdicts []VerdictRow) error {
	if err := insert(ctx, c.s, c.name("entries"), entryColumns, entries); err != nil {
		return err
	}
	if err := insert(ctx, c.s, c.name("trials"), trialColumns, trials); err != nil {
		return err
	}
	return insert(ctx, c.s, c.name("verdicts"), verdictColumns, verdicts)
}

// Differing is a row that is not as it should be.
type Differing struct {
	Table string
	Key   string // as the table is sorted, within the bay
	// What: lost (there is none), altered, outdated (computed by another flight model),
	// or forged (there should be none).
	What string
	// Seen marks the content that was found: what changes between two looks is on its way.
	Seen uint64
}

func (d Differing) String() string {
	return fmt.Sprintf("%s: the row %s is %s", d.Table, d.Key, d.What)
}

// says leaves rows out that say nothing: a trial that lost its shots.
var says = map[string]string{"entries": "1", "trials": "n + n_excluded + n_set_aside > 0", "verdicts": "1"}

// modelled are the columns that say by which flight model a row was computed.
var modelled = map[string]string{"entries": "flight_model", "trials": "flight_model"}

// RowHash is the expression for what a row of a table says, its text hashed,
// which takes nulls and arrays alike. Rows of before messages were written
// compactly have a blank after some commas of their faults, or none, as their
// build chose.
func RowHash(table string) string {
	said := "* EXCEPT (version, inserted)"
	switch table {
	case "entries":
		said = `* EXCEPT (version, inserted, faults), replaceAll(faults, ', "', ',"')`
	case "verdicts":
		said = "* EXCEPT (version)"
	case "visit_events":
		said = "* EXCEPT (inserted)"
	}
	return "cityHash64(toString(tuple(" + said + ")))"
}

// keyText writes the key of a row as one text.
func keyText(table string) string {
	if !strings.Contains(keysOf[table], ",") {
		return "toString(" + keysOf[table] + ")"
	}
	return "concat(toString(" + strings.ReplaceAll(keysOf[table], ", ", "), '/', toString(") + "))"
}

// compared is a question for the keys of a bay whose rows differ.
func (c *Scratch) compared(table, columns string) string {
	side := func(from string) string {
		return fmt.Sprintf("SELECT %s, %s AS h, toUInt8(1) AS there, %s AS of_model FROM %s FINAL "+
			"WHERE studio = {studio:String} AND bay = {bay:String} AND %s",
			keysOf[table], RowHash(table), cmp.Or(modelled[table], "''"), from, says[table])
	}
	return fmt.Sprintf(`SELECT %s FROM (%s) AS is FULL OUTER JOIN (%s) AS should USING (%s) WHERE is.there != should.there OR is.h != should.h`,
		columns, side(table), side(c.name(table)), keysOf[table])
}

// Compare lists the rows of a bay that are not as they should be.
func (c *Scratch) Compare(ctx context.Context, studio, bay string) ([]Differing, error) {
	var out []Differing
	args := named{"studio": studio, "bay": bay}
	for _, table := range computed {
		columns := keyText(table) + ", is.there, should.there, is.h, CAST(is.of_model AS String)"
		rows, err := c.s.conn.Query(ctx, c.compared(table, columns)+" ORDER BY 1 SETTINGS join_use_nulls = 0", args.args()...)
		if err != nil {
			return nil, fmt.Errorf("compare %s: %w", table, plain(err))
		}
		for rows.Next() {
			d := Differing{Table: table, What: "altered"}
			var is, should uint8
			var model string
			if err := rows.Scan(&d.Key, &is, &should, &d.Seen, &model); err != nil {
				rows.Close()
				return nil, fmt.Errorf("compare %s: %w", table, err)
			}
			switch {
			case is == 0:
				d.What = "lost"
			case should == 0:
				d.What = "forged"
			case model != "" && model != flight.Stamp():
				d.What = "outdated"
			}
			out = append(out, d)
		}
		err = rows.Err()
		rows.Close()
		if err != nil {
			return nil, fmt.Errorf("compare %s: %w", table, plain(err))
		}
	}
	return out, nil
}

// Now is the store's clock.
func (s *Store) Now(ctx context.Context) (at time.Time, err error) {
	if err := s.conn.QueryRow(ctx, "SELECT now64(3, 'UTC')").Scan(&at); err != nil {
		return at, fmt.Errorf("the store's clock: %w", plain(err))
	}
	return at, nil
}

// Mend makes rows of a bay what they should be: those that stood when they were
// looked at are deleted, whatever version they claim, and written as they should
// be. A row that was written since stays, and counts where it knows more.
func (c *Scratch) Mend(ctx context.Context, studio, bay string, wrong []Differing, looked time.Time) error {
	args := named{"studio": studio, "bay": bay, "looked": looked.UTC().Format("2006-01-02 15:04:05.000")}
	for _, table := range computed {
		note := c.name(table) + "_wrong"
		own := fmt.Sprintf("studio = {studio:String} AND bay = {bay:String} AND %s IN (SELECT key FROM %s)", keyText(table), note)
		before := "inserted <= {looked:String}"
		if table == "verdicts" { // nobody notes when; a verdict seldom changes
			before = "1"
		}
		if !slices.ContainsFunc(wrong, func(d Differing) bool { return d.Table == table }) {
			continue
		}
		err := c.s.conn.Exec(ctx, "CREATE TABLE "+note+" (key String) ENGINE = MergeTree ORDER BY key")
		if err == nil {
			err = c.note(ctx, note, table, wrong)
		}
		for _, statement := range []string{
			fmt.Sprintf("ALTER TABLE %s DELETE WHERE %s AND %s SETTINGS mutations_sync = 2, allow_nondeterministic_mutations = 1", table, before,
				own),
			fmt.Sprintf("INSERT INTO %s SELECT * FROM %s FINAL WHERE %s", table, c.name(table), own),
		} {
			if err == nil {
				err = c.s.conn.Exec(ctx, args.literal(statement))
			}
		}
		c.s.conn.Exec(context.WithoutCancel(ctx), "DROP TABLE IF EXISTS "+note+" SYNC")
		if err != nil {
			return fmt.Errorf("mend %s: %w", table, plain(err))
		}
	}
	return nil
}

// note writes down the keys of the wrong rows of a table.
func (c *Scratch) note(ctx context.Context, note, table string, wrong []Differing) error {
	batch, err := c.s.conn.PrepareBatch(ctx, "INSERT INTO "+note+" (key)")
	if err != nil {
		return err
	}
	for _, d := range wrong {
		if d.Table == table {
			if err := batch.Append(d.Key); err != nil {
				batch.Abort()
				return err
			}
		}
	}
	return batch.Send()
}
