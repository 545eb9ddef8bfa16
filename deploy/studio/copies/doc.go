// Package copies keeps copies of a whole studio: takes them while it runs, tries
// whether they can be restored, and restores them.
//
// What others can be made from is copied last: first the store, then the log,
// then the journals, names, keys and configuration. So a restored hub never
// holds a row that its log lacks, or an entry that its journals lack, and what
// came after the copy is fetched from the bays.
package copies
