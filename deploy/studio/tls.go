package studio

import (
	"context"
	"crypto/tls"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"slices"
	"strings"
	"time"

	"fairlead/ingest/log/authority"
	"fairlead/ingest/log/stream"
)

// TLS says how what goes over the network is kept from those who listen to it.
type TLS struct {
	// By is who speaks for the hub: studio (an authority of its own), files (a
	// certificate of one's own) or acme (one from a public authority) for the console;
	// broker and metrics are the studio's authority's in each of them. clear: nobody,
	// all goes in clear. It has to be said once anything listens beyond this machine.
	By string `yaml:"by"`
	// Names are further host names and addresses by which the hub is reached.
	Names []string `yaml:"names"`
	Cert  string   `yaml:"cert"` // files: PEM of the certificate and its chain
	Key   string   `yaml:"key"`  // files: PEM of its key
	// ACME: whom the public authority writes to, and where it is; default: Let's Encrypt.
	Email     string `yaml:"email"`
	Directory string `yaml:"directory"`
	// DirectoryCA is a file with the certificate that the directory's own address is
	// held against, as a group's own ACME server has it; left out: the system's.
	DirectoryCA string `yaml:"directory_ca"`
	// HTTP is an address that leads tablets to the console's; ACME may ask there. The
	// console's own address does so too.
	HTTP string `yaml:"http"`
	// Authority is the folder of the studio's authority; default: authority below data.
	Authority string `yaml:"authority"`
}

// What TLS.By may be.
const (
	ByStudio = "studio"
	ByFiles  = "files"
	ByACME   = "acme"
	InClear  = "clear"
)

func (t TLS) check() (problems []error) {
	bad := func(key, value, try string) {
		problems = append(problems, fmt.Errorf("tls.%s: %q: %s", key, value, try))
	}
	switch t.By {
	case "", ByStudio, InClear:
	case ByFiles:
		if t.Cert == "" || t.Key == "" {
			bad("by", t.By, "name the PEM files by tls.cert and tls.key")
		}
	case ByACME:
		if !slices.ContainsFunc(t.Names, isName) {
			bad("by", t.By, "give the names that the certificate is for by tls.names")
		}
	default:
		bad("by", t.By, "use studio, files, acme or clear")
	}
	if t.By != ByFiles && (t.Cert != "" || t.Key != "") {
		bad("cert", t.Cert, "tls.cert and tls.key go with tls.by: files")
	}
	for _, n := range t.Names {
		if _, err := netip.ParseAddr(n); err != nil && !isName(n) {
			bad("names", n, "write a host name or an address, without port")
		}
	}
	if t.HTTP != "" {
		if err := checkAddress(t.HTTP); err != nil {
			bad("http", t.HTTP, err.Error())
		}
	}
	return problems
}

func isName(n string) bool {
	_, err := netip.ParseAddr(n)
	return err != nil && n != "" && !strings.ContainsAny(n, " :/*_")
}

// ClearError says that what others can hear would go in clear.
type ClearError struct{ at []string }

func (e *ClearError) Error() string {
	return fmt.Sprintf("%s is reached from other machines, and names, passwords and shots would go there in clear. Say one of two things in "+
		"studio.yaml:\n  tls: {by: studio}  the studio's own authority guards it: bring each bay's key file over anew, and each tablet "+
		"opens the console's old address once, where it is told the steps\n  tls: {by: clear}   it stays as it is, on a network that is the "+
		"bays' own; bay PCs say the same, and every page says so\nA certificate of your own: deploy/SECURITY.md", strings.Join(e.at, " and "))
}

// WrongUse marks what another configuration mends.
func (*ClearError) WrongUse() {}

// RefuseClear refuses listeners beyond this machine of which nothing is said.
func (c *Config) RefuseClear(keys ...string) error {
	if c.TLS.By != "" {
		return nil
	}
	e := &ClearError{}
	for _, l := range []struct {
		key, at string
		ours    bool
	}{{"broker.listen", c.Broker.Listen, c.Broker.URL == ""}, {"console.listen", c.Console.Listen, true},
		{"metrics.listen", c.Metrics.Listen, true}} {
		if l.ours && !stream.Loopback(l.at) && (len(keys) == 0 || slices.Contains(keys, l.key)) {
			e.at = append(e.at, l.key+" "+l.at)
		}
	}
	if len(e.at) > 0 {
		return e
	}
	return nil
}

// Guarded says whether what listens at an address does so by TLS: nothing that
// stays on this machine does.
func (c *Config) Guarded(listen string) bool {
	return c.TLS.By != "" && c.TLS.By != InClear && !stream.Loopback(listen)
}

// InClear says that names and passwords can be heard at the console's address.
func (c *Config) InClear() bool { return c.TLS.By == InClear && !stream.Loopback(c.Console.Listen) }

// AuthorityDir is the folder of the studio's authority.
func (c *Config) AuthorityDir() string {
	if c.TLS.Authority != "" {
		return c.Path(c.TLS.Authority)
	}
	return c.DataPath("authority")
}

// names are what the hub goes by as the configuration says.
func (c *Config) names() (out []string) {
	out = slices.Concat(c.TLS.Names, c.Console.Hosts)
	for _, listen := range []string{c.Broker.Listen, c.Console.Listen} {
		host, _, err := net.SplitHostPort(listen)
		if ip, bad := netip.ParseAddr(host); err == nil && host != "" && (bad != nil || !ip.IsUnspecified() && !ip.IsLoopback()) {
			out = append(out, host)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// Authority is the studio's, which is made when there is none.
func (c *Config) Authority() (*authority.Authority, error) {
	return authority.Ensure(c.AuthorityDir(), c.Studio, c.names(), time.Now())
}

// Leaf is what this process's listeners show.
func (c *Config) Leaf() (*authority.Leaf, error) {
	a, err := c.Authority()
	if err != nil {
		return nil, err
	}
	names := c.names()
	if c.TLS.By == ByFiles || c.TLS.By == ByACME { // the names of the other certificate are its own
		names = slices.DeleteFunc(names, func(n string) bool { return a.Check([]string{n}) != nil })
	}
	return a.Leaf(names, time.Now)
}

// brokerTLS is what the broker shows; nil: it speaks in clear.
func (c *Config) brokerTLS() (shows *tls.Config, ends func() time.Time, err error) {
	if !c.Guarded(c.Broker.Listen) {
		return nil, nil, nil
	}
	l, err := c.Leaf()
	if err != nil {
		return nil, nil, err
	}
	return l.Config(), l.Ends, nil
}

// carryAuthority has every key's file say which hub it is for.
func (c *Config) carryAuthority(log *slog.Logger) error {
	if !c.Guarded(c.Broker.Listen) {
		return nil
	}
	a, err := c.Authority()
	if err != nil {
		return err
	}
	for _, g := range c.Credentials() {
		changed, err := c.Keyring().Carry(g.Name, a.PEM())
		if err != nil {
			return err
		}
		if changed && (g.Role == stream.RoleBay || g.Role == stream.RoleStudio) {
			log.Info("this key's file says now which hub it is for: a machine that has an older one needs it anew", "file",
				c.Keyring().SeedFile(g.Name))
		}
	}
	return nil
}

// reached is where this machine reaches what it listens on itself.
func reached(listen string) string {
	host, port, err := net.SplitHostPort(listen)
	if ip, bad := netip.ParseAddr(host); err == nil && (host == "" || bad == nil && ip.IsUnspecified()) {
		return net.JoinHostPort("127.0.0.1", port)
	}
	return listen
}

// ConsoleURL is where this machine reaches the console.
func (c *Config) ConsoleURL() string { return c.webURL(c.Console.Listen) }

// MetricsURL is where this machine reaches what a process shows; empty: nowhere.
func (c *Config) MetricsURL(process string) string {
	if at := c.Address(process); at != "" {
		return c.webURL(at)
	}
	return ""
}

func (c *Config) webURL(listen string) string {
	if c.Guarded(listen) {
		return "https://" + reached(listen)
	}
	return "http://" + reached(listen)
}

// Client speaks to what this studio's machine serves, whoever's certificate it
// shows to others: to this machine it shows the studio's authority's.
func (c *Config) Client(within time.Duration) *http.Client {
	t := http.DefaultTransport.(*http.Transport).Clone()
	t.Proxy = nil
	// Opened for each connection: the authority may be made after this client.
	t.DialTLSContext = func(ctx context.Context, network, address string) (net.Conn, error) {
		text, err := os.ReadFile(authority.CertFile(c.AuthorityDir()))
		if err != nil {
			return nil, fmt.Errorf("the studio's authority: %w", err)
		}
		host, _, err := net.SplitHostPort(address)
		if err != nil {
			return nil, err
		}
		pinned, err := authority.Pinned(text, host)
		if err != nil {
			return nil, err
		}
		d := tls.Dialer{Config: pinned}
		return d.DialContext(ctx, network, address)
	}
	return &http.Client{Timeout: within, Transport: shows{t, c}}
}

// shows has requests for this machine's metrics carry what opens them.
type shows struct {
	to http.RoundTripper
	c  *Config
}

func (s shows) RoundTrip(r *http.Request) (*http.Response, error) {
	if path := r.URL.Path; (path == "/metrics" || strings.HasPrefix(path, "/debug/")) && r.Header.Get("Authorization") == "" {
		if token, err := s.c.metricsToken(); err == nil {
			r = r.Clone(r.Context())
			r.Header.Set("Authorization", "Bearer "+token)
		}
	}
	return s.to.RoundTrip(r)
}

func (s shows) CloseIdleConnections() {
	if t, ok := s.to.(*http.Transport); ok {
		t.CloseIdleConnections()
	}
}

// BayKeyFile is the one file that a bay's PC gets.
func (c *Config) BayKeyFile(bay string) string {
	return c.Keyring().SeedFile(stream.BayCredential(bay))
}
