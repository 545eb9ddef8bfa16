// Package raftwal measures hashicorp/raft-wal, the log that could have been used
// instead of the journal. It is a module of its own, so that the program does not
// depend on what only this comparison needs.
package raftwal
