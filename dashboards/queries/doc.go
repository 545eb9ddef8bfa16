// Package queries holds ready questions to the store as SQL files, each with a
// header that says what it answers, for whom, its parameters and columns, and
// how to ask it with curl. The tests ask each one exactly as its header prints
// it, of the real engine with a small studio in it whose answers are known.
package queries
