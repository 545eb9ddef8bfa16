// Package rolling computes what the live page of a bay shows from a snapshot.
package rolling

// State is what the live page shows.
type State struct{}

// Build computes the live state.
func Build(s Snapshot) State { return State{} }
