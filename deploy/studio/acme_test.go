package studio

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"log"
	"net"
	"net/http/httptest"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/letsencrypt/pebble/v2/ca"
	"github.com/letsencrypt/pebble/v2/db"
	"github.com/letsencrypt/pebble/v2/va"
	"github.com/letsencrypt/pebble/v2/wfe"
	"github.com/miekg/dns"
	"github.com/prometheus/client_golang/prometheus"
)

// publicAuthority is an ACME server that finds every name at this machine, and
// asks there at a port of TLS.
func publicAuthority(t *testing.T, tlsPort string) (*httptest.Server, *x509.CertPool) {
	t.Helper()
	t.Setenv("PEBBLE_VA_NOSLEEP", "1")
	t.Setenv("PEBBLE_WFE_NONCEREJECT", "0")
	names, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ready := make(chan struct{})
	resolver := &dns.Server{Listener: names, NotifyStartedFunc: func() { close(ready) },
		Handler: dns.HandlerFunc(func(w dns.ResponseWriter, q *dns.Msg) {
			a := new(dns.Msg).SetReply(q)
			if q.Question[0].Qtype == dns.TypeA {
				a.Answer = []dns.RR{&dns.A{A: net.IPv4(127, 0, 0, 1),
					Hdr: dns.RR_Header{Name: q.Question[0].Name, Rrtype: dns.TypeA, Class: dns.ClassINET, Ttl: 1}}}
			}
			_ = w.WriteMsg(a)
		})}
	ended := make(chan error, 1)
	go func() { ended <- resolver.ActivateAndServe() }()
	<-ready
	t.Cleanup(func() { _ = resolver.Shutdown(); <-ended })
	n, err := strconv.Atoi(tlsPort)
	if err != nil {
		t.Fatal(err)
	}
	quiet, store := log.New(io.Discard, "", 0), db.NewMemoryStore()
	profiles := map[string]ca.Profile{"default": {Description: "for tests", ValidityPeriod: 90 * 24 * 3600}}
	signs := ca.New(quiet, store, "", "ecdsa", 0, 1, profiles)
	asks := va.New(quiet, 1, n, true, names.Addr().String(), store)
	front := wfe.New(quiet, store, asks, signs, []string{"authority.example"}, true, false, 1, 1)
	server := httptest.NewTLSServer(front.Handler())
	t.Cleanup(server.Close)
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(signs.GetRootCert(0).PEM()) {
		t.Fatal("the authority has no root")
	}
	return server, roots
}

// A console whose name a public authority speaks for gets its certificate when the
// first browser comes, shows the studio's own under other names, and after a start
// without the authority shows what it was given.
func TestAPublicAuthoritySpeaksForTheConsole(t *testing.T) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	_, port, _ := net.SplitHostPort(listener.Addr().String())
	public, roots := publicAuthority(t, port)
	const name = "console.harbour-row.example"
	c := made(t, "console: {listen: \"0.0.0.0:8080\"}\ntls: {by: acme, names: ["+name+"], directory: \""+public.URL+wfe.DirectoryPath+
		"\", directory_ca: directory.pem}")
	own := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: public.Certificate().Raw})
	if err := os.WriteFile(c.Path("directory.pem"), own, 0o600); err != nil {
		t.Fatal(err)
	}
	shown, err := c.ConsoleCertificate(prometheus.NewRegistry(), quiet)
	if err != nil {
		t.Fatal(err)
	}
	shows := func(at net.Listener, shown *tls.Config) {
		for {
			conn, err := at.Accept()
			if err != nil {
				return
			}
			go func() {
				defer conn.Close()
				_ = tls.Server(conn, shown).HandshakeContext(t.Context())
			}()
		}
	}
	go shows(listener, shown.TLS)
	get := func(host string) (*x509.Certificate, error) {
		d := tls.Dialer{Config: &tls.Config{ServerName: host, RootCAs: roots}}
		conn, err := d.DialContext(t.Context(), "tcp", listener.Addr().String())
		if err != nil {
			return nil, err
		}
		defer conn.Close()
		return conn.(*tls.Conn).ConnectionState().PeerCertificates[0], nil
	}
	first, err := get(name)
	if err != nil {
		t.Fatal(err)
	}
	if ends := shown.ends(); !ends.Equal(first.NotAfter) {
		t.Errorf("ends %v, the certificate %v", ends, first.NotAfter)
	}
	if _, err := get("other.example"); err == nil || !strings.Contains(err.Error(), "x509:") {
		t.Errorf("another name: %v", err)
	}
	if !shown.Known(strings.ToUpper(name)) || shown.Known("other.example") {
		t.Error("which names browsers trust by themselves")
	}
	public.Close()
	again, err := c.ConsoleCertificate(prometheus.NewRegistry(), quiet)
	if err != nil {
		t.Fatal(err)
	}
	listener.Close()
	if listener, err = net.Listen("tcp", "127.0.0.1:0"); err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	go shows(listener, again.TLS)
	if second, err := get(name); err != nil || !second.Equal(first) {
		t.Errorf("after a start without the authority: %v", err)
	}
}
