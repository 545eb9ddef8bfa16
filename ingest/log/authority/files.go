package authority

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"log/slog"
	"os"
	"sync"
	"time"

	"fairlead/ingest/log/durable"
)

// Files show a certificate of the studio's own from two PEM files, and take up a
// new one when they change. New files that can't be used are told of, and what
// was shown before is shown on.
type Files struct {
	cert, key string
	now       func() time.Time
	log       *slog.Logger

	mu     sync.Mutex
	shown  *tls.Certificate
	looked time.Time
	stamp  string // of the files when they were read last
}

const lookEvery = 5 * time.Second

// OpenFiles reads both.
func OpenFiles(cert, key string, now func() time.Time, log *slog.Logger) (*Files, error) {
	f := &Files{cert: cert, key: key, now: now, log: log}
	if err := f.read(); err != nil {
		return nil, err
	}
	return f, nil
}

func (f *Files) read() error {
	f.looked, f.stamp = f.now(), f.stamps()
	pair, err := tls.LoadX509KeyPair(f.cert, f.key)
	if err != nil {
		return fmt.Errorf("tls.cert %s, tls.key %s: %w: name the PEM files of the certificate (with its chain) and of its key", f.cert,
			f.key, err)
	}
	if pair.Leaf == nil {
		if pair.Leaf, err = x509.ParseCertificate(pair.Certificate[0]); err != nil {
			return fmt.Errorf("tls.cert %s: %w", f.cert, err)
		}
	}
	f.shown = &pair
	return nil
}

func (f *Files) stamps() (out string) {
	for _, path := range []string{f.cert, f.key} {
		if info, err := os.Stat(path); err == nil {
			out += fmt.Sprint(info.ModTime().UnixNano(), info.Size(), ";")
		}
	}
	return out
}

// WritePair writes what a leaf shows as two PEM files.
func WritePair(l *Leaf, cert, key string) error {
	c, err := l.Get(nil)
	if err != nil {
		return err
	}
	secret, err := x509.MarshalPKCS8PrivateKey(c.PrivateKey)
	if err != nil {
		return err
	}
	var chain []byte
	for _, der := range c.Certificate {
		chain = append(chain, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})...)
	}
	if err := durable.WriteFile(cert, chain, 0o644); err != nil {
		return err
	}
	return durable.WriteFile(key, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}), 0o600)
}

// Get is what a listener shows now: for tls.Config.GetCertificate.
func (f *Files) Get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.now().Sub(f.looked) >= lookEvery {
		f.looked = f.now()
		if f.stamps() != f.stamp {
			if err := f.read(); err != nil {
				f.log.Error("the new certificate is not taken, the old one is shown on", "error", err)
			} else {
				f.log.Info("a new certificate is shown", "ends", f.shown.Leaf.NotAfter)
			}
		}
	}
	return f.shown, nil
}

// Ends is when what is shown now ends.
func (f *Files) Ends() time.Time {
	c, _ := f.Get(nil)
	return c.Leaf.NotAfter
}
