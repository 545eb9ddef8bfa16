package sim

import "math"

// How far a player's level moves by itself, in the two simulated worlds, as shares of
// the scatter from shot to shot.
//
// In a bay it wanders from swing to swing: drift of its middle player, with what stays of
// it from one swing to the next. The means of runs of ten shots then differ by about .30
// of the scatter (RunWander), where evidence.Wander supposes .25.
//
// In a fleet it moves once a trial: of carry by fleetCarryWander m, about .10 of the
// scatter, and of direction not at all. So little is a choice and no finding: planted
// effects then show in fleets that a test can afford. FleetOptions.Wander adds to it;
// RunWander(drift, driftMemory, 10) makes a fleet wander as the bays do.
const (
	drift            = 0.35
	driftMemory      = 0.9
	fleetCarryWander = 0.8 // m
)

// RunWander is the standard deviation between the means of runs of n shots that a drift
// by share, of which memory stays from shot to shot, makes, as a share of the scatter:
// share·√((1+2·Σ(1−k/n)·memoryᵏ)/n), k from 1 to n−1.
func RunWander(share, memory float64, n int) float64 {
	sum, left := 1.0, 1.0
	for k := 1; k < n; k++ {
		left *= memory
		sum += 2 * (1 - float64(k)/float64(n)) * left
	}
	return share * math.Sqrt(sum/float64(n))
}
