// Package strokes says what a scatter of shots is worth in strokes on a stated hole: how
// many it takes on average to hole out from where the shots come down. It is a model of
// one hole and of how good players go on from there, simple enough to be read and to be
// replaced by another (Read), and no forecast of anybody's score.
package strokes
