// Package window finds the launch window of a player: which launch angle and
// spin carry farthest at their ball speed and attack angle, or hold a green at
// a wanted carry; how far their present launch is from it, in metres; and what
// a change of loft does about it.
//
// # What is searched
//
// A Surface holds the outcome for every launch angle and spin rate at the
// player's ball speed. Not all of it can be reached: with a given attack angle
// a centred strike lies on one line, on which more dynamic loft gives more
// launch and more spin together (package impact). The best launch is the best
// point of that line, ball speed held; the window is the part of the surface
// whose loss against it is within 2 % of the carry. What lies better than the
// line, low spin at a high launch, needs another attack angle or a strike
// above the centre of gravity; Surface.Ceiling says what that would be worth.
//
// Everything rests on the models of packages flight and impact and shares
// their limits. Stopping on a green adds the bounce and the roll, which are of
// low confidence.
package window
