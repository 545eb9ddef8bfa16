package studio

import (
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fairlead/ingest/log/authority"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/watch"
)

// endsSoon is how long before its end a certificate that is renewed by people is
// missed. Those that renew themselves do so a month before.
const endsSoon = 21 * 24 * time.Hour

// keptCertificate is a certificate that lies in a file of the studio's.
type keptCertificate struct{ what, file, try string }

func (c *Config) keptCertificates() (out []keptCertificate) {
	if c.TLS.By == "" || c.TLS.By == InClear {
		return nil
	}
	out = append(out, keptCertificate{"the studio's authority", authority.CertFile(c.AuthorityDir()),
		"remove its folder and start anew; bring each bay's key file over, and tell each tablet again"})
	switch c.TLS.By {
	case ByFiles:
		out = append(out, keptCertificate{"tls.cert", c.Path(c.TLS.Cert),
			"put a new certificate and key into the files; they are taken up by themselves"})
	case ByACME:
		for _, n := range c.TLS.Names {
			out = append(out, keptCertificate{n, filepath.Join(c.DataPath("acme"), strings.ToLower(n)),
				"is the name still this hub's, and does the public authority get through to its port 443 or tls.http?"})
		}
	}
	return out
}

// end is when a file's first certificate ends.
func (k keptCertificate) end() (time.Time, error) {
	text, err := os.ReadFile(k.file)
	if err != nil {
		return time.Time{}, err
	}
	block, _ := pem.Decode(authority.Certificates(text))
	if block == nil {
		return time.Time{}, fmt.Errorf("%s holds no certificate", k.file)
	}
	cert, err := x509.ParseCertificate(block.Bytes)
	if err != nil {
		return time.Time{}, fmt.Errorf("%s: %w", k.file, err)
	}
	return cert.NotAfter, nil
}

// trouble says what is wrong with it at a time; empty: nothing.
func (k keptCertificate) trouble(now time.Time) string {
	at, err := k.end()
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "" // not made yet
	case err != nil:
		return err.Error()
	case !now.Before(at):
		return fmt.Sprintf("ended on %s", at.Format(time.DateOnly))
	case at.Sub(now) < endsSoon:
		return fmt.Sprintf("ends on %s", at.Format(time.DateOnly))
	}
	return ""
}

// certificateAlarms says which certificates are about to end.
func (c *Config) certificateAlarms(now time.Time) (out []watch.Alarm) {
	for _, k := range c.keptCertificates() {
		if said := k.trouble(now); said != "" {
			out = append(out, watch.Alarm{Where: "certificate", What: "ends", Severity: watch.Warning, Text: k.what + " " + said + ": " + k.try})
		}
	}
	return out
}

// network looks at what others can hear.
func (d *doctor) network() {
	if err := d.c.RefuseClear(); err != nil {
		d.add("tls", Bad, "something listens beyond this machine, and tls.by says nothing", err.Error())
		return
	}
	if d.c.TLS.By == InClear && (!stream.Loopback(d.c.Console.Listen) || d.c.Broker.URL == "" && !stream.Loopback(d.c.Broker.Listen)) {
		d.add("tls", Warn, "names, passwords and shots go over the network in clear, as tls.by: clear says it may be",
			"tls: {by: studio} guards them; `fairlead authority --help` says what to bring where")
	}
	now := time.Now()
	for _, k := range d.c.keptCertificates() {
		if said := k.trouble(now); said != "" {
			d.add("certificate", Bad, k.what+" "+said, k.try)
		} else if at, err := k.end(); err == nil {
			d.add("certificate", OK, k.what+" ends on "+at.Format(time.DateOnly), "")
		}
	}
}
