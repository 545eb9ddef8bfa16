// Package bays is how a bay comes to a studio and what the hub keeps of it: the
// one-time code with which its PC enrols, and the versions of its configuration
// and field maps, which the hub brings to the bay while it runs.
package bays
