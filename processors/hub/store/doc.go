// Package store keeps entries, trial rows, visit events and answers in
// ClickHouse, by clickhouse-go alone: the embedded engine and a server look the
// same from here.
//
// Every write may be repeated: a row is named by its sort key, and the one with
// the highest version counts. So a lost answer, a second owner or a replay
// leaves what the tables say unchanged.
package store
