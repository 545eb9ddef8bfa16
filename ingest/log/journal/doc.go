// Package journal keeps what a bay's devices gave, on the bay's own disk,
// until the store has confirmed it.
//
// A journal is an append-only log of numbered records. [Journal.Append] returns
// only when its records are on the disk for good, so whoever holds an answer may
// let the device go on. Each record carries, next to its payload, how far the
// feed had read: payload and read position become durable together or not at
// all, so a restart neither skips a line nor takes one twice.
//
// Records are numbered densely from 1, and (studio, bay, journal id, seq) names
// one record for ever. That only holds while one machine writes one history.
// When it cannot be sure of that (damage in the log, a cloned disk, a hub that
// has seen higher numbers) a new journal with a new id begins in the same
// folder; the older ones stay readable until [Journal.Trim] drops them.
//
// Nothing here needs a hand: a torn end is cut off, a damaged stretch is set
// aside and counted while everything around it stays readable, a full disk
// answers [ErrFull] and is used again once there is room.
//
// DESIGN.md beside this file says why it is built as it is, and what was
// measured. The bytes are described in format.go.
package journal
