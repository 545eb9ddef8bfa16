package authority

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"sync"
	"time"
)

const (
	leafFor = 90 * 24 * time.Hour // browsers take at most 825 days of a studio's own
	// renewAt is how long before its end a certificate is followed by another.
	renewAt = 30 * 24 * time.Hour
)

// Leaf is what one process's listeners show: made in its memory, and made anew
// before it ends, or when the machine has got another address.
type Leaf struct {
	by    *Authority
	names []string // beside what the machine itself goes by
	now   func() time.Time

	mu   sync.Mutex
	cert *tls.Certificate
}

// Leaf makes one that also goes by names, which are host names or addresses.
func (a *Authority) Leaf(names []string, now func() time.Time) (*Leaf, error) {
	if err := a.Check(names); err != nil {
		return nil, err
	}
	l := &Leaf{by: a, names: names, now: now}
	_, err := l.Get(nil)
	return l, err
}

// Get is what a listener shows now: for tls.Config.GetCertificate.
func (l *Leaf) Get(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.cert != nil && l.fresh() && l.covers(hello) {
		return l.cert, nil
	}
	made, err := l.make()
	if err != nil {
		if l.cert != nil && l.now().Before(l.cert.Leaf.NotAfter) {
			return l.cert, nil
		}
		return nil, err
	}
	l.cert = made
	return made, nil
}

// fresh says that the certificate is far from its end, and not from a clock that was ahead.
func (l *Leaf) fresh() bool {
	left := l.cert.Leaf.NotAfter.Sub(l.now())
	return left > renewAt && left <= leafFor+early
}

// covers says whether the address by which someone came is in the certificate,
// or could not be: an address that is not the authority's to sign.
func (l *Leaf) covers(hello *tls.ClientHelloInfo) bool {
	if hello == nil || hello.Conn == nil {
		return true
	}
	at, err := netip.ParseAddrPort(hello.Conn.LocalAddr().String())
	if err != nil {
		return true
	}
	ip := at.Addr().Unmap().WithZone("")
	if !l.by.may(ip.String()) {
		return true
	}
	return slices.ContainsFunc(l.cert.Leaf.IPAddresses, func(have net.IP) bool { return have.Equal(ip.AsSlice()) })
}

func (l *Leaf) make() (*tls.Certificate, error) {
	now := l.now()
	if least := l.by.cert.NotBefore.Add(early); now.Before(least) {
		now = least // the hub's clock went back behind the day on which its authority was made
	}
	if !now.Before(l.by.cert.NotAfter) {
		return nil, fmt.Errorf("the studio's authority ended on %s: remove %s and start anew; bays and tablets then have to be told of the new "+
			"one", l.by.cert.NotAfter.Format(time.DateOnly), l.by.Dir)
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	t := &x509.Certificate{
		SerialNumber: serial(), Subject: pkix.Name{CommonName: "Fairlead hub", Organization: l.by.cert.Subject.Organization},
		NotBefore: now.Add(-early), NotAfter: now.Add(leafFor), BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	if t.NotAfter.After(l.by.cert.NotAfter) {
		t.NotAfter = l.by.cert.NotAfter
	}
	for _, n := range append(l.by.here(), l.names...) {
		if ip, err := netip.ParseAddr(n); err != nil {
			t.DNSNames = append(t.DNSNames, plain(n))
		} else {
			t.IPAddresses = append(t.IPAddresses, net.IP(ip.Unmap().AsSlice()))
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, t, l.by.cert, key.Public(), l.by.key)
	if err != nil {
		return nil, errors.Join(errors.New("make a listener's certificate"), err)
	}
	made, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, err
	}
	return &tls.Certificate{Certificate: [][]byte{der, l.by.cert.Raw}, PrivateKey: key, Leaf: made}, nil
}

// Ends is when what is shown now ends.
func (l *Leaf) Ends() time.Time {
	if c, err := l.Get(nil); err == nil {
		return c.Leaf.NotAfter
	}
	return l.by.Ends()
}

// Names are what the certificate shown now is for.
func (l *Leaf) Names() []string {
	c, err := l.Get(nil)
	if err != nil {
		return nil
	}
	out := slices.Clone(c.Leaf.DNSNames)
	for _, ip := range c.Leaf.IPAddresses {
		out = append(out, ip.String())
	}
	return out
}

// Config is the TLS of a listener that shows it.
func (l *Leaf) Config() *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: l.Get}
}
