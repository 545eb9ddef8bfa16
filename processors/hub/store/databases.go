package store

import (
	"context"
	"fmt"
)

// Nothing is a statement that asks nothing, of a store that answers.
const Nothing = "SELECT 1"

// HasDatabase says whether the server has a database of this name.
func (s *Store) HasDatabase(ctx context.Context, name string) (bool, error) {
	n, err := s.count(ctx, "SELECT count() FROM system.databases WHERE name = {name:String}", named{"name": name})
	if err != nil {
		return false, fmt.Errorf("store: %w", err)
	}
	return n > 0, nil
}

// MakeDatabase makes one beside the store's own. The name was checked to be one.
func (s *Store) MakeDatabase(ctx context.Context, name string) error {
	if err := s.conn.Exec(ctx, "CREATE DATABASE "+name); err != nil {
		return fmt.Errorf("create database %s: %w", name, err)
	}
	return nil
}

// DropDatabase takes one away with all that it holds, and waits for it.
func (s *Store) DropDatabase(ctx context.Context, name string) error {
	return s.conn.Exec(ctx, "DROP DATABASE "+name+" SYNC")
}

// Freeze has the engine link the parts of all tables as they are now, within
// milliseconds of each other, below its folder shadow/NAME. Links cost nothing while
// the parts live. Tables that an audit compares by come and go, and are left out. It
// returns the tables' ids, by which the engine names their folders.
func (s *Store) Freeze(ctx context.Context, name string) (ids []string, err error) {
	const question = `SELECT name, toString(uuid) FROM system.tables
		WHERE database = currentDatabase() AND engine LIKE '%MergeTree' AND NOT startsWith(name, 'scratch_') ORDER BY name`
	rows, err := s.conn.Query(ctx, question)
	if err != nil {
		return nil, fmt.Errorf("tables of the store: %w", err)
	}
	defer rows.Close()
	var tables []string
	for rows.Next() {
		var table, id string
		if err := rows.Scan(&table, &id); err != nil {
			return nil, fmt.Errorf("tables of the store: %w", err)
		}
		tables, ids = append(tables, table), append(ids, id)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("tables of the store: %w", err)
	}
	for _, table := range tables {
		if err := s.conn.Exec(ctx, "ALTER TABLE `"+table+"` FREEZE WITH NAME '"+name+"'"); err != nil {
			return nil, fmt.Errorf("freeze table %s: %w", table, err)
		}
	}
	return ids, nil
}
