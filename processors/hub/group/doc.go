// Package group carries what a studio has stored to its head office, and says on
// both sides whether it arrived. DESIGN.md says how, and what never leaves a studio.
package group
