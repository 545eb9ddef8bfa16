// Package tag says of every entry which trial it belongs to and whether it
// counts. A tag is a pure function of one bay's visit events and entries:
// whoever computes it, in whatever order the facts arrived, gets the same.
//
// Compute is that function over all facts of a bay. Bay computes the same
// piece by piece as facts arrive, and loads what it needs of the past through
// Facts. DESIGN.md holds the rules and the reasons. No clock is read and no
// I/O is done but through Facts; times are Unix nanoseconds on the hub's clock.
package tag
