// Package draw makes the pictures of fleet answers as SVG: a forest plot of
// effects by profile, and a map of attributes over a trait. What is not sure
// looks unsure: intervals are drawn in full, and a map's cell that is no finding
// is hatched. Nothing is told by colour alone.
//
// The pictures stand alone or inside a page; their colours follow the reader's
// light or dark scheme.
package draw
