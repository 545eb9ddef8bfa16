package process

import (
	"context"
	"testing"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/deploy/proof"
	"fairlead/ingest/log/stream"
)

// One node of a cluster of three is cut off from the others, while clients go
// on reaching it: the one that the hub is connected to, or that leads the
// stream. The two others are a majority, so shots go on being stored, and
// nobody says that the log was set back. A campaign: the broker
// alone takes four to nine seconds to choose another leader, and how long it took
// is recorded.
func TestANodeIsCutOff(t *testing.T) {
	if !proof.Wanted() {
		t.Skip("a campaign of make prove: three brokers choose leaders for minutes beside other busy programs")
	}
	t.Parallel()
	n := newNodes(t)
	layout := stream.DefaultLayout()
	layout.Replicas = 3
	b := newBench(t, setup{layout: layout, nodes: n.url})
	y := b.bay("north")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(10)
	y.arrived()
	rounds := proof.Cases(2, 12)
	longest, took := time.Duration(0), []float64(nil)
	for round := range rounds {
		cut := n.at(b.hubConn.ConnectedUrl())
		if round%2 == 1 {
			cut = n.leader(stream.Shots)
		}
		n.cut(cut)
		b.until("it is alone", func() bool { return n.servers[cut].NumRoutes() == 0 })
		begun := time.Now()
		y.hit(5)
		y.arrived()
		waited := time.Since(begun)
		longest, took = max(longest, waited), append(took, waited.Seconds())
		t.Logf("node %d cut off: stored after %s", cut, waited.Round(time.Millisecond))
		y.hit(5)
		y.arrived()
		n.heal()
		b.until("the node is back", func() bool { return agree(n.url(), stream.Shots) })
		b.whole()
	}
	if alarms := b.metric("fairlead_log_set_back_total", ""); alarms > 0 {
		t.Errorf("%g times the log was said to be set back", alarms)
	}
	if n := b.inLog(stream.Shots); n > uint64(2*y.lines) {
		t.Errorf("the log holds %d messages of %d lines", n, y.lines)
	}
	proof.Record(t, "node_cut_off", map[string]any{"rounds": rounds, "lines": y.lines, "longest_s": longest.Seconds(), "stored_after_s": took})
}

// leader is the node that leads a stream.
func (n *nodes) leader(name string) int {
	n.t.Helper()
	for deadline := time.Now().Add(90 * time.Second); time.Now().Before(deadline); {
		for i, s := range n.servers {
			if s.JetStreamIsStreamLeader("$G", name) {
				return i
			}
		}
	}
	n.t.Fatalf("nobody leads %s", name)
	return -1
}

// agree says whether a stream's leader has all three nodes beside it.
func agree(url, name string) bool {
	c := clusterOf(url, name)
	if c == nil {
		return false
	}
	current := 0
	for _, p := range c.Replicas {
		if p.Current && !p.Offline {
			current++
		}
	}
	return current == 2
}

// clusterOf is what a cluster says of a stream's nodes; nil: nothing now.
func clusterOf(url, name string) *jetstream.ClusterInfo {
	nc, js, err := stream.Connect(stream.Link{URL: url, Name: "test"})
	if err != nil {
		return nil
	}
	defer nc.Close()
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	defer cancel()
	s, err := js.Stream(ctx, name)
	if err != nil {
		return nil
	}
	return s.CachedInfo().Cluster
}
