// Package client is how programs speak to the console: they write events through
// it, since nobody else may, and ask for a bay's state and events.
package client
