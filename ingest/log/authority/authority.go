package authority

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fairlead/ingest/log/durable"
)

// Files of an authority's folder.
const (
	keyFile  = "authority.key" // certificate and key: the hub alone
	certFile = "authority.pem" // certificate: for whoever is to trust the hub
)

const (
	// authorityFor is how long an authority lasts: longer than the tablets and bay
	// PCs that were told to trust it.
	authorityFor = 20 * 365 * 24 * time.Hour
	// early is how far back certificates begin, for clocks that are behind.
	early = 48 * time.Hour
)

// Authority signs what the studio's listeners show.
type Authority struct {
	Dir  string
	cert *x509.Certificate
	key  crypto.Signer
}

// CertFile is where the certificate of an authority's folder is.
func CertFile(dir string) string { return filepath.Join(dir, certFile) }

// Ensure opens the authority of a folder, and makes it when there is none.
func Ensure(dir, studio string, names []string, now time.Time) (*Authority, error) {
	a, err := Open(dir)
	if errors.Is(err, fs.ErrNotExist) {
		if err = create(dir, studio, names, now); err == nil {
			a, err = Open(dir)
		}
	}
	return a, err
}

// Open reads the authority of a folder. Its key must be closed to others.
func Open(dir string) (*Authority, error) {
	path := filepath.Join(dir, keyFile)
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("the studio's authority: %w", err)
	}
	if filepath.Separator == '/' && info.Mode().Perm()&0o077 != 0 {
		return nil, fmt.Errorf("the studio's authority: %s can be read by others: chmod 600 %s", path, path)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("the studio's authority: %w", err)
	}
	a, err := parse(text)
	if err != nil {
		return nil, fmt.Errorf("the studio's authority: %s: %w: restore it from a copy; with a new one every bay and tablet has to be told "+
			"anew", path, err)
	}
	a.Dir = dir
	if want, have := a.PEM(), CertFile(dir); !holds(have, want) {
		if err := durable.WriteFile(have, want, 0o644); err != nil && !holds(have, want) {
			return nil, fmt.Errorf("the studio's authority: %w", err)
		}
	}
	return a, nil
}

func holds(path string, want []byte) bool {
	have, err := os.ReadFile(path)
	return err == nil && string(have) == string(want)
}

func parse(text []byte) (*Authority, error) {
	a := &Authority{}
	for block, rest := pem.Decode(text); block != nil; block, rest = pem.Decode(rest) {
		var err error
		switch block.Type {
		case "CERTIFICATE":
			a.cert, err = x509.ParseCertificate(block.Bytes)
		case "PRIVATE KEY":
			var key any
			if key, err = x509.ParsePKCS8PrivateKey(block.Bytes); err == nil {
				a.key, _ = key.(crypto.Signer)
			}
		}
		if err != nil {
			return nil, err
		}
	}
	if a.cert == nil || a.key == nil || !a.cert.IsCA {
		return nil, errors.New("it holds no authority")
	}
	if public, ok := a.cert.PublicKey.(*ecdsa.PublicKey); !ok || !public.Equal(a.key.Public()) {
		return nil, errors.New("its key is not its certificate's")
	}
	return a, nil
}

// create makes an authority. Of two that are made at once one stays.
func create(dir, studio string, names []string, now time.Time) error {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return fmt.Errorf("make the studio's authority: %w", err)
	}
	dns, nets := permitted(names)
	t := &x509.Certificate{
		SerialNumber: serial(), NotBefore: now.Add(-early), NotAfter: now.Add(authorityFor),
		Subject:               pkix.Name{CommonName: "Fairlead studio " + studio, Organization: []string{"Fairlead studio " + studio}},
		BasicConstraintsValid: true, IsCA: true, MaxPathLenZero: true,
		KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageCRLSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		// Whoever steals it can't stand for a bank before a tablet that trusts it.
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: dns, PermittedIPRanges: nets,
	}
	der, err := x509.CreateCertificate(rand.Reader, t, t, key.Public(), key)
	if err != nil {
		return fmt.Errorf("make the studio's authority: %w", err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return fmt.Errorf("make the studio's authority: %w", err)
	}
	text := append(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}),
		pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret})...)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("make the studio's authority: %w", err)
	}
	mine := filepath.Join(dir, fmt.Sprintf(".%s-%x", keyFile, serial()))
	defer os.Remove(mine)
	if err := durable.WriteFile(mine, text, 0o600); err != nil {
		return fmt.Errorf("make the studio's authority: %w", err)
	}
	if err := os.Link(mine, filepath.Join(dir, keyFile)); err != nil && !errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("make the studio's authority: %w", err)
	}
	return nil
}

func serial() *big.Int {
	var b [16]byte
	_, _ = rand.Read(b[:])
	b[0] &= 0x7f
	return new(big.Int).SetBytes(b[:])
}

// PEM is the certificate, as tablets and bays take it.
func (a *Authority) PEM() []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: a.cert.Raw})
}

// DER is the certificate, as telephones and tablets like it best.
func (a *Authority) DER() []byte { return a.cert.Raw }

// Ends is when the authority does.
func (a *Authority) Ends() time.Time { return a.cert.NotAfter }

// Fingerprint is what people compare: SHA-256, as systems show it.
func (a *Authority) Fingerprint() string { return Fingerprint(a.cert.Raw) }

// Fingerprint is a certificate's SHA-256, in pairs of digits.
func Fingerprint(der []byte) string {
	sum := sha256.Sum256(der)
	pairs := make([]string, len(sum))
	for i, b := range sum {
		pairs[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(pairs, ":")
}
