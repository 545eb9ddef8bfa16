// Package fleet asks across players which builds tighten dispersion, for
// which swings, by how much and how sure one may be.
//
// Its core is one estimator, a linear mixed model over blocks of players:
//
//	y = session level + Xβ + Z·b + e
//
// A row is a trial (a run of shots with one build, one hitter and one
// instruction). y is an outcome of the trial, for example the logarithm of its
// spread; X holds attributes of the build (length, loft, lie …), alone and
// times a trait of the player's swing, and the trial's place in the session;
// b are the player's own slopes, normal with covariance G; e has the known
// sampling variance v of y plus a trial noise τ² that every row has.
// The variances are estimated by restricted maximum likelihood (REML).
//
// On top of it stand the pieces that turn trials into an answer: the standard
// model (Standard), what to distrust (Diagnose), the effects as people read them (Effects), advice for one player
// (Advise), how many players a question needs (Power) and the same answer
// under every reasonable choice (Robustness).
//
// The package does no I/O. DESIGN.md beside it explains how the cost stays
// linear in players.
package fleet
