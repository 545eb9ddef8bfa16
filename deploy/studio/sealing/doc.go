// Package sealing seals what versions of before kept of people in clear, in a studio
// that does not run: journal, log, the bays' copies, rows. Ids, numbers and times
// stay, so nothing is doubled, sent again or found changed; each place is the old one
// or the new one whenever the power goes, and running it again finishes.
package sealing
