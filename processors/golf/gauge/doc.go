// Package gauge says whether a bay's device reads as it did: shots of a reference
// club and ball against the bay's own past and against the other bays, with limits
// that know how far a swing wanders from day to day by itself. It measures no
// device against a truth: a device that was always off by as much is not found by
// its own past, and by the other bays only as far as they agree.
package gauge
