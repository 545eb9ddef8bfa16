// Package gap watches that what a bay's journals hold is what the store holds.
//
// Promise 9: it counts what is stored from the rows themselves, never from what
// a broker or an insert once acknowledged, and asks the bay's journal again for
// what is missing above a floor. A power cut may take an acknowledged insert
// with it; the next count finds that, and the next repair heals it.
package gap
