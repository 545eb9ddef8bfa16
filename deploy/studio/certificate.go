package studio

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"

	"fairlead/dashboards/gate"
	"fairlead/ingest/log/authority"
)

// Certificate is what the console's address shows, and what it says to who comes
// to it in clear. The zero one shows nothing.
type Certificate struct {
	TLS   *tls.Config
	Plain http.Handler
	// Known says under which names browsers trust it by themselves; nil: none.
	Known func(host string) bool
	ends  func() time.Time
}

// ConsoleCertificate is the console's, by tls.by. To this machine, and under
// addresses and names that another certificate is not for, the studio's
// authority speaks.
func (c *Config) ConsoleCertificate(r prometheus.Registerer, log *slog.Logger) (Certificate, error) {
	if err := c.RefuseClear("console.listen"); err != nil {
		return Certificate{}, err
	}
	if !c.Guarded(c.Console.Listen) {
		return Certificate{}, r.Register(endsGauge("console", nil))
	}
	a, err := c.Authority()
	if err != nil {
		return Certificate{}, err
	}
	leaf, err := c.Leaf()
	if err != nil {
		return Certificate{}, err
	}
	out := Certificate{TLS: leaf.Config(), ends: leaf.Ends}
	var asked func(http.Handler) http.Handler
	switch c.TLS.By {
	case ByFiles:
		files, err := authority.OpenFiles(c.Path(c.TLS.Cert), c.Path(c.TLS.Key), time.Now, log)
		if err != nil {
			return Certificate{}, err
		}
		out.own(files.Get, func(host string) bool {
			shown, err := files.Get(nil)
			return err == nil && host != "" && shown.Leaf.VerifyHostname(host) == nil
		})
		out.ends = files.Ends
	case ByACME:
		m, err := c.acme()
		if err != nil {
			return Certificate{}, err
		}
		out.own(m.GetCertificate, func(host string) bool { return slices.Contains(c.TLS.Names, strings.ToLower(host)) })
		out.TLS.NextProtos = []string{"h2", "http/1.1", acme.ALPNProto}
		out.ends, asked = c.acmeEnds(m), m.HTTPHandler
	}
	_, port, _ := net.SplitHostPort(c.Console.Listen)
	trust := &gate.Trust{Studio: c.Studio, DER: a.DER(), PEM: a.PEM(), Fingerprint: a.Fingerprint(), Ends: a.Ends(), Known: out.Known,
		Logger: log}
	if out.Plain, err = trust.Handler(); err != nil {
		return Certificate{}, err
	}
	if c.TLS.HTTP != "" {
		beside := *trust
		beside.Port = port
		h, err := beside.Handler()
		if err != nil {
			return Certificate{}, err
		}
		if asked != nil {
			h = asked(h)
		}
		if err := c.servePlain(h, log); err != nil {
			return Certificate{}, err
		}
	}
	log.Info("who comes without TLS is told how to trust the studio", "sha256", a.Fingerprint())
	return out, r.Register(endsGauge("console", out.ends))
}

// own shows another certificate under the names that it is for.
func (c *Certificate) own(get func(*tls.ClientHelloInfo) (*tls.Certificate, error), known func(string) bool) {
	studio := c.TLS.GetCertificate
	c.Known = known
	c.TLS.GetCertificate = func(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
		if known(hello.ServerName) {
			return get(hello)
		}
		return studio(hello)
	}
}

// endsGauge shows when a listener's certificate ends; 0: it shows none.
func endsGauge(listener string, ends func() time.Time) prometheus.Collector {
	return prometheus.NewGaugeFunc(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "tls", Name: "certificate_ends_timestamp_seconds",
		Help:        "When the certificate that the listener shows ends, in Unix time; 0: it shows none. It is renewed a month before.",
		ConstLabels: prometheus.Labels{"listener": listener}}, func() float64 {
		if ends == nil || ends().IsZero() {
			return 0
		}
		return float64(ends().Unix())
	})
}

// servePlain serves the address beside the console's for who knows only the name.
func (c *Config) servePlain(h http.Handler, log *slog.Logger) error {
	l, err := net.Listen("tcp", c.TLS.HTTP)
	if err != nil {
		return fmt.Errorf("tls.http: %w: stop what uses the port, or name another", err)
	}
	web := &http.Server{Handler: h, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: 10 * time.Second,
		IdleTimeout: 30 * time.Second, MaxHeaderBytes: 16 << 10, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelDebug)}
	go func() { log.Error("tls.http is not served any more", "error", web.Serve(l)) }()
	return nil
}

// acme has a public authority speak for the console, which renews by itself.
func (c *Config) acme() (*autocert.Manager, error) {
	var names []string
	for _, n := range c.TLS.Names {
		if isName(n) {
			names = append(names, strings.ToLower(n))
		}
	}
	m := &autocert.Manager{Prompt: autocert.AcceptTOS, Cache: autocert.DirCache(c.DataPath("acme")),
		HostPolicy: autocert.HostWhitelist(names...),
		Email:      c.TLS.Email}
	if c.TLS.Directory != "" {
		m.Client = &acme.Client{DirectoryURL: c.TLS.Directory}
		if c.TLS.DirectoryCA != "" {
			text, err := os.ReadFile(c.Path(c.TLS.DirectoryCA))
			if err != nil {
				return nil, fmt.Errorf("tls.directory_ca: %w", err)
			}
			roots := x509.NewCertPool()
			if !roots.AppendCertsFromPEM(text) {
				return nil, fmt.Errorf("tls.directory_ca: %s holds no certificate in PEM", c.TLS.DirectoryCA)
			}
			way := http.DefaultTransport.(*http.Transport).Clone()
			way.TLSClientConfig = &tls.Config{RootCAs: roots, MinVersion: tls.VersionTLS12}
			m.Client.HTTPClient = &http.Client{Transport: way, Timeout: time.Minute}
		}
	}
	return m, nil
}

// acmeEnds is when the first of the names' certificates ends; a name that has
// none yet ends nothing.
func (c *Config) acmeEnds(m *autocert.Manager) func() time.Time {
	return func() (first time.Time) {
		for _, n := range c.TLS.Names {
			text, err := m.Cache.Get(context.Background(), strings.ToLower(n))
			if err != nil {
				continue
			}
			if cert, err := tls.X509KeyPair(authority.Certificates(text), text); err == nil && cert.Leaf != nil &&
				(first.IsZero() || cert.Leaf.NotAfter.Before(first)) {
				first = cert.Leaf.NotAfter
			}
		}
		return first
	}
}
