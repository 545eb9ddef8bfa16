// Package draw writes flights and launch windows as SVG: the trajectories of
// shots from the side and from above, and the surface of a launch window. The
// pictures stand alone (no script, no outside font or file), carry a title and
// a description for readers who cannot see them, and are the same byte for
// byte for the same input. Text given by callers is escaped.
package draw
