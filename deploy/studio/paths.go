package studio

import (
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/dustin/go-humanize"

	"fairlead/dashboards/gate"
	"fairlead/deploy/engine"
	"fairlead/ingest/log/authority"
	"fairlead/ingest/log/stream"
)

// File is the path of the configuration file.
func (c *Config) File() string { return c.file }

// Path resolves a path of the configuration.
func (c *Config) Path(p string) string {
	if filepath.IsAbs(p) {
		return p
	}
	return filepath.Join(c.dir, p)
}

// DataPath is a path below the data folder.
func (c *Config) DataPath(parts ...string) string {
	return filepath.Join(append([]string{c.Path(c.Data)}, parts...)...)
}

// Keyring is the folder of the broker's credentials.
func (c *Config) Keyring() stream.Keyring { return stream.Keyring{Dir: c.DataPath("keys")} }

// JournalDir is the journal folder of a bay.
func (c *Config) JournalDir(bay string) string { return c.DataPath("journals", bay) }

// ConsoleJournalDir is the journal of visit events.
func (c *Config) ConsoleJournalDir() string { return c.DataPath("visits") }

// ClockDir is where the processes of the hub's machine keep their common clock.
func (c *Config) ClockDir() string { return c.DataPath("clock") }

// BrokerDir is JetStream's folder.
func (c *Config) BrokerDir() string { return c.DataPath("broker") }

// EngineDir is the embedded engine's folder.
func (c *Config) EngineDir() string { return c.DataPath("engine") }

// EngineTokenFile holds the token that the embedded engine wants to see.
func (c *Config) EngineTokenFile() string { return c.DataPath("keys", "engine.token") }

// PeopleFile holds the names behind the pseudonyms.
func (c *Config) PeopleFile() string { return c.DataPath("people.json") }

// GateDir holds the accounts of people, the tablets' keys, sessions and the trail.
func (c *Config) GateDir() string { return c.DataPath("gate") }

// ConsoleTokenFile holds what the hub's tools show to the console.
func (c *Config) ConsoleTokenFile() string { return c.DataPath("keys", "console.token") }

// ConsoleToken is what the hub's tools show to the console; empty where this
// machine has none, and the console then says what is wanted.
func (c *Config) ConsoleToken() string {
	token, err := gate.ReadToken(c.ConsoleTokenFile())
	if err != nil {
		return ""
	}
	return token
}

// Place names one of the studio's bays.
func (c *Config) Place(bay string) stream.Place { return stream.Place{Studio: c.Studio, Bay: bay} }

// BrokerURL is where the log is.
func (c *Config) BrokerURL() string {
	if c.Broker.URL != "" {
		return c.Broker.URL
	}
	return "nats://" + reached(c.Broker.Listen)
}

// Names of the hub's keys. Bays have theirs by stream.BayCredential.
const (
	ProcessKey = "process"
	ConsoleKey = "console"
	ToolsKey   = "tools"
)

// Link says how a process reaches the log: credential names the key of the
// keyring; place is the bay that it speaks for, empty for the hub.
func (c *Config) Link(credential string, place stream.Place) stream.Link {
	l := stream.Link{URL: c.BrokerURL(), Name: credential, Inbox: "_INBOX_" + credential}
	switch {
	case c.Broker.Creds != "":
		l.CredsFile = c.Path(c.Broker.Creds)
	case c.Broker.Keys != "":
		l.API = apiOf(credential)
		l.SeedFile = stream.Keyring{Dir: c.Path(c.Broker.Keys)}.SeedFile(credential)
	case c.Broker.Seed != "":
		l.SeedFile = c.Path(c.Broker.Seed)
	case c.Broker.URL == "":
		l.API = apiOf(credential)
		l.SeedFile = c.Keyring().SeedFile(credential)
	}
	l.Clear = c.TLS.By == InClear
	if c.Broker.URL == "" {
		// The hub's own processes go by what is so now, whatever their keys' files say.
		l.Inside = !c.Guarded(c.Broker.Listen)
		l.Authority = authority.CertFile(c.AuthorityDir())
	} else if c.TLS.Authority != "" {
		l.Authority = authority.CertFile(c.AuthorityDir())
	}
	if place.Bay != "" {
		l.Inbox = place.InboxPrefix()
	}
	return l
}

// apiOf is where a key of the hub's finds the log's interface.
func apiOf(credential string) string {
	if credential == ConsoleKey || credential == ToolsKey {
		return stream.ToolsAPI
	}
	return ""
}

// MinFreeBytes is the free disk space below which nothing more is taken.
func (c *Config) MinFreeBytes() (int64, error) {
	n, err := humanize.ParseBytes(c.Journal.MinFree)
	if err != nil {
		return 0, fmt.Errorf("write a size such as 256MiB")
	}
	return int64(n), nil
}

// EngineMemory bounds the embedded engine, in bytes.
func (c *Config) EngineMemory() (int64, error) {
	n, err := humanize.ParseBytes(c.Store.Memory)
	if err != nil || n < 256<<20 {
		return 0, fmt.Errorf("write a size of at least 256MiB, such as 4GiB")
	}
	return int64(n), nil
}

// StoreDSN is the address of the store. For the embedded engine it needs the
// engine's token, which the engine's first start makes.
func (c *Config) StoreDSN() (string, error) {
	if c.Store.DSN != "" {
		return c.Store.DSN, nil
	}
	token, err := os.ReadFile(c.EngineTokenFile())
	if err != nil {
		return "", fmt.Errorf("token of the embedded engine: %w: start it once with `fairlead engine`, or set store.dsn", err)
	}
	u := url.URL{Scheme: "http", Host: c.Store.Listen, User: url.UserPassword("default", strings.TrimSpace(string(token))),
		Path: "/" + EngineDatabase}
	return u.String(), nil
}

// EngineUsersDir holds the users of the embedded engine who may do less than its token.
func (c *Config) EngineUsersDir() string { return c.DataPath("keys", "engine") }

// PagesDSN is the address of the store for the console, which may read it and keep answers, and no more.
func (c *Config) PagesDSN() (string, error) {
	if c.Store.PagesDSN != "" {
		return c.Store.PagesDSN, nil
	}
	if c.Store.DSN != "" {
		return c.Store.DSN, nil
	}
	token, err := engine.EnsurePages(c.EngineUsersDir(), time.Now())
	if err != nil {
		return "", fmt.Errorf("the console's token of the engine: %w", err)
	}
	return engine.UserDSN(c.Store.Listen, "pages", token, EngineDatabase), nil
}

// EngineDatabase is the database of the embedded engine.
const EngineDatabase = "fairlead"

// Credentials are the keys that the studio's processes need.
func (c *Config) Credentials() []stream.Grant {
	grants := []stream.Grant{
		{Name: ProcessKey, Role: stream.RoleProcess},
		{Name: ConsoleKey, Role: stream.RoleConsole, Studio: c.Studio},
		{Name: ToolsKey, Role: stream.RoleTools, Studio: c.Studio},
	}
	for _, b := range c.Bays {
		grants = append(grants, stream.Grant{Name: stream.BayCredential(b.Name), Role: stream.RoleBay, Studio: c.Studio, Bay: b.Name})
	}
	for _, name := range c.Studios {
		grants = append(grants, stream.Grant{Name: stream.StudioCredential(name), Role: stream.RoleStudio, Studio: name})
	}
	return grants
}

// Places lists the studio's bays.
func (c *Config) Places() (out []stream.Place) {
	for _, b := range c.Bays {
		out = append(out, c.Place(b.Name))
	}
	return out
}

// PlacesNamed is the place of one bay, or all of them without a name.
func (c *Config) PlacesNamed(bay string) ([]stream.Place, error) {
	if bay == "" {
		return c.Places(), nil
	}
	if _, err := c.Bay(bay); err != nil {
		return nil, err
	}
	return []stream.Place{c.Place(bay)}, nil
}

// Layout says how the log keeps its streams.
func (c *Config) Layout() stream.Layout {
	l := stream.DefaultLayout()
	l.Replicas, l.SyncShots = c.Broker.Replicas, c.Broker.SyncShots
	if n, err := visitsBytes(c.Broker.Visits); err == nil { // checked when it was read
		l.VisitsBytes = n
	}
	l.ShotsFor = max(l.ShotsFor, time.Duration(c.Journal.Retention)+30*24*time.Hour)
	return l
}

// BaysNamed is the bay of a name, or every bay for "".
func (c *Config) BaysNamed(name string) ([]Bay, error) {
	if name == "" {
		return c.Bays, nil
	}
	b, err := c.Bay(name)
	if err != nil {
		return nil, err
	}
	return []Bay{*b}, nil
}

// BayNames lists the bays.
func (c *Config) BayNames() (out []string) {
	for _, b := range c.Bays {
		out = append(out, b.Name)
	}
	return out
}
