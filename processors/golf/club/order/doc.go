// Package order carries one decided build through a set of clubs: length by
// ladder, loft and lie by progression, swing weight held or stepped, head and
// total weight and trims that follow. Every figure says whether it was fixed by
// a person, comes from the club that was hit, or was derived, and by which rule.
//
// Forecasts are anchored: the club that was hit was weighed, so only the
// difference from it is computed. What cannot be built is refused with a reason.
// Figures are in the stored units of a build: m, kg, degrees, and for the swing
// weight the moment about the 14-inch fulcrum in kg·m.
package order
