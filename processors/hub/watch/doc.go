// Package watch looks at a studio's processes and bays, names what is wrong by
// its cause, remembers since when, and tells people by mail and webhook. It runs
// in a process of its own, so that it speaks when another one hangs, and needs
// no other server. What it found last stands in a file that the console shows.
package watch
