package proof

import (
	"crypto/tls"
	"io"
	"math/rand/v2"
	"net"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// held is how many connections of each kind a Garbage leaves open.
const held = 24

// Garbage throws at a port what nobody ought to send there: random bytes, heads
// without end, bodies that never come, protocols of others, and connections that say
// nothing or stop in the middle of a handshake. Those stay open until the test ends.
// It returns how many connections were made, and may run beside itself.
func Garbage(t testing.TB, network, address string) int {
	t.Helper()
	var connections atomic.Int64
	var all sync.WaitGroup
	random := rand.NewChaCha8([32]byte{7})
	junk := make([]byte, 256<<10)
	random.Read(junk)
	long := strings.Repeat("x", 1<<20)
	const post = "POST / HTTP/1.1\r\nHost: localhost\r\n"
	texts := map[string]string{
		"random bytes":          string(junk),
		"zeros":                 strings.Repeat("\x00", 64<<10),
		"a line without end":    long,
		"many short lines":      strings.Repeat("\n", 32<<10),
		"a long request line":   "GET /" + long + " HTTP/1.1\r\nHost: localhost\r\n\r\n",
		"a long head":           "GET / HTTP/1.1\r\nHost: localhost\r\nX-Long: " + long + "\r\n\r\n",
		"many heads":            "GET / HTTP/1.1\r\nHost: localhost\r\n" + strings.Repeat("X-Many: 1\r\n", 50_000) + "\r\n",
		"two lengths":           post + "Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\nGET / HTTP/1.1\r\n\r\n",
		"an endless chunk":      post + "Transfer-Encoding: chunked\r\n\r\nffffffffffffffff\r\n" + long,
		"an early HTTP/2":       "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n" + string(junk[:4096]),
		"a broker's long word":  "CONNECT {\"nkey\":\"" + long + "\"}\r\nPING\r\n",
		"a broker's big amount": "CONNECT {}\r\nPUB a 99999999999\r\n" + long,
		"a broken handshake":    "\x16\x03\x01\xff\xff" + string(junk[:1024]),
	}
	dial := func() net.Conn {
		c, err := net.DialTimeout(network, address, 20*time.Second)
		if err != nil {
			return nil // refused, as a flood may be
		}
		connections.Add(1)
		t.Cleanup(func() { c.Close() })
		return c
	}
	for _, text := range texts {
		all.Go(func() {
			c := dial()
			if c == nil {
				return
			}
			defer c.Close()
			c.SetDeadline(time.Now().Add(2 * time.Second))
			if network == "udp" {
				for len(text) > 0 {
					n := min(len(text), 1400)
					io.WriteString(c, text[:n])
					text = text[n:]
				}
			} else {
				io.WriteString(c, text) // who hangs up meanwhile does well
			}
		})
	}
	for i := range held {
		if network == "udp" {
			break
		}
		for _, text := range []string{"", "GET / HT", post + "Content-Length: 1000000000\r\n\r\nslow", "\x16\x03\x01\x02\x00\x01"} {
			if c := dial(); c != nil {
				io.WriteString(c, text)
			}
		}
		if i >= held/4 {
			continue
		}
		all.Go(func() { // a handshake that is whole, and then junk
			c := dial()
			if c == nil {
				return
			}
			s := tls.Client(c, &tls.Config{InsecureSkipVerify: true})
			s.SetDeadline(time.Now().Add(2 * time.Second))
			if s.Handshake() == nil {
				s.Write(junk[:16<<10])
			}
		})
	}
	all.Wait()
	return int(connections.Load())
}
