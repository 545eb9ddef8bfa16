package group

import (
	"slices"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/store"
)

// What is asked for is answered at once and stands in line once, less what the studio
// has not; what could not be sent stands there again.
func TestWhatIsAskedForStandsInLineOnce(t *testing.T) {
	place := stream.Place{Studio: "harbour-row", Bay: "north"}
	key := gap.Key{Place: place, Journal: "j"}
	c := &carrier{sent: map[gap.Key]uint64{key: 700}, there: map[gap.Key]uint64{}}
	c.source.held = map[gap.Key]*held{key: {Key: key, Ranges: gap.Ranges{{From: 1, To: 90}, {From: 101, To: 2000}}}}
	c.line.say(c.heartbeats(), c.source.held)
	s := c.line.beat(place).Journals[0]
	if s.First != 1 || s.Last != 700 || len(s.Quarantined) != 1 || s.Quarantined[0].From != 91 {
		t.Errorf("the heartbeat says %v, want what was sent", s)
	}
	if c.line.beat(stream.Place{Studio: "harbour-row", Bay: "quay"}) != nil {
		t.Error("a bay that nothing is known of has a heartbeat")
	}
	ask := func(nonce string, from, to uint64) *event.RepairReply {
		return c.line.want(place, &event.RepairRequest{Journal: "j", Nonce: nonce, Ranges: []*event.Range{{From: from, To: to}}})
	}
	if r := ask("a", 80, 120); r.Error != "" || len(r.Gone) != 1 || r.Gone[0].From != 91 || r.Gone[0].To != 100 {
		t.Errorf("answered %v", r)
	}
	ask("b", 110, 640)
	if r := c.line.want(place, &event.RepairRequest{Journal: "other"}); r.Error == "" {
		t.Error("a journal that is not there is said to be sent")
	}
	if r := c.line.want(place, &event.RepairRequest{Journal: "j", Keep: &event.Keep{}}); r.Error == "" {
		t.Error("copies are said to be kept")
	}
	took := func() (out []gap.Range) {
		for {
			k, r, nonce, ok := c.line.next()
			if !ok {
				return out
			}
			if k != key || nonce != "b" {
				t.Errorf("%v of %v, asked by %s", r, k, nonce)
			}
			out = append(out, r)
		}
	}
	want := []gap.Range{{From: 80, To: 90}, {From: 101, To: 600}, {From: 601, To: 640}}
	if got := took(); !slices.Equal(got, want) {
		t.Errorf("in line stood %v, want %v", got, want)
	}
	c.line.back(key, want[1], "b")
	if got := took(); !slices.Equal(got, want[1:2]) || c.line.busy() {
		t.Errorf("in line stood %v again", got)
	}
}

// A way that takes its time is sent less, one that does not more, within bounds.
func TestTheWindowFollowsTheWay(t *testing.T) {
	w := window{bytes: leastWindow, most: 100_000}
	for _, c := range []struct {
		took         time.Duration
		full, failed bool
		want         int
	}{
		{100 * time.Millisecond, true, false, 32 << 10}, {100 * time.Millisecond, false, false, 32 << 10},
		{100 * time.Millisecond, true, false, 64 << 10}, {100 * time.Millisecond, true, false, 100_000},
		{2 * time.Second, true, false, 100_000}, {4 * time.Second, true, false, 50_000}, {time.Millisecond, true, true, leastWindow},
		{9 * time.Second, true, false, leastWindow},
	} {
		if w.took(c.took, c.full, c.failed); w.bytes != c.want {
			t.Errorf("after %+v the window is %d", c, w.bytes)
		}
	}
}

func TestBlocksThatAreOthersThereAreFound(t *testing.T) {
	own := []store.BlockSum{{Bay: "north", Journal: "j", Block: 0, Rows: 5, Sum: 1}, {Bay: "north", Journal: "j", Block: 1, Rows: 5, Sum: 2},
		{Journal: "k", Rows: 1, Sum: 7}}
	there := []store.BlockSum{{Bay: "north", Journal: "j", Block: 0, Rows: 5, Sum: 1}, {Bay: "north", Journal: "j", Block: 1, Rows: 9, Sum: 4},
		{Journal: "k", Rows: 1, Sum: 7}, {Bay: "quay", Journal: "j", Rows: 3, Sum: 3}}
	got := differing("harbour-row", own, there)
	b := block{gap.Key{Place: stream.Place{Studio: "harbour-row", Bay: "north"}, Journal: "j"}, 1}
	if len(got) != 1 || got[b].there.Rows != 9 {
		t.Errorf("%v", got)
	}
	if got := differing("harbour-row", own, nil); len(got) != 3 {
		t.Errorf("of nothing %v differ", got)
	}
}
