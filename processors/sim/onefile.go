package sim

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fairlead/ingest/contract/glossary"
)

// SecondsBetweenHits is the pace of people in a fitting.
const SecondsBetweenHits = 25

// OneFile lets one device write into a file as fast as it goes: nobody waits for
// its clock, which begins at start, a time of RFC 3339, or now where that is empty.
// Shots, seed, category and truth are given.
func (o Options) OneFile(device, file, start string, now time.Time) (Options, error) {
	if _, err := ModelNamed(device); err != nil {
		return o, err
	}
	if o.Shots < 1 {
		return o, fmt.Errorf("--shots %d: give at least 1", o.Shots)
	}
	if o.Category != "" && !slices.Contains(glossary.CategoryNames(), o.Category) {
		return o, fmt.Errorf("--category %q: use one of %s", o.Category, strings.Join(glossary.CategoryNames(), ", "))
	}
	if start != "" {
		var err error
		if now, err = time.Parse(time.RFC3339, start); err != nil {
			return o, fmt.Errorf("--start %q: write it as 2026-05-04T09:00:00Z", start)
		}
	}
	o.Studio, o.Hand, o.Rate = "harbour-row", &MemoryHand{}, 1.0/SecondsBetweenHits
	o.Clock = func(string) Clock { return &VirtualClock{At: now} }
	o.Bays = []Bay{{Name: "quay", Feeds: []Feed{{Name: "all", Device: device, Path: file}}}}
	return o, nil
}
