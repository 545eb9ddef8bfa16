package process

import (
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"

	"fairlead/deploy/proof"
	"fairlead/ingest/log/stream"
)

// still is a node of a cluster, a process of its own: it can be stopped (its
// connections stay, and nothing comes over them, as when packets are dropped) and
// killed.
type still struct {
	Name, Dir     string
	Client, Route int
	Peers         []int

	cmd   *exec.Cmd
	stdin io.Closer
}

const nodeOptions = "FAIRLEAD_TEST_NODE"

// nodeMain is the node's program; it returns at once in the test program itself.
func nodeMain() {
	text := os.Getenv(nodeOptions)
	if text == "" {
		return
	}
	var n still
	fail := func(err error) {
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	fail(json.Unmarshal([]byte(text), &n))
	o := &server.Options{
		ServerName: n.Name, Host: "127.0.0.1", Port: n.Client, JetStream: true, StoreDir: n.Dir, NoSigs: true, MaxPayload: 1 << 20,
		JetStreamMaxStore: 1 << 40, JetStreamMaxMemory: 256 << 20, NoLog: true,
		Cluster: server.ClusterOpts{Name: "three", Host: "127.0.0.1", Port: n.Route, PoolSize: -1},
	}
	for _, p := range n.Peers {
		o.Routes = append(o.Routes, &url.URL{Scheme: "nats", Host: fmt.Sprintf("127.0.0.1:%d", p)})
	}
	s, err := server.NewServer(o)
	fail(err)
	s.Start()
	io.Copy(io.Discard, os.Stdin) // until its parent ends
	s.Shutdown()
	os.Exit(0)
}

func freePort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

// stills are three of them.
type stills struct {
	t     *testing.T
	nodes [3]*still
}

func newStills(t *testing.T) *stills {
	t.Helper()
	s := &stills{t: t}
	for i := range s.nodes {
		s.nodes[i] = &still{Name: nodeName(i), Dir: filepath.Join(t.TempDir(), nodeName(i)), Client: freePort(t), Route: freePort(t)}
	}
	for i, n := range s.nodes {
		for j, p := range s.nodes {
			if i != j {
				n.Peers = append(n.Peers, p.Route)
			}
		}
		s.start(i)
	}
	t.Cleanup(func() {
		for i, n := range s.nodes {
			s.signal(i, syscall.SIGCONT)
			n.stdin.Close()
			n.cmd.Wait()
		}
	})
	return s
}

func (s *stills) start(i int) {
	s.t.Helper()
	n := s.nodes[i]
	text, err := json.Marshal(n)
	if err != nil {
		s.t.Fatal(err)
	}
	n.cmd = exec.Command(os.Args[0])
	n.cmd.Env, n.cmd.Stderr = append(os.Environ(), nodeOptions+"="+string(text)), os.Stderr
	if n.stdin, err = n.cmd.StdinPipe(); err != nil {
		s.t.Fatal(err)
	}
	if err := n.cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
}

func (s *stills) signal(i int, what syscall.Signal) { s.nodes[i].cmd.Process.Signal(what) }

func (s *stills) url() string {
	var all []string
	for _, n := range s.nodes {
		all = append(all, fmt.Sprintf("nats://127.0.0.1:%d", n.Client))
	}
	return strings.Join(all, ",")
}

// named is the number of the node of a name, or the first.
func (s *stills) named(name string) int {
	for i, n := range s.nodes {
		if n.Name == name {
			return i
		}
	}
	return 0
}

// Each node of a cluster of three real processes stands still in turn, and is
// killed in turn: the one that the hub is connected to, the one that leads the
// shots, the others. Two are a majority, so shots go on being stored, and nobody
// says that the log was set back. A campaign: how long it takes is recorded, for
// a broker alone takes four to nine seconds to choose another leader, which no
// option changes.
func TestANodeStandsStill(t *testing.T) {
	if !proof.Wanted() {
		t.Skip("a campaign of make prove: three brokers choose leaders for minutes beside other busy programs")
	}
	s := newStills(t)
	layout := stream.DefaultLayout()
	layout.Replicas = 3
	b := newBench(t, setup{layout: layout, nodes: s.url})
	y := b.bay("north")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(10)
	y.arrived()
	b.until("three nodes agree", func() bool { return agree(s.url(), stream.Shots) })
	var took []float64
	for round := range 8 {
		node := s.named(b.hubConn.ConnectedServerName())
		switch c := clusterOf(s.url(), stream.Shots); {
		case round%4 == 1 && c != nil:
			node = s.named(c.Leader)
		case round%4 > 1:
			node = (node + round) % 3
		}
		if round < 4 {
			s.signal(node, syscall.SIGSTOP)
		} else {
			s.signal(node, syscall.SIGKILL)
		}
		begun := time.Now()
		y.hit(5)
		y.arrived()
		took = append(took, time.Since(begun).Seconds())
		t.Logf("node %d away: stored after %.1f s", node, took[round])
		y.hit(5)
		y.arrived()
		if round < 4 {
			s.signal(node, syscall.SIGCONT)
		} else {
			s.nodes[node].cmd.Wait()
			s.start(node)
		}
		b.until("the node is back", func() bool { return agree(s.url(), stream.Shots) })
	}
	b.whole()
	if alarms := b.metric("fairlead_log_set_back_total", ""); alarms > 0 {
		t.Errorf("%g times the log was said to be set back", alarms)
	}
	if n := b.inLog(stream.Shots); n > uint64(2*y.lines) {
		t.Errorf("the log holds %d messages of %d lines", n, y.lines)
	}
	proof.Record(t, "node_stands_still", map[string]any{"lines": y.lines, "stored_after_s": took})
}
