// Package studio is a studio's configuration and the supervisor that runs its
// processes on one machine.
//
// One file describes a whole studio; every process of it, on the hub or on a
// bay's own PC, reads the same file and takes its part.
package studio
