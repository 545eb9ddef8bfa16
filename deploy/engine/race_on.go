//go:build race

package engine

// race says that this program was built with the race detector.
const race = true
