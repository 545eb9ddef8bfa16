// Package collector runs in a bay: it takes lines from the bay's devices into
// the journal, publishes the journal to the log, answers repair requests and
// reports the bay's health.
//
// The order of things is the whole of its promise. A feed moves its read
// position only with the entry that it read, in one durable record. What is
// published comes from the journal, never from the feed. Nothing leaves the
// journal before the store itself confirms it. So a lost process, broker,
// database or network costs time, never a shot.
package collector
