package health

import (
	"fmt"

	"fairlead/ingest/contract/event"
)

// refusedEnough is how many of a feed's latest lines must have been refused,
// without one shot among them, for its map to be doubted.
const refusedEnough = 3

// feedTroubles says what is wrong with a feed that runs: lines of which none is
// a shot, a file from which nothing comes.
func feedTroubles(f *event.FeedState) (out []string) {
	if f.State == "stopped" {
		return nil
	}
	if f.LatestRejected >= refusedEnough && f.LatestRejected == f.Latest {
		out = append(out, fmt.Sprintf("takes no shot: its last %d lines were all refused (%s); try `fairlead feed try` with its map and file",
			f.Latest, f.LastFault))
	}
	if f.State == "ok" && f.Detail != "" {
		out = append(out, "is read, and: "+f.Detail)
	}
	if f.State == "away" {
		out = append(out, fmt.Sprintf("can't be read: %s. Is the device's folder there, did a share come loose, may the collector's user "+
			"read it?", f.Detail))
	}
	if f.State == "mute" {
		out = append(out, "reads bytes and finds no line in them: "+f.Detail)
	}
	if f.Reused > 0 {
		out = append(out, fmt.Sprintf("counts its shots anew: %d shots have a number that an earlier one has; they are kept as shots of their "+
			"own. If it should not, look at the device's settings, or map its session or file beside the number", f.Reused))
	}
	return out
}
