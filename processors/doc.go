// Package processors holds the rooms between the journal and the pages: those
// that move and store shots, and the pure ones that compute. It has no code of
// its own; its tests keep the pure ones pure.
package processors
