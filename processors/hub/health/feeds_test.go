package health

import (
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
)

// TestFeedTroubles: what a feed says beside working is shown, and a bay whose
// lines are all refused is in trouble.
func TestFeedTroubles(t *testing.T) {
	for _, c := range []struct {
		says string
		f    *event.FeedState
	}{
		{"", &event.FeedState{State: "ok", Latest: 20, LatestRejected: 19, LastFault: "is cut"}},
		{"all refused (is cut)", &event.FeedState{State: "ok", Latest: 20, LatestRejected: 20, LastFault: "is cut"}},
		{"carry as yd", &event.FeedState{State: "ok", Detail: "read carry as yd"}},
		{"finds no line", &event.FeedState{State: "mute", Detail: "check the encoding"}},
		{"can't be read: no such folder", &event.FeedState{State: "away", Detail: "no such folder"}},
		{"counts its shots anew: 3", &event.FeedState{State: "ok", Reused: 3}},
		{"", &event.FeedState{State: "waiting", Detail: "no file yet"}},
	} {
		got := strings.Join(feedTroubles(c.f), "; ")
		if (c.says == "") != (got == "") || !strings.Contains(got, c.says) {
			t.Errorf("%v: %q, want %q", c.f, got, c.says)
		}
	}
}
