// Package rolling computes what the live page of a bay shows, from a snapshot
// of what is known: the session, its trials with builds as differences from the
// player's own club, what each trial amounts to, how the clubs compare and how
// sure one may be, and whether the club seems to have changed without being
// entered.
//
// A row of the page is a run of shots that belong together: one trial, one part
// of it (an instruction splits a trial), one class and length of shot, one
// intent. Numbers of a row are recomputed from its shots each time.
//
// Build is pure. Since some statements take longer than a shot may wait to be
// seen (odds of misses, verdicts), a Builder gives the state at once with what
// it has, and works the rest out piece by piece: call Refine until it has
// nothing left, then Build again. Whatever the path, the finished state of a
// snapshot is the same.
package rolling
