// Package sim makes players, clubs, devices, fitters and whole fleets whose
// truth is known, so that everything behind a device's line can be judged: what
// was stored, under which build, and whether the statistics find what is there.
//
// # Players and clubs
//
// A Player has a latent swing: clubhead speed, attack, path, face to path,
// dynamic loft and strike, each with its own scatter; a slow drift, a warm-up,
// fatigue, and what is left of the last club in the first swings with the next.
// A Club changes the delivery through the player's own response to length,
// loft, lie, shaft weight, flex, torque, head weight and swing weight.
// Package impact turns the delivery into a launch and package flight into a
// landing. TrueEffects says what each club really does for each player.
//
// # Devices and the fitter
//
// A Device writes a hit as invented devices do: own units, signs, decimals,
// noise, missing values, misreads, repeated, revised and damaged lines. The
// field maps that read them are in Maps. A fitter runs visits through a Hand
// (the console over HTTP, or memory) and forgets one club swap in ten.
// RunBays puts both together and keeps the truth as NDJSON; see Record.
//
// # Fleets
//
// Fleet plants effects of attributes by swing profiles and draws trial rows and
// their shots from them in closed form, for tables of a hundred million shots.
//
// Everything is seeded: with a virtual clock one seed gives the same bytes.
// Nothing here is a measurement of anybody; the numbers are ordinary in the
// trade or from the sources that are named beside them.
package sim
