// Package club is the arithmetic of the workshop: what a golf club weighs in
// the hand (swing weight, balance, inertia), how lengths step through a set,
// what a wrong lie or loft does at the target, whether a bag of clubs covers
// its distances, what a shop can hold, and what to beware of while building.
//
// It is pure: no files, no clock, no network. Everything is in SI (m, kg,
// kg·m, kg·m²) with angles in degrees; positive directions are right of the
// target for a right-handed player, and lie is positive when too upright.
//
// Numbers that are habits of the trade and no physics (standard lengths and
// lofts, tolerances, what counts as a hole in a bag) are defaults of options,
// and their comments say so. A club's own measurements always win over them.
//
// Functions refuse input that cannot be right with an *InputError. What cannot
// be said from so few shots is no error: it is the verdict NotYet, with how
// many more shots it takes. No result is ever NaN or infinite.
package club
