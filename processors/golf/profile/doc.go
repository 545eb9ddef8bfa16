// Package profile describes a player's swing from the shots of their baseline:
// how fast, how steep, along which path, with what face and loft, where on the
// face, how scattered, each with its uncertainty. The fleet uses it to ask for
// whom a build works, the fitter to see what changed since last year.
//
// It is pure: no files, no clock, no network, and no randomness.
//
// # Signs and hands
//
// Angles come in as every stored field: path, face and face to path positive
// to the right of the target. A profile is handed: a left-hander's path, face
// and face to path change sign, so that 'in-to-out' and 'open' mean the same
// for everybody. Attack angle, dynamic loft, speeds and tempo have no side and
// stay. Strike x is positive toward the toe on every club, which is handed
// already; strike y is up. Both stay.
//
// # What the uncertainty is
//
// An Estimate's standard error is of the player's mean with this club on this
// day, from the scatter of the shots: a Student t with n−1 degrees. How much a
// swing differs from visit to visit, and what a new ball, surface or device
// adds, is only asked when two visits are compared (Compare), and is stated
// there. Fewer than four shots of a quantity give no estimate but say how many
// more it takes. No result is ever NaN or infinite.
package profile
