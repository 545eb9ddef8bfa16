package stream

import (
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/netip"
	"net/url"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nkeys"

	"fairlead/ingest/log/authority"
)

// secure is the TLS of a link; nil: it may do without. Without an authority to
// hold the broker against, another machine's must have a certificate that the
// system trusts: what has none, or is not spoken for, is told nothing.
func (l Link) secure() (*tls.Config, error) {
	if l.Inside {
		return nil, nil
	}
	var text, seed []byte
	var err error
	if l.SeedFile != "" {
		if seed, err = os.ReadFile(l.SeedFile); err != nil {
			return nil, fmt.Errorf("broker key %s: %w", l.SeedFile, err)
		}
		text = authority.Certificates(seed)
	}
	if l.Authority != "" {
		if text, err = os.ReadFile(l.Authority); err != nil {
			return nil, fmt.Errorf("certificate of the hub's authority: %w", err)
		}
	}
	var out *tls.Config
	switch {
	case len(text) > 0:
		if out, err = authority.Pinned(text, l.hosts()...); err != nil {
			return nil, fmt.Errorf("broker key %s: %w: bring the file over from the hub anew", l.SeedFile, err)
		}
	case l.stays() || l.Clear && !strings.Contains(l.URL, "tls://"):
		return nil, nil
	default:
		out = &tls.Config{MinVersion: tls.VersionTLS12}
	}
	if len(seed) > 0 {
		pair, err := nkeys.ParseDecoratedNKey(seed)
		if err != nil {
			return nil, fmt.Errorf("broker key %s: %w", l.SeedFile, err)
		}
		out.GetClientCertificate = (&shown{pair: pair, now: time.Now}).get
	}
	return out, nil
}

// stays says that what is sent does not leave this machine.
func (l Link) stays() bool {
	return !strings.Contains(l.URL, "tls://") && !slices.ContainsFunc(l.hosts(), func(h string) bool { return !Loopback(h) })
}

// hosts are the names and addresses that are dialled.
func (l Link) hosts() (out []string) {
	for _, one := range strings.Split(l.URL, ",") {
		one = strings.TrimSpace(one)
		if !strings.Contains(one, "://") {
			one = "nats://" + one
		}
		if u, err := url.Parse(one); err == nil {
			out = append(out, u.Hostname())
		} else {
			out = append(out, "")
		}
	}
	return out
}

// Loopback says whether a host leads to this machine alone.
func Loopback(host string) bool {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	ip, err := netip.ParseAddr(host)
	return host == "localhost" || err == nil && ip.IsLoopback()
}

// failures tells why a broker is not reached, each reason once in a while.
type failures struct {
	mu   sync.Mutex
	said string
	at   time.Time
}

const sayAgain = 5 * time.Minute

func (f *failures) failed(log *slog.Logger, url string, err error) {
	if err == nil || Mistrust(err) == "" {
		return // it is away: the connection that was lost is told of
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if why := Mistrust(err); why != f.said || time.Since(f.at) > sayAgain {
		f.said, f.at = why, time.Now()
		log.Error("nothing is given to this broker", "url", url, "error", why)
	}
}

// Mistrust says why a broker that answers is not spoken to; empty: it is, or the
// trouble is another one.
func Mistrust(err error) string {
	var stranger *authority.Stranger
	var bad *tls.CertificateVerificationError
	switch {
	case err == nil:
		return ""
	case errors.As(err, &stranger):
		return stranger.Error()
	case errors.As(err, &bad):
		return fmt.Sprintf("its certificate is not trusted here (%v): bring the bay's key over from the hub anew, the file of a hub with "+
			"TLS says which hub is the bay's own", bad.Err)
	case errors.Is(err, nats.ErrNkeysNotSupported):
		return "it asks for no key, so it is not this studio's hub: is the address right, and is the hub's own broker running?"
	case errors.Is(err, nats.ErrSecureConnWanted):
		return "it speaks in clear: set tls.by: studio on the hub and bring the bay's key over anew, or say tls.by: clear here too if the " +
			"network is the bays' own (of a head office: head_office.clear: true)"
	case strings.Contains(err.Error(), "x509:"), strings.Contains(err.Error(), "tls: first record does not look like a TLS handshake"):
		return err.Error()
	case strings.Contains(err.Error(), "remote error: tls:"):
		return "it does not take this key: `fairlead keys list` on the hub shows which are in force (" + err.Error() + ")"
	}
	return ""
}
