package studio

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"fairlead/deploy/backup"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
	"fairlead/processors/hub/watch"
)

// Place is what a machine is in its studio.
type Place string

// Places: the hub, or the whole studio on one machine; and the PC of a bay.
const (
	Hub   Place = "hub"
	BayPC Place = "bay"
)

// PlaceHere tells what this machine is: a configuration that reaches a broker
// elsewhere, has devices of its own and no store is a bay's PC.
func (c *Config) PlaceHere() Place {
	feeds := slices.ContainsFunc(c.Bays, c.collects)
	if c.Broker.URL != "" && c.Store.DSN == "" && feeds && !isThere(c.EngineDir()) {
		return BayPC
	}
	return Hub
}

// collects says whether a bay's collector runs on this machine: it has feeds, or
// the hub gives it some.
func (c *Config) collects(b Bay) bool {
	return len(b.Feeds) > 0 || b.Allow != nil || isThere(c.heldFile(b.Name))
}

// PlaceNamed is the place of a name, or what this machine is for "".
func (c *Config) PlaceNamed(name string) (Place, error) {
	switch p := Place(name); p {
	case "":
		return c.PlaceHere(), nil
	case Hub, BayPC:
		return p, nil
	}
	return "", fmt.Errorf("place %q: use hub or bay", name)
}

// bayPC looks at what a bay's PC needs of the hub, with the key of each of its
// bays and in that key's own inbox: it may hear nothing else.
func (d *doctor) bayPC(ctx context.Context) {
	for _, b := range d.c.Bays {
		if !d.c.collects(b) {
			continue
		}
		place := d.c.Place(b.Name)
		link := d.c.Link(stream.BayCredential(b.Name), place)
		if link.SeedFile != "" && !isThere(link.SeedFile) {
			d.add("key "+b.Name, Bad, link.SeedFile+" is not there",
				"copy bay-"+b.Name+".seed from the hub's keys folder, and name it by broker.seed, or its folder by broker.keys")
			continue
		}
		nc := d.reach(ctx, "hub for "+b.Name, link)
		if nc == nil {
			continue
		}
		d.clock(ctx, nc, "clock "+b.Name)
		d.heard(ctx, nc, place)
		nc.Close()
		if at := d.c.MetricsURL("collect-" + b.Name); at == "" || watch.Get(ctx, d.c.Client(0), at+"/healthz") != nil {
			d.add("collector "+b.Name, Warn, "does not run here now",
				"`systemctl start fairlead-collect@"+b.Name+"`, or `fairlead collect --config "+d.c.File()+"`")
		} else {
			d.add("collector "+b.Name, OK, "runs and gets on", "")
		}
	}
}

// heard says whether the hub knows the bay: it answers what its store holds of it.
func (d *doctor) heard(ctx context.Context, nc *nats.Conn, place stream.Place) {
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	if _, err := nc.RequestWithContext(ctx, place.MarksSubject(), nil); err != nil {
		d.add("stored "+place.Bay, Warn, "the hub does not say what it has stored of this bay: "+err.Error(),
			"is `fairlead process` running on the hub, and is the bay in its configuration? Shots wait in the journal meanwhile")
		return
	}
	d.add("stored "+place.Bay, OK, "the hub knows this bay", "")
}

// reach connects, and says why not.
func (d *doctor) reach(ctx context.Context, check string, link stream.Link) *nats.Conn {
	nc, _, err := stream.Connect(link)
	if err != nil {
		d.add(check, Bad, err.Error(), "check broker.url and the key")
		return nil
	}
	if err := waitConnected(ctx, nc, link.URL); err != nil {
		if why := stream.Mistrust(nc.LastError()); why != "" {
			d.add(check, Bad, link.URL+" is told nothing: "+why, "until then shots wait in the journal; nothing is lost")
			nc.Close()
			return nil
		}
		try := "is the hub on, its port open in the firewall, the address right?"
		if errors.Is(nc.LastError(), nats.ErrAuthorization) || strings.Contains(fmt.Sprint(nc.LastError()), "Authorization") {
			try = "the hub refuses the key: `fairlead keys list` there; bring the bay's key over anew"
		}
		d.add(check, Bad, fmt.Sprintf("%s does not take us: %v", link.URL, nc.LastError()), try)
		nc.Close()
		return nil
	}
	d.add(check, OK, link.URL+" answers", "")
	return nc
}

// bays asks every bay of the configuration, all at once.
func (d *doctor) bays(ctx context.Context, nc *nats.Conn) {
	var group sync.WaitGroup
	var mu sync.Mutex
	silent := []string{}
	for _, b := range d.c.Bays {
		group.Go(func() {
			if _, err := audit.Ask(ctx, nc, d.c.Place(b.Name), 2*time.Second); err != nil {
				mu.Lock()
				defer mu.Unlock()
				silent = append(silent, b.Name)
			}
		})
	}
	group.Wait()
	slices.Sort(silent)
	switch n := len(d.c.Bays); {
	case n == 0:
		d.add("bays", Warn, "the configuration names none", "add them below bays:")
	case len(silent) > 0:
		d.add("bays", Warn, fmt.Sprintf("%d of %d do not answer: %s", len(silent), n, strings.Join(silent, ", ")),
			"switch their PCs on; `fairlead doctor` there says what is wrong")
	default:
		d.add("bays", OK, fmt.Sprintf("all %d answer", n), "")
	}
}

// streams looks whether each stream has its copies.
func (d *doctor) streams(ctx context.Context, nc *nats.Conn) {
	js, err := jetstream.New(nc)
	if api := d.c.Link(ToolsKey, stream.Place{}).API; api != "" {
		js, err = jetstream.NewWithAPIPrefix(nc, api)
	}
	if err != nil {
		d.add("streams", Warn, err.Error(), "see the broker's log")
		return
	}
	for _, name := range []string{stream.Shots, stream.Visits} {
		check := "stream " + name
		short, cancel := context.WithTimeout(ctx, 3*time.Second)
		s, err := js.Stream(short, name)
		cancel()
		if err != nil {
			d.add(check, Warn, err.Error(), "does the key of tools may ask, and did the broker begin its streams?")
			continue
		}
		info := s.CachedInfo()
		have, behind := 1, []string{}
		if info.Cluster != nil {
			for _, r := range info.Cluster.Replicas {
				have++
				if r.Offline || !r.Current {
					behind = append(behind, r.Name)
				}
			}
		}
		switch {
		case have < d.c.Broker.Replicas:
			d.add(check, Bad, fmt.Sprintf("%d copies, %d are asked for", have, d.c.Broker.Replicas),
				"is the cluster whole? `nats stream cluster` on one of its nodes")
		case len(behind) > 0:
			d.add(check, Warn, "these nodes are away or behind: "+strings.Join(behind, ", "),
				"bring them back; until then one more loss stops the log")
		default:
			d.add(check, OK, fmt.Sprintf("%d messages, copies: %d", info.State.Msgs, have), "")
		}
	}
}

// backup looks how old the newest copy is.
func (d *doctor) backup() {
	if d.c.Backup.To == "" {
		d.add("backup", Warn, "none is set", "set backup.to: what fitters entered and names stand on this disk alone")
		return
	}
	s, err := backup.ReadState(d.c.BackupStateFile())
	now := time.Now()
	late := s.Late(now, time.Duration(d.c.Backup.Every))
	untried := s.Untried(now, time.Duration(d.c.Backup.Try))
	switch {
	case err != nil:
		d.add("backup", Warn, err.Error(), "remove the file; the next backup writes it anew")
	case late != "":
		d.add("backup", Warn, late, "`fairlead backup` says why")
	case s.Failing() != "":
		d.add("backup", Warn, s.Failing(), "`fairlead backup` tries it at once")
	case untried != "":
		d.add("backup", Warn, untried, "`fairlead backup try` says why")
	case s.Taken.IsZero():
		d.add("backup", Warn, "none was taken yet", "`fairlead backup` takes one")
	default:
		d.add("backup", OK, "taken "+s.Taken.Local().Format("2006-01-02 15:04"), "")
	}
	if _, err := os.Stat(d.c.BackupKeyFile()); err == nil && !s.Taken.IsZero() {
		d.add("backup key", OK, d.c.BackupKeyFile()+": keep a copy of it away from this machine", "")
	}
}
