// Package demo is the demo of a whole studio: its configuration on free ports, a
// fleet of players for its first minute, simulated bays that hit, and the check
// of every shot from the devices' files to the store.
package demo
