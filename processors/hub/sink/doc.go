// Package sink takes a bay's entries from the log, tags them, stores them and
// acknowledges them, in this order. It owns bays by lease; two owners of one
// bay for a moment do no harm, because a tag depends only on what is known and
// the one that knows more has the higher version.
//
// One worker runs a bay. It holds the entries of recent sessions, reads older
// ones from the store when a correction reaches back, and writes a trial's row
// anew whenever one of its shots changes. Of a backlog it lets the old part go
// piece by piece, as soon as the store has it.
package sink
