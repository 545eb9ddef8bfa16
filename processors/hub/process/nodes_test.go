package process

import (
	"bufio"
	"bytes"
	"fmt"
	"net"
	"net/url"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
)

// nodes are a cluster of three real servers whose routes go through wires that
// can be cut, while clients reach every node.
type nodes struct {
	t       *testing.T
	servers [3]*server.Server
	wires   [3]*wire // before each node's port for its peers
}

func newNodes(t *testing.T) *nodes {
	t.Helper()
	n := &nodes{t: t}
	ports := [3]int{}
	for i := range n.wires {
		n.wires[i] = newWire(t)
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		ports[i] = l.Addr().(*net.TCPAddr).Port
		l.Close()
		n.wires[i].to = fmt.Sprintf("127.0.0.1:%d", ports[i])
	}
	for i := range n.servers {
		o := &server.Options{
			ServerName: nodeName(i), Host: "127.0.0.1", Port: server.RANDOM_PORT, JetStream: true, StoreDir: filepath.Join(t.TempDir(), nodeName(i)),
			NoSigs: true, MaxPayload: 1 << 20, JetStreamMaxStore: 1 << 40, JetStreamMaxMemory: 256 << 20, NoLog: true,
			Cluster: server.ClusterOpts{Name: "three", Host: "127.0.0.1", Port: ports[i], Advertise: n.wires[i].addr(), PoolSize: -1},
		}
		for j := range n.wires {
			if i != j {
				o.Routes = append(o.Routes, &url.URL{Scheme: "nats", Host: n.wires[j].addr()})
			}
		}
		s, err := server.NewServer(o)
		if err != nil {
			t.Fatal(err)
		}
		n.servers[i] = s
		for _, w := range n.wires {
			w.mu.Lock()
			w.names[s.ID()] = nodeName(i)
			w.mu.Unlock()
		}
	}
	for _, s := range n.servers {
		s.Start()
	}
	t.Cleanup(func() {
		for _, s := range n.servers {
			s.Shutdown()
			s.WaitForShutdown()
		}
		for _, w := range n.wires {
			w.close()
		}
	})
	return n
}

func nodeName(i int) string { return fmt.Sprintf("node-%d", i) }

// url is where clients connect: all nodes.
func (n *nodes) url() string {
	var all []string
	for _, s := range n.servers {
		all = append(all, s.ClientURL())
	}
	return strings.Join(all, ",")
}

// at is the node that a client's address belongs to.
func (n *nodes) at(clientURL string) int {
	for i, s := range n.servers {
		if s.ClientURL() == clientURL {
			return i
		}
	}
	n.t.Fatalf("no node at %s", clientURL)
	return -1
}

// cut takes a node away from its peers; heal brings it back.
func (n *nodes) cut(node int) {
	for i, w := range n.wires {
		w.refuse(nodeName(node), i == node)
	}
}

func (n *nodes) heal() {
	for _, w := range n.wires {
		w.refuse("", false)
	}
}

// wire carries connections to a node. A peer says its name in its first words.
type wire struct {
	to       string
	listener net.Listener
	running  sync.WaitGroup

	mu      sync.Mutex
	refused string // name of a peer; empty: none
	all     bool
	open    map[net.Conn]string // the peer's name, once it said it
	names   map[string]string   // of nodes, by the id under which they speak
}

func newWire(t *testing.T) *wire {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	w := &wire{listener: l, open: map[net.Conn]string{}, names: map[string]string{}}
	w.running.Go(func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			w.running.Go(func() { w.carry(c) })
		}
	})
	return w
}

func (w *wire) addr() string { return w.listener.Addr().String() }

func (w *wire) close() {
	w.listener.Close()
	w.refuse("", true)
	w.running.Wait()
}

func (w *wire) refuse(name string, all bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.refused, w.all = name, all
	for c, peer := range w.open {
		if w.bad(peer) {
			c.Close()
		}
	}
}

func (w *wire) bad(peer string) bool { return w.all || w.refused != "" && peer == w.refused }

// known notes whose connection it is, and says whether it may stay.
func (w *wire) known(c net.Conn, peer string) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.open[c] = peer
	return !w.bad(peer)
}

// name is whose CONNECT a line is.
func (w *wire) name(line []byte) string {
	w.mu.Lock()
	defer w.mu.Unlock()
	for id, name := range w.names {
		if bytes.Contains(line, []byte(`"name":"`+id+`"`)) {
			return name
		}
	}
	return "unknown"
}

func (w *wire) carry(peer net.Conn) {
	defer peer.Close()
	node, err := net.DialTimeout("tcp", w.to, time.Second)
	if err != nil {
		return
	}
	defer node.Close()
	if !w.known(peer, "") {
		return
	}
	defer func() { w.mu.Lock(); delete(w.open, peer); w.mu.Unlock() }()
	w.running.Go(func() { // ends with either side
		defer peer.Close()
		bufio.NewReader(node).WriteTo(peer)
	})
	from := bufio.NewReaderSize(peer, 64<<10)
	for named := false; ; {
		line, err := from.ReadSlice('\n')
		if !named && bytes.HasPrefix(line, []byte("CONNECT ")) {
			if named = true; !w.known(peer, w.name(line)) {
				return
			}
		}
		if _, wrong := node.Write(line); wrong != nil || err != nil && err != bufio.ErrBufferFull {
			return
		}
	}
}
