// Package sample looks at files that a device wrote and nobody has described
// yet: their encoding, what one record is, how a table is laid out. It gives
// the texts of the table as they stand; what its columns mean is for others.
package sample
