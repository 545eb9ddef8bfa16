// Package clickhouse holds what a ClickHouse server needs to serve a studio instead of the embedded engine: its
// configuration as files, and a README. The test asks the engine whether it knows every setting in them.
package clickhouse
