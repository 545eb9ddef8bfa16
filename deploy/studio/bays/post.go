package bays

import (
	"bytes"
	"context"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"time"

	"fairlead/ingest/log/authority"
)

// post sends what a bay's PC asks. Over TLS it is told to nobody but the hub that
// the line names: the studio's certificate is fetched first and held against it.
func (i invitation) post(ctx context.Context, body []byte) (a Admitted, err error) {
	client := &http.Client{Timeout: 20 * time.Second, Transport: &http.Transport{Proxy: nil}}
	if i.base.Scheme == "https" {
		text, err := i.authority(ctx)
		if err != nil {
			return a, err
		}
		shown, err := trusts(text, i.base.Hostname())
		if err != nil {
			return a, err
		}
		client.Transport = &http.Transport{Proxy: nil, TLSClientConfig: shown}
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, i.base.String()+"/enrol/join", bytes.NewReader(body))
	if err != nil {
		return a, err
	}
	r.Header.Set("Content-Type", "application/json")
	resp, err := patiently(client, r, body)
	if err != nil {
		return a, fmt.Errorf("the hub is not reached: %w: is %s its address in this network, its console on, its port open? The "+
			"code is still good", err, i.base.Host)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(io.LimitReader(resp.Body, 4<<20))
	if err != nil {
		return a, fmt.Errorf("the hub's answer broke off: %w: try again, the code is still good for this machine", err)
	}
	if err := json.Unmarshal(text, &a); err != nil {
		return a, fmt.Errorf("%s answers as no hub does that enrols bays (status %s): is it a hub of this version?", i.base.Host, resp.Status)
	}
	if a.Error != "" {
		return a, errors.New(a.Error)
	}
	if resp.StatusCode != http.StatusOK || a.Bay != i.bay {
		return a, fmt.Errorf("%s answers as no hub does that enrols bays (status %s): is it a hub of this version?", i.base.Host, resp.Status)
	}
	return a, nil
}

// patience is how long a console that can't be reached is tried: that of a bay that
// was just added begins anew to expect it.
const patience = 20 * time.Second

func patiently(client *http.Client, r *http.Request, body []byte) (resp *http.Response, err error) {
	for begun := time.Now(); ; {
		r.Body = io.NopCloser(bytes.NewReader(body))
		if resp, err = client.Do(r); err == nil || time.Since(begun) > patience || isStranger(err) {
			return resp, err
		}
		select {
		case <-r.Context().Done():
			return nil, r.Context().Err()
		case <-time.After(200 * time.Millisecond):
		}
	}
}

// isStranger says that somebody else answers: no waiting makes that another.
func isStranger(err error) bool {
	var s *authority.Stranger
	return errors.As(err, &s)
}

// authority fetches the studio's certificate, which the line's end names.
func (i invitation) authority(ctx context.Context) ([]byte, error) {
	// Whoever answers is believed one thing only: a text with the right sum.
	blind := &http.Client{Timeout: 20 * time.Second,
		Transport: &http.Transport{Proxy: nil, TLSClientConfig: &tls.Config{InsecureSkipVerify: true, MinVersion: tls.VersionTLS12}}}
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, i.base.String()+"/enrol/authority", nil)
	if err != nil {
		return nil, err
	}
	resp, err := patiently(blind, r, nil)
	if err != nil {
		return nil, fmt.Errorf("the hub is not reached: %w: is %s its address in this network, its console on, its port open? The "+
			"code is still good", err, i.base.Host)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(io.LimitReader(resp.Body, 64<<10))
	block, _ := pem.Decode(text)
	if err != nil || block == nil {
		return nil, fmt.Errorf("%s shows no certificate of a studio (status %s): is it a hub of this version?", i.base.Host, resp.Status)
	}
	sum := sha256.Sum256(block.Bytes)
	if base64.RawURLEncoding.EncodeToString(sum[:]) != i.pin {
		return nil, fmt.Errorf("what answers at %s is not the hub that the line is from, and was told nothing: somebody else has its address, "+
			"or the line is of a hub that was set up anew since", i.base.Host)
	}
	return text, nil
}

// trusts is the TLS of who speaks to the hub of an authority, under a certificate
// of that or, where the console shows one of its own, one that this machine trusts.
func trusts(text []byte, host string) (*tls.Config, error) {
	c, err := authority.Pinned(text, host)
	if err != nil {
		return nil, err
	}
	pinned := c.VerifyConnection
	c.VerifyConnection = func(s tls.ConnectionState) error {
		stranger := pinned(s)
		if stranger == nil || len(s.PeerCertificates) == 0 {
			return stranger
		}
		o := x509.VerifyOptions{DNSName: host, Intermediates: x509.NewCertPool()}
		if net.ParseIP(host) != nil {
			o.DNSName = "[" + host + "]"
		}
		for _, more := range s.PeerCertificates[1:] {
			o.Intermediates.AddCert(more)
		}
		if _, err := s.PeerCertificates[0].Verify(o); err != nil {
			return stranger
		}
		return nil
	}
	return c, nil
}
