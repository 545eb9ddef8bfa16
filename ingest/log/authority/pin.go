package authority

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net/netip"
	"strings"
	"time"
)

// Stranger says that whoever answers at the hub's address is not the studio's hub.
type Stranger struct {
	Name string // asked for
	Why  error
}

func (e *Stranger) Error() string {
	var host x509.HostnameError
	if errors.As(e.Why, &host) {
		return fmt.Sprintf("the hub's certificate is not for %q: add this name or address to tls.names of the hub's configuration "+
			"(nothing was told to it)", e.Name)
	}
	return fmt.Sprintf("what answers at %q is not this studio's hub: its certificate is not of the studio's authority; nothing was told to "+
		"it. If the hub has a new authority, bring the key's file over anew (%v)", e.Name, e.Why)
}

func (e *Stranger) Unwrap() error { return e.Why }

// Pinned is the TLS of who speaks to a hub of the authority whose certificates
// stand in a PEM text, and to nobody else. hosts are what is dialled; for TLS
// tells the names of who was dialled, but no addresses. It asks for who was
// dialled, and not for the time: the hub's clock is what a bay's clock is set
// right by, so a bay whose clock is years off has to get through to it.
func Pinned(text []byte, hosts ...string) (*tls.Config, error) {
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(text) {
		return nil, errors.New("no certificate of an authority stands in it")
	}
	return &tls.Config{
		MinVersion: tls.VersionTLS12, RootCAs: roots,
		InsecureSkipVerify: true, // for VerifyConnection does it, at a time of its own
		VerifyConnection: func(s tls.ConnectionState) error {
			if len(s.PeerCertificates) == 0 {
				return &Stranger{s.ServerName, errors.New("it shows no certificate")}
			}
			leaf := s.PeerCertificates[0]
			if s.ServerName == "" {
				s.ServerName = among(leaf, hosts)
			}
			o := x509.VerifyOptions{Roots: roots, DNSName: s.ServerName, CurrentTime: atATime(leaf, time.Now()), Intermediates: x509.NewCertPool(),
				KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
			for _, c := range s.PeerCertificates[1:] {
				o.Intermediates.AddCert(c)
			}
			if _, err := leaf.Verify(o); err != nil {
				return &Stranger{s.ServerName, err}
			}
			return nil
		},
	}, nil
}

// among is the address of those dialled that a certificate is for, or one that it is not for.
func among(c *x509.Certificate, hosts []string) (name string) {
	name = "0.0.0.0"
	for _, h := range hosts {
		if _, err := netip.ParseAddr(h); err != nil {
			continue
		}
		if name = h; c.VerifyHostname(h) == nil {
			return h
		}
	}
	return name
}

// atATime is now, or the nearest time at which a certificate holds.
func atATime(c *x509.Certificate, now time.Time) time.Time {
	switch {
	case now.Before(c.NotBefore):
		return c.NotBefore
	case now.After(c.NotAfter):
		return c.NotAfter
	}
	return now
}

// Certificates are the certificates that stand in a text, such as a key's file.
func Certificates(text []byte) []byte {
	const begin, end = "-----BEGIN CERTIFICATE-----", "-----END CERTIFICATE-----"
	var out strings.Builder
	for s := string(text); ; {
		i := strings.Index(s, begin)
		if i < 0 {
			return []byte(out.String())
		}
		j := strings.Index(s[i:], end)
		if j < 0 {
			return []byte(out.String())
		}
		out.WriteString(s[i:i+j+len(end)] + "\n")
		s = s[i+j+len(end):]
	}
}
