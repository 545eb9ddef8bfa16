package sim

import "time"

// SecondsBetweenHits is the pace of people in a fitting.
const SecondsBetweenHits = 25

// OneFile lets one device write into a file as fast as it goes: nobody waits for
// its clock, which begins at a time. Shots, seed, category and truth are given.
func OneFile(o Options, device, file string, at time.Time) Options {
	o.Studio, o.Hand, o.Rate = "harbour-row", &MemoryHand{}, 1.0/SecondsBetweenHits
	o.Clock = func(string) Clock { return &VirtualClock{At: at} }
	o.Bays = []Bay{{Name: "quay", Feeds: []Feed{{Name: "all", Device: device, Path: file}}}}
	return o
}
