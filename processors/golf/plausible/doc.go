// Package plausible asks of a run of shots whether their values can be true
// together: the carry that a ball speed, a launch and a spin make, a smash
// factor against both speeds, a spin against its parts, a direction against
// where the ball landed. It is how a field map that says the wrong unit, the
// wrong side or the wrong column is found out: the values of one shot may be
// odd, but a run of shots that all break the same law was read wrongly.
//
// Values are SI with degrees and rpm under the names of the event contract,
// directions positive to the right. Everything here is pure.
package plausible
