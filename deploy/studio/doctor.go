package studio

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/dustin/go-humanize"
	"github.com/nats-io/nats.go"

	"fairlead/deploy/engine"
	"fairlead/ingest/bay/feed"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

// Finding is one thing that the doctor looked at.
type Finding struct {
	Check string `json:"check"`
	State string `json:"state"` // ok, warn, bad
	Found string `json:"found"`
	Try   string `json:"try,omitempty"`
}

// States of a finding.
const (
	OK   = "ok"
	Warn = "warn"
	Bad  = "bad"
)

// Doctor looks for what would go wrong today, on the hub or on a bay's PC. It
// starts nothing and changes nothing but a file that it writes to the data folder
// and removes again.
func (c *Config) Doctor(ctx context.Context, place Place) []Finding {
	d := &doctor{c: c}
	d.disk()
	d.feeds()
	if place == BayPC {
		d.bayPC(ctx)
		return d.findings
	}
	d.own(ctx, true)
	d.network()
	d.sealed(ctx)
	d.backup()
	return d.findings
}

// own looks at what the hub itself runs; whole: also at what it hears.
func (d *doctor) own(ctx context.Context, whole bool) {
	c := d.c
	d.engine()
	d.broker(ctx, whole)
	d.store(ctx)
	d.address("console", c.Console.Listen, "console.listen", func() bool {
		return answersHTTP(c.Client(2*time.Second), c.ConsoleURL()+"/healthz")
	})
}

// Feed looks at the feeds of one bay of this machine.
func (c *Config) Feed(bay string) []Finding {
	own := *c
	own.Bays = slices.DeleteFunc(slices.Clone(c.Bays), func(b Bay) bool { return b.Name != bay })
	d := &doctor{c: &own}
	d.feeds()
	return d.findings
}

type doctor struct {
	c        *Config
	findings []Finding
}

func (d *doctor) add(check, state, found, try string) {
	d.findings = append(d.findings, Finding{check, state, found, try})
}

func (d *doctor) disk() {
	dir := d.c.DataPath()
	probe := filepath.Join(dir, ".doctor")
	if err := os.MkdirAll(dir, 0o700); err != nil {
		d.add("data folder", Bad, err.Error(), "make the folder writable, or name another with data:")
		return
	}
	err := os.WriteFile(probe, []byte("x"), 0o600)
	os.Remove(probe)
	if err != nil {
		d.add("data folder", Bad, err.Error(), "make the folder writable (a read-only disk? a full one?), or name another with data:")
		return
	}
	d.add("data folder", OK, dir+" can be written", "")
	free, err := FreeSpace(dir)
	if err != nil {
		d.add("disk space", Warn, err.Error(), "look at the disk yourself")
		return
	}
	reserve, _ := d.c.MinFreeBytes()
	found := fmt.Sprintf("%s free, %s kept in reserve", humanize.IBytes(free), humanize.IBytes(uint64(reserve)))
	switch {
	case free < uint64(reserve):
		d.add("disk space", Bad, found, "free space: below the reserve no shot is taken from the devices")
	case free < 4*uint64(reserve):
		d.add("disk space", Warn, found, "free space soon")
	default:
		d.add("disk space", OK, found, "")
	}
}

func (d *doctor) feeds() {
	for _, b := range d.c.Bays {
		for _, f := range b.Feeds {
			name := "feed " + b.Name + "/" + f.Name
			m, err := feed.LoadMap(d.c.Path(f.Map))
			if err != nil {
				d.add(name, Bad, err.Error(), "correct the field map; `fairlead feed try --map "+d.c.Path(f.Map)+" FILE` shows what it makes of a file")
				continue
			}
			switch {
			case f.HTTP != "":
				if !m.HasID() && !m.HasTime() {
					d.add(name, Bad, "the map gives neither a shot id nor a time, which a feed by HTTP needs", "add shot_id or time to the map")
					continue
				}
				d.address(name, f.HTTP, "http", func() bool { return answersHTTP(http.DefaultClient, "http://"+f.HTTP+"/feeds/"+f.Name) })
				continue
			case f.Folder != "":
				err = isDir(d.c.Path(f.Folder))
			case f.Lines != "":
			default:
				err = isDir(filepath.Dir(d.c.Path(f.Tail)))
			}
			if err != nil {
				d.add(name, Warn, err.Error(), "is the device's software installed, the share mounted, the path right? The feed waits until it is "+
					"there")
				continue
			}
			if found := d.c.doubt(m, f); len(found) > 0 {
				d.add(name, Warn, strings.Join(found, "; "),
					"correct the field map, and try it with `fairlead feed try --map "+d.c.Path(f.Map)+" FILE`; a running feed takes it up by itself")
				continue
			}
			d.add(name, OK, "map and path are there", "")
		}
	}
}

func isDir(path string) error {
	info, err := os.Stat(path)
	if err == nil && !info.IsDir() {
		err = fmt.Errorf("%s is no folder", path)
	}
	return err
}

func (d *doctor) engine() {
	if d.c.Store.DSN != "" {
		return
	}
	if _, err := engine.FindLibrary(); err != nil {
		try := "run " + engine.InstallCommand
		if _, npm := exec.LookPath("npm"); npm != nil {
			try = "install npm (`apt-get install -y npm`), then run " + engine.InstallCommand
		}
		d.add("engine library", Bad, err.Error(), try)
	} else {
		d.add("engine library", OK, "there", "")
	}
	if _, err := engine.FindBinary(); err != nil {
		d.add("engine program", Bad, err.Error(), "run `make build`")
	} else {
		d.add("engine program", OK, "there", "")
	}
}

func (d *doctor) broker(ctx context.Context, whole bool) {
	link := d.c.Link(ToolsKey, stream.Place{})
	if link.SeedFile != "" {
		if _, err := os.Stat(link.SeedFile); errors.Is(err, os.ErrNotExist) {
			if d.c.Broker.URL != "" {
				d.add("broker key", Bad, link.SeedFile+" is not there", "copy the key from the hub's keys folder, and name it by broker.seed")
				return
			}
			link.SeedFile = ""
		}
	}
	address := d.c.Broker.Listen
	if d.c.Broker.URL == "" && !connects(address) {
		d.address("broker", address, "broker.listen", func() bool { return false })
		return
	}
	nc := d.reach(ctx, "broker", link)
	if nc == nil {
		return
	}
	defer nc.Close()
	d.clock(ctx, nc, "clock")
	if whole {
		d.bays(ctx, nc)
		d.streams(ctx, nc)
	}
}

// clock compares this machine's clock with the hub's.
func (d *doctor) clock(ctx context.Context, nc *nats.Conn, check string) {
	start := time.Now()
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	o, err := stream.Exchange(ctx, nc, func() time.Duration { return time.Since(start) }, 5)
	if err != nil {
		d.add(check, Warn, "the hub's time could not be asked: "+err.Error(), "start `fairlead process` on the hub")
		return
	}
	hub := time.Unix(0, int64(o.Ahead)).Add(time.Since(start))
	off := time.Since(hub).Round(time.Millisecond)
	found := fmt.Sprintf("%s off the hub's (round trip %s)", off, o.RTT.Round(time.Microsecond))
	if off.Abs() > 2*time.Second {
		d.add(check, Bad, found, "switch on time synchronisation; shots are put in order all the same, but times that people read are wrong")
	} else {
		d.add(check, OK, found, "")
	}
}

func (d *doctor) store(ctx context.Context) {
	if d.c.Store.DSN == "" && !connects(d.c.Store.Listen) {
		d.address("engine", d.c.Store.Listen, "store.listen", func() bool { return false })
		return
	}
	dsn, err := d.c.StoreDSN()
	if err != nil {
		d.add("store", Bad, "something listens on "+d.c.Store.Listen+", and the engine never ran here",
			"stop it, or set store.listen to another port")
		return
	}
	s, err := store.Open(dsn)
	if err == nil {
		ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
		defer cancel()
		err = s.Ping(ctx)
		s.Close()
	}
	if err != nil {
		d.add("store", Bad, store.Redact(dsn)+": "+err.Error(), "is the server running, are address, user and password right?")
		return
	}
	d.add("store", OK, store.Redact(dsn)+" answers", "")
}

// address looks whether an address is free, or ours already.
func (d *doctor) address(check, address, key string, ours func() bool) {
	l, err := net.Listen("tcp", address)
	switch {
	case err == nil:
		l.Close()
		d.add(check, OK, address+" is free", "")
	case ours():
		d.add(check, OK, address+" is ours and answers", "")
	default:
		d.add(check, Bad, err.Error(), "stop what uses the port, or set "+key+" to another")
	}
}

func connects(address string) bool {
	conn, err := net.DialTimeout("tcp", address, time.Second)
	if err != nil {
		return false
	}
	conn.Close()
	return true
}

// answersHTTP says whether something of ours serves the address: any answer to
// the path that only we have.
func answersHTTP(client *http.Client, url string) bool {
	resp, err := client.Get(url)
	if err != nil {
		return false
	}
	resp.Body.Close()
	return resp.StatusCode < 500 && resp.StatusCode != http.StatusNotFound
}

// Findings are what the doctor found.
type Findings []Finding

// WriteText shows what was found, with what to try for each.
func (findings Findings) WriteText(w io.Writer) error {
	for _, f := range findings {
		if _, err := fmt.Fprintf(w, "%-5s %-18s %s\n", f.State, f.Check, f.Found); err != nil {
			return err
		}
		if f.Try != "" {
			if _, err := fmt.Fprintf(w, "%25stry: %s\n", "", f.Try); err != nil {
				return err
			}
		}
	}
	return nil
}
