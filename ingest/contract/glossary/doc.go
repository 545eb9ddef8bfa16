// Package glossary is the one dictionary of clubs and outcomes: what a kind of
// club is called, what it is judged by, and for each outcome every name it has,
// its unit, which way is better, where it counts and how it is said to people.
//
// An outcome has several names because it was stored under several: what a
// verdict calls distance_control is carry_control in an answer of the fleet and
// carry_sd_pct (of putts speed_sd_pct) in a summary of a trial. Stored names
// never change; they meet here and nowhere else. A new outcome is a row of the
// table in outcomes.go, and how it is computed from shots.
package glossary
