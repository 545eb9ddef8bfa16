// Package sheets makes the two papers that leave the studio at the end of a
// visit: the build sheet for the workshop, and the report for the player.
//
// Both are made from what is stored (visit events, entries, verdicts), so that
// they can be printed again a year later and say the same. What a verdict
// promised is printed as it was frozen at that moment; what the shots say is
// worked out again from the shots that count, with the beliefs that were taken
// down before they were hit (processors/visit/rolling), which gives the same
// statements for the same shots. Names come from the studio's own list of
// people and stand nowhere in the store.
//
// A sheet says 'unknown' where nothing is known. It orders nothing unless a
// verdict names a build, and says loudly when the verdict was taken back or a
// build was corrected afterwards.
//
// Each paper is a value (Sheet, Report) that is made once and shown three
// ways: as a page, as plain text, as JSON in stored units.
package sheets
