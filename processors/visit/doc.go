// Package visit folds what the fitter did in one bay into a timeline: which
// session, trial, hitter and setting hold at an instant, and what was said
// later about single shots.
//
// Events arrive in any order, more than once, and may take one another back.
// Log keeps the distinct ones; Timeline is a pure function of that set, so
// whoever folds the same events gets the same timeline. It does no I/O and
// reads no clock; times are Unix nanoseconds on the hub's clock.
//
// What a nonsense order means is defined here and listed as an Oddity for the
// page to show, never guessed silently:
//
//   - A session opened while one is open closes the earlier one. Opening one
//     again under an id already used is ignored.
//   - A trial, pause, hitter, intent, class or instruction outside of a
//     session, or one that names another session than the open one, is ignored.
//   - A trial started under the id of an earlier trial of the session goes on
//     with that trial, as a further part; under an id of another session it
//     ends the trial that runs and the shots are nobody's.
//   - A pause holds for the session until a trial is resumed or started; it
//     ends with the session.
//   - Ending, pausing or resuming what is not running changes nothing.
//   - Shots moved to a trial that nobody started stay where they were.
//   - A void takes effect wherever it stands in the order; voids that void one
//     another in a circle have no effect.
//   - One id with two different contents: the lower in the order counts.
package visit
