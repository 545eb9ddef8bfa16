package bays

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fairlead/deploy/studio"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/durable"
	"fairlead/ingest/log/stream"
)

// Invitation is a code with which a bay's PC enrols once.
type Invitation struct {
	Sum   string    `json:"sum"` // of the code; that itself is kept nowhere
	By    string    `json:"by"`
	Until time.Time `json:"until"`
	// Key is the public key that came with the code first. The same machine may ask
	// again, if the answer was lost on the way; another is refused.
	Key     string    `json:"key,omitempty"`
	Used    time.Time `json:"used,omitzero"`
	Machine string    `json:"machine,omitempty"` // the name that it gave itself
	Program string    `json:"program,omitempty"`
}

// ValidFor is how long a code may be used.
const ValidFor = time.Hour

// Hub is the hub's side of enrolment.
type Hub struct {
	Config *studio.Config
	Kept   Kept
}

// HubOf is the hub of a configuration.
func HubOf(c *studio.Config) Hub { return Hub{c, Of(c)} }

// Line is what is typed on the bay's PC.
type Line struct {
	Bay   string    `json:"bay"`
	Text  string    `json:"line"`
	Until time.Time `json:"until"`
	Clear bool      `json:"clear,omitempty"` // it goes over the network as it is
}

// Invite makes a code for a bay, new or known, and what is to be typed there. at
// is the hub's name or address in the bay's network; empty: as the configuration says.
func (h Hub) Invite(bay, at, by string, valid time.Duration) (Line, error) {
	c := h.Config
	if err := event.CheckName("bay", bay); err != nil || bay == stream.ConsoleBay {
		return Line{}, fmt.Errorf("bay %q: use 1 to 32 of a-z, 0-9 and -, and not %q", bay, stream.ConsoleBay)
	}
	if b, err := c.Bay(bay); err == nil && len(b.Feeds) > 0 {
		return Line{}, fmt.Errorf("bay %s has its feeds on the hub itself: a PC of its own can't speak for it too; take them out of %s first",
			bay, c.File())
	}
	if c.Broker.URL != "" {
		return Line{}, fmt.Errorf("the broker is not this hub's own (broker.url), so no key can be given to a bay from here: " +
			"make one there and write the bay's studio.yaml by hand, deploy/README.md says how")
	}
	base, err := consoleFrom(c, at)
	if err != nil {
		return Line{}, err
	}
	code := rand.Text() // 130 bits
	now := h.Kept.Now()
	i := Invitation{Sum: sumOf(code), By: by, Until: now.Add(valid).UTC().Truncate(time.Second)}
	if err := os.MkdirAll(filepath.Join(h.Kept.Dir, bay), 0o700); err != nil {
		return Line{}, fmt.Errorf("keep the code: %w", err)
	}
	if err := durable.WriteJSON(h.Kept.path(bay, "invitation.json"), i); err != nil {
		return Line{}, fmt.Errorf("keep the code: %w", err)
	}
	base.Path = "/" + bay + "/" + code
	if base.Scheme == "https" {
		a, err := c.Authority()
		if err != nil {
			return Line{}, err
		}
		base.Fragment = pin(a.DER())
	}
	return Line{Bay: bay, Text: "fairlead bay join '" + base.String() + "'", Until: i.Until,
		Clear: base.Scheme == "http" && !stream.Loopback(base.Hostname())}, nil
}

// consoleFrom is the console's address as a bay's PC reaches it.
func consoleFrom(c *studio.Config, at string) (url.URL, error) {
	host, port, err := net.SplitHostPort(c.Console.Listen)
	if err != nil {
		return url.URL{}, fmt.Errorf("console.listen: %w", err)
	}
	switch ip, bad := netip.ParseAddr(host); {
	case at != "":
		host = at
		if h, p, err := net.SplitHostPort(at); err == nil {
			host, port = h, p
		}
	case host != "" && (bad != nil || !ip.IsUnspecified()):
	case len(c.TLS.Names) > 0:
		host = c.TLS.Names[0]
	case len(c.Console.Hosts) > 0:
		host = c.Console.Hosts[0]
	default:
		if host, err = os.Hostname(); err != nil {
			return url.URL{}, fmt.Errorf("this machine's name: %w: say by --at how the bay's PC reaches it", err)
		}
	}
	if !stream.Loopback(host) && (stream.Loopback(c.Broker.Listen) || stream.Loopback(c.Console.Listen)) {
		return url.URL{}, fmt.Errorf("broker.listen %s and console.listen %s: a bay's PC can't reach an address of the loopback: give both this "+
			"machine's address in the bays' network, and `tls: {by: studio}`", c.Broker.Listen, c.Console.Listen)
	}
	u := url.URL{Scheme: "http", Host: net.JoinHostPort(host, port)}
	if c.Guarded(c.Console.Listen) {
		u.Scheme = "https"
	}
	return u, nil
}

// brokerFrom is the broker's address for a bay's PC that reached the console under a host.
func brokerFrom(c *studio.Config, reached string) string {
	host, port, _ := net.SplitHostPort(c.Broker.Listen)
	if ip, err := netip.ParseAddr(host); host == "" || err == nil && ip.IsUnspecified() {
		host = reached
	}
	return "nats://" + net.JoinHostPort(host, port)
}

// take uses a code up for the key of a machine.
func (h Hub) take(bay, code, key, machine, program string) error {
	file := h.Kept.path(bay, "invitation.json")
	text, err := os.ReadFile(file)
	if errors.Is(err, os.ErrNotExist) {
		return errCode
	}
	var i Invitation
	if err == nil {
		err = json.Unmarshal(text, &i)
	}
	if err != nil {
		return fmt.Errorf("the code of bay %s can't be read: %w: `fairlead bay add %s` makes another", bay, err, bay)
	}
	now := h.Kept.Now()
	switch {
	case i.Sum != sumOf(code):
		return errCode
	case !now.Before(i.Until):
		return errCode
	case i.Key == key:
		return nil // the same machine, again
	case i.Key != "":
		return errCode
	}
	i.Key, i.Used, i.Machine, i.Program = key, now.UTC().Truncate(time.Second), short(machine), short(program)
	return durable.WriteJSON(file, i)
}

// errCode tells nobody which of it is so.
var errCode = errors.New("this code is not known, was used by another machine, or its time is over: `fairlead bay add` on the hub " +
	"makes another")

// Invitation reads a bay's last code; the zero one: there was none.
func (k Kept) Invitation(bay string) (Invitation, error) {
	return durable.ReadJSON[Invitation](k.path(bay, "invitation.json"))
}

func sumOf(code string) string {
	sum := sha256.Sum256([]byte(strings.ToUpper(strings.TrimSpace(code))))
	return hex.EncodeToString(sum[:])
}

// pin is what a certificate is known by in a line.
func pin(der []byte) string {
	sum := sha256.Sum256(der)
	return base64.RawURLEncoding.EncodeToString(sum[:])
}

// short cuts what a machine says of itself to what a page can show.
func short(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' {
			return -1
		}
		return r
	}, s)
	return s[:min(len(s), 80)]
}
