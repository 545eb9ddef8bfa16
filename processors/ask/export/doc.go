// Package export takes shots, trials, visit events and verdicts out of the store
// as files that others can read: what is current, each once, with a data
// dictionary that says of every column its unit, sign and origin. Rows are
// pseudonymous; names are added by whoever has the hub's file of people, and
// never travel to the store.
package export
