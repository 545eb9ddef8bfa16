package studio

import (
	"context"
	"net/netip"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"

	"fairlead/deploy/proof"
	"fairlead/processors/hub/watch"
)

// A broker that the studio does not run is asked, too: by its node, and by its log
// once that was there.
func TestABrokerOfOnesOwnIsAsked(t *testing.T) {
	address, err := FreeAddress(0)
	if err != nil {
		t.Fatal(err)
	}
	c, err := parse([]byte("studio: harbour-row\nbroker: {url: 'nats://"+address+"'}\nstore: {dsn: 'clickhouse://a@b/c'}\n"+
		"bays: [{name: north}]\n"), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	ask := c.Probes()[watch.Broker]
	says := func(words string) {
		t.Helper()
		said := ""
		proof.Until(t, "the probe says: "+words, func() bool {
			ctx, cancel := context.WithTimeout(t.Context(), time.Second)
			defer cancel()
			if err := ask(ctx); err != nil {
				said = err.Error()
			} else {
				said = ""
			}
			return said == words || words != "" && strings.Contains(said, words)
		})
	}
	begin := func(log bool) *server.Server {
		t.Helper()
		at := netip.MustParseAddrPort(address)
		o := &server.Options{Host: at.Addr().String(), Port: int(at.Port()), JetStream: log, StoreDir: t.TempDir(), NoSigs: true, NoLog: true}
		s, err := server.NewServer(o)
		if err != nil {
			t.Fatal(err)
		}
		s.Start()
		return s
	}
	end := func(s *server.Server) {
		s.Shutdown()
		s.WaitForShutdown()
	}
	says("does not answer")
	s := begin(false)
	says("") // a key that may not ask the log
	end(s)
	s = begin(true)
	says("")
	end(s)
	says("does not answer")
	s = begin(false)
	says("its log does not")
	end(s)
}
