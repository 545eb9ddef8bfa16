package bays

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/goccy/go-yaml"
	"github.com/nats-io/nkeys"

	"fairlead/deploy/studio"
	"fairlead/ingest/log/durable"
	"fairlead/ingest/log/stream"
)

// Join is how a bay's PC is set up with one line from the hub.
type Join struct {
	Line    string
	Dir     string   // of the configuration
	Data    string   // data folder
	Service string   // systemd, windows, none; empty: what this system has
	Allow   []string // folders that the hub may have read later, beside those of now
	Wait    time.Duration
	Program string // what it runs from now on
	Version string
	Out     io.Writer
}

// invitation is a line, read.
type invitation struct {
	base url.URL // the console's
	bay  string
	code string
	pin  string
}

func readLine(line string) (i invitation, err error) {
	u, err := url.Parse(strings.Trim(strings.TrimSpace(line), `'"`))
	if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" {
		return i, errors.New("this is no line of `fairlead bay add`: copy all of it, from http to the end, in quotes")
	}
	parts := strings.Split(strings.Trim(u.Path, "/"), "/")
	if len(parts) != 2 {
		return i, errors.New("the line is not whole: copy all of it, from http to the end, in quotes")
	}
	if u.Scheme == "https" && u.Fragment == "" {
		return i, errors.New("the end of the line is missing, from # on, which says which hub is the bay's own: copy all of it, in quotes")
	}
	return invitation{url.URL{Scheme: u.Scheme, Host: u.Host}, parts[0], parts[1], u.Fragment}, nil
}

// Run sets this machine up: key, configuration, service; tries the feeds; and
// says when the first line is stored at the hub.
func (j Join) Run(ctx context.Context) error {
	i, err := readLine(j.Line)
	if err != nil {
		return err
	}
	file := filepath.Join(j.Dir, "studio.yaml")
	seedFile := filepath.Join(j.Dir, stream.BayCredential(i.bay)+".seed")
	if err := j.free(file, i.bay); err != nil {
		return err
	}
	a, seed, err := j.ask(ctx, i, seedFile)
	if err != nil {
		return err
	}
	fmt.Fprintf(j.Out, "the hub of %s takes this machine as bay %s\n", a.Studio, a.Bay)
	c, err := j.write(a, seed, file, seedFile)
	if err != nil {
		return err
	}
	fmt.Fprintf(j.Out, "%s and %s are written; data go below %s\n", file, seedFile, j.Data)
	j.feeds(c, a.Bay)
	running, err := j.serve(ctx, c, a.Bay)
	if err != nil {
		return err
	}
	return j.await(ctx, c, a.Bay, running)
}

// free says why the configuration's place is not free; this bay's own is.
func (j Join) free(file, bay string) error {
	if _, err := os.Stat(file); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	c, err := studio.Load(file)
	if err == nil && len(c.Bays) == 1 && c.Bays[0].Name == bay && c.Broker.URL != "" {
		return nil
	}
	return fmt.Errorf("%s is there and is not bay %s's: this machine has another place in a studio; take the file away if that is over, "+
		"or give --dir and --data of its own", file, bay)
}

// ask enrols with a key that is made here; a code that went through but whose
// answer was lost goes through again with the same key.
func (j Join) ask(ctx context.Context, i invitation, seedFile string) (a Admitted, seed []byte, err error) {
	pending := seedFile + ".new"
	if seed, err = os.ReadFile(pending); err != nil {
		pair, err := nkeys.CreateUser()
		if err != nil {
			return a, nil, fmt.Errorf("make a key: %w", err)
		}
		if seed, err = pair.Seed(); err != nil {
			return a, nil, fmt.Errorf("make a key: %w", err)
		}
		if err := os.MkdirAll(j.Dir, 0o755); err != nil {
			return a, nil, fmt.Errorf("%w: run this as the administrator of the machine, or give --dir and --data", err)
		}
		if err := durable.WriteFile(pending, seed, 0o600); err != nil {
			return a, nil, fmt.Errorf("%w: run this as the administrator of the machine, or give --dir and --data", err)
		}
	}
	pair, err := nkeys.FromSeed(bytes.TrimSpace(seed))
	if err != nil {
		return a, nil, fmt.Errorf("%s: %w: take it away and try again", pending, err)
	}
	public, err := pair.PublicKey()
	if err != nil {
		return a, nil, err
	}
	machine, _ := os.Hostname()
	body, err := json.Marshal(Asks{Bay: i.bay, Code: i.code, Key: public, Machine: machine, Program: j.Version})
	if err != nil {
		return a, nil, err
	}
	if a, err = i.post(ctx, body); err != nil {
		return a, nil, err
	}
	if a.Authority != "" {
		seed = append(append(bytes.TrimSpace(seed), '\n'), a.Authority...)
	}
	return a, seed, nil
}

// written is the configuration of a bay's PC that was enrolled.
type written struct {
	Studio string         `yaml:"studio"`
	Data   string         `yaml:"data"`
	Broker writtenBroker  `yaml:"broker"`
	TLS    map[string]any `yaml:"tls,omitempty"`
	Bays   []writtenBay   `yaml:"bays"`
}

type writtenBroker struct {
	URL  string `yaml:"url"`
	Seed string `yaml:"seed"`
}

type writtenBay struct {
	Name  string   `yaml:"name"`
	Allow []string `yaml:"allow"`
}

const head = "# Written by `fairlead bay join`. Feeds and field maps are kept on the hub; what is\n" +
	"# below allow: is all that the hub may have read on this machine.\n"

// write puts key, what the hub gave and configuration in their places.
func (j Join) write(a Admitted, seed []byte, file, seedFile string) (*studio.Config, error) {
	given, err := studio.ParseGiven(a.Bay, a.Given)
	if err != nil {
		return nil, fmt.Errorf("what the hub keeps for this bay can't be used: %w: mend it there, `fairlead bay config put`", err)
	}
	w := written{Studio: a.Studio, Data: j.Data, Broker: writtenBroker{a.Broker, seedFile},
		Bays: []writtenBay{{a.Bay, allowed(given, j.Allow)}}}
	if a.Clear {
		w.TLS = map[string]any{"by": studio.InClear}
	}
	text, err := yaml.Marshal(w)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(j.Data, 0o700); err != nil {
		return nil, fmt.Errorf("data folder: %w", err)
	}
	if err := durable.WriteFile(seedFile, seed, 0o600); err != nil {
		return nil, fmt.Errorf("keep the key: %w", err)
	}
	if err := durable.WriteFile(file, append([]byte(head), text...), 0o640); err != nil {
		return nil, fmt.Errorf("write the configuration: %w", err)
	}
	c, err := studio.Load(file)
	if err != nil {
		return nil, err
	}
	if a.Given.Version > 0 {
		if err := c.KeepFirst(a.Bay, a.Given); err != nil {
			return nil, err
		}
		if c, err = studio.Load(file); err != nil {
			return nil, err
		}
	}
	if err := os.Remove(seedFile + ".new"); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return c, nil
}

// allowed are the folders of the feeds and devices of now, and further ones.
func allowed(b *studio.Bay, more []string) []string {
	out := []string{}
	add := func(folder string) {
		if folder != "" {
			out = append(out, folder)
		}
	}
	for _, f := range b.Feeds {
		if f.Tail != "" {
			add(filepath.Dir(f.Tail))
		}
		add(f.Folder)
	}
	add(b.Devices)
	for _, folder := range more {
		add(folder)
	}
	return compact(out)
}

func compact(in []string) (out []string) {
	seen := map[string]bool{}
	for _, s := range in {
		if !seen[s] {
			out = append(out, s)
		}
		seen[s] = true
	}
	return out
}

// feeds tries what the feeds of now would read.
func (j Join) feeds(c *studio.Config, bay string) {
	findings := c.Feed(bay)
	if len(findings) == 0 {
		fmt.Fprintln(j.Out, "the bay has no feed yet: give it one on the console's page of devices, or by `fairlead bay config put` on the hub")
	}
	_ = studio.Findings(findings).WriteText(j.Out)
}
