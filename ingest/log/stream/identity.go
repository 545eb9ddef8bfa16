package stream

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"fmt"
	"math/big"
	"os"
	"sync"
	"time"

	"github.com/nats-io/nkeys"

	"fairlead/ingest/log/authority"
	"fairlead/ingest/log/durable"
)

// A key of the keyring is an Ed25519 key, and so can show itself in TLS: who
// holds it makes a certificate for it, for a while, and the broker lets nobody
// past the handshake whose certificate is not of a key in force. So there is no
// second thing to bring to a bay's PC, to renew there and to revoke.

const (
	shownFor   = 7 * 24 * time.Hour
	shownEarly = 48 * time.Hour
)

// shown is what a key shows of itself, made anew before it ends.
type shown struct {
	pair nkeys.KeyPair
	now  func() time.Time

	mu   sync.Mutex
	cert *tls.Certificate
}

// get is for tls.Config.GetClientCertificate.
func (s *shown) get(*tls.CertificateRequestInfo) (*tls.Certificate, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	// A clock that steps back ends it too: it would not have begun yet.
	if now := s.now(); s.cert != nil && now.After(s.cert.Leaf.NotBefore) && s.cert.Leaf.NotAfter.Sub(now) > shownFor/2 {
		return s.cert, nil
	}
	made, err := s.make()
	if err == nil {
		s.cert = made
	}
	return made, err
}

func (s *shown) make() (*tls.Certificate, error) {
	seed, err := s.pair.Seed()
	if err != nil {
		return nil, fmt.Errorf("certificate of the key: %w", err)
	}
	_, raw, err := nkeys.DecodeSeed(seed)
	if err != nil {
		return nil, fmt.Errorf("certificate of the key: %w", err)
	}
	key := ed25519.NewKeyFromSeed(raw)
	name, err := s.pair.PublicKey()
	if err != nil {
		return nil, fmt.Errorf("certificate of the key: %w", err)
	}
	number, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return nil, err
	}
	t := &x509.Certificate{SerialNumber: number, Subject: pkix.Name{CommonName: name}, NotBefore: s.now().Add(-shownEarly),
		NotAfter: s.now().Add(shownFor), KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageClientAuth}}
	der, err := x509.CreateCertificate(rand.Reader, t, t, key.Public(), key)
	if err != nil {
		return nil, fmt.Errorf("certificate of the key: %w", err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, err
	}
	return &tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key, Leaf: leaf}, nil
}

// errNoKey is what a broker's log says of who came without a key in force.
var errNoKey = errors.New("its certificate is not of a key in force")

// known are the public keys that a broker lets past the handshake.
type known struct {
	mu   sync.RWMutex
	keys map[string]bool
}

func (k *known) set(grants []Grant) {
	keys := make(map[string]bool, len(grants))
	for _, g := range grants {
		keys[g.Key] = true
	}
	k.mu.Lock()
	k.keys = keys
	k.mu.Unlock()
}

// check is for tls.Config.VerifyConnection. That the key is held, TLS has proved.
func (k *known) check(s tls.ConnectionState) error {
	if len(s.PeerCertificates) != 1 {
		return errNoKey
	}
	raw, ok := s.PeerCertificates[0].PublicKey.(ed25519.PublicKey)
	if !ok {
		return errNoKey
	}
	name, err := nkeys.Encode(nkeys.PrefixByteUser, raw)
	if err != nil {
		return errNoKey
	}
	k.mu.RLock()
	defer k.mu.RUnlock()
	if !k.keys[string(name)] {
		return errNoKey
	}
	return nil
}

// listen is the broker's TLS from what its listener shows.
func (k *known) listen(shows *tls.Config) *tls.Config {
	out := shows.Clone()
	out.ClientAuth, out.VerifyConnection = tls.RequireAnyClientCert, k.check
	return out
}

// Carry puts the certificate of the studio's authority into a key's file, so
// that the one file that is brought to a bay's PC says both who the bay is and
// which hub is its own. It says whether the file was changed.
func (k Keyring) Carry(name string, certificate []byte) (bool, error) {
	path := k.SeedFile(name)
	text, err := os.ReadFile(path)
	if errors.Is(err, os.ErrNotExist) {
		return false, nil // it was moved to the machine that uses it
	}
	if err != nil {
		return false, fmt.Errorf("key %s: %w", name, err)
	}
	if bytes.Equal(authority.Certificates(text), certificate) {
		return false, nil
	}
	first, _, _ := bytes.Cut(text, []byte("-----BEGIN"))
	out := append(bytes.TrimSpace(first), '\n')
	return true, durable.WriteFile(path, append(out, certificate...), 0o600)
}
