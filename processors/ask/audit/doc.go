// Package audit compares what the bays' journals hold, what the log holds and
// what the store holds, and says of each bay whether every entry is stored once
// and under the tag that the visit events give it. What it can't reach it calls
// unknown, never clean.
package audit
