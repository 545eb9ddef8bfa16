// Package draw makes the project's pictures, all as SVG: where shots landed, how
// they flew, where on the face they were struck, a visit in time, launch windows,
// bags, and the fleet's effects. One canvas (Picture), one set of ticks (Ticks),
// one palette (Style): page, paper, fleet and command line show the same figure.
//
// A picture holds no script and no outside font or file, carries a title and a
// description for readers who cannot see it, and is the same byte for byte for
// the same input. Text given by callers is escaped. Nothing is told by colour
// alone: trials have a shape, a line and a number, verdicts a sign or a word.
package draw
