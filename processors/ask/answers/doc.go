// Package answers is where questions across players meet the store: it reads
// trial rows for processors/golf/fleet, keeps what was answered so that it can be
// said again later, and answers a declared grid of questions every night.
//
// # From trials to a snapshot
//
// A model needs each player's trials in one run; the store keeps them by
// studio, bay and session. Refresh therefore makes a snapshot: a sorted copy of
// the trial rows that count for the fleet, with the player's profile beside
// each. All questions of a night read the same snapshot, and an answer names
// it by the high-water mark of the rows it was made from.
//
// What counts: rows with shots, of players who consented (the consent travels
// with every row) and who are no minors. A row without a player, or whose
// player takes the consent back, is gone from the next snapshot; Forget removes
// a player at once.
//
// # Whose swing moderates what
//
// A trait that is measured on the shots that are judged shares their error and
// makes up an effect. So the first trial of five shots or more that a player
// ever hit with their own club of a category describes them, and is never
// judged: it is marked describes and left out of every outcome. Everything hit
// later, the own club included when it was hit again, is judged by the profile
// from that trial. The price is one trial a player and category; players whose
// own club was never hit have no profile and are counted as left out. Profiles
// are handed and adjusted to a reference build (processors/golf/profile).
package answers
