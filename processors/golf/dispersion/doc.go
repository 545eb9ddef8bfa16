// Package dispersion says how tightly a run of shots lands, where its middle
// is, and how sure one may be of either.
//
// A shot is a point: carry down the target line and offline across it, both in
// metres, offline positive to the right of the target. Two sets of axes are
// used. For people the axes are metres at the player's own carry. For models
// and for pooling players they are percent (of the trial's mean carry) and
// degrees (direction from the tee), because those do not punish a longer club.
//
// Every statistic is a Stat: a value, an interval, and the number of shots
// behind it; below the number where it begins to mean something it says so
// instead ("not yet", and how many more). Nothing here returns NaN or Inf.
// Intervals assume shots scatter as a bivariate normal; the robust part and
// the suspects show where that is doubtful, and no shot is ever left out
// silently.
//
// Sums run in the order the shots are given, so equal input gives equal output
// to the last bit. The package does no I/O.
package dispersion
