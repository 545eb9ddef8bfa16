// Package evidence weighs a candidate club against a baseline as shots come
// in: one statement per outcome, each with what changed, an interval, the
// odds that it is better, and one of five verdicts.
//
// Two promises are made, by two different numbers. They are kept apart on
// purpose and proved apart in the tests.
//
// The e-value guards against seeing what is not there. With no effect, the
// chance that it ever reaches 1/α, however often and whenever one looks, is at
// most α; so a fitter may watch every ball and stop when they like. It uses no
// prior knowledge of the club, so a wrong prior cannot spoil it. "Better" and
// "worse" are said only with it.
//
// The odds say how likely an effect is, given the shots and a prior (the
// player's profile in the fleet, or a weak and stated default). They are
// calibrated: of all statements of 80 %, four in five are true, as long as
// effects come from such a prior and shots scatter normally. A prior that may be
// wrong leaves room for doubt (Prior.Doubt): shots that it does not explain take
// its weight away, the disagreement is said, and what would be said without it
// stands beside (Outcome.Against). No verdict rests on a prior alone.
//
// A player is not the same from one run of shots to the next (Wander), and drifts
// through a session: means are compared by runs, so more runs in turn decide what
// more shots of one run can't. Within a run each shot counts for itself.
//
// Outcomes are means (launch, spin, ball speed, carry, landing, strike, and where
// it goes: start, curve, offline), which show early, or tightness (direction,
// distance control, area), which shows late. Each is decided for itself; a club that is longer but wider is shown as
// a trade, never folded into one score. The error promise holds per outcome:
// whoever scans twelve outcomes of five clubs will meet one by chance more often.
// Holding says which of a visit's statements hold over all of them.
//
// Units are SI with degrees and rpm; tightness is on the log scale (−0.1 is
// about ten percent tighter). The package does no I/O and never returns NaN.
package evidence
