package studio

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/copies"
	"fairlead/ingest/log/durable"
	"fairlead/ingest/log/journal"
)

// SealCommand is what seals what an earlier version kept in clear.
const SealCommand = "fairlead seal"

// Sealed is what was sealed of an earlier version, and when that was done.
type Sealed struct {
	At     time.Time `json:"at"`
	Events int       `json:"events"`
}

// SealedFile says that an earlier version's texts were sealed.
func (c *Config) SealedFile() string { return c.DataPath("sealed.json") }

// SealingFile stands while that is being done, and after it was cut short.
func (c *Config) SealingFile() string { return c.DataPath("sealing.json") }

// SealedAt is when texts of an earlier version were sealed; zero: they never were.
func (c *Config) SealedAt() time.Time {
	s, err := durable.ReadJSON[Sealed](c.SealedFile())
	if err != nil {
		return time.Time{}
	}
	return s.At
}

// HalfSealedError says that a studio can't start: some of its places hold texts
// sealed, others in clear, and whoever ran on it would take them for two facts.
type HalfSealedError struct{ config string }

func (e *HalfSealedError) Error() string {
	return fmt.Sprintf("what people wrote is sealed in a part of the data only: the sealing was cut short. Nothing is lost; finish it with "+
		"`%s --config %s`", SealCommand, e.config)
}

// RefuseHalfSealed keeps processes from running while texts are being sealed, and
// after that was cut short.
func (c *Config) RefuseHalfSealed() error {
	if _, err := os.Stat(c.SealingFile()); err == nil {
		return &HalfSealedError{c.File()}
	}
	return nil
}

// Listens names an address of the studio's that somebody listens on; empty: the
// studio does not run.
func (c *Config) Listens() string {
	at := []string{c.Console.Listen}
	if c.Broker.URL == "" {
		at = append(at, c.Broker.Listen)
	}
	if c.Store.DSN == "" {
		at = append(at, c.Store.Listen)
	}
	for _, address := range at {
		if connects(address) {
			return address
		}
	}
	return ""
}

// CopiesFiles are the files of copies that bays of this machine keep.
func (c *Config) CopiesFiles() (out []string) {
	for _, b := range c.Bays {
		out = append(out, filepath.Join(c.JournalDir(b.Name), copies.File))
	}
	return out
}

// sealed looks for texts of people that an earlier version kept in clear.
func (d *doctor) sealed(ctx context.Context) {
	const check = "sealed texts"
	try := "stop the studio, then run `" + SealCommand + " --config " + d.c.File() + "`"
	if err := d.c.RefuseHalfSealed(); err != nil {
		d.add(check, Bad, err.Error(), try)
		return
	}
	count := func(n *int) func([]byte) error {
		return func(data []byte) error {
			ev := &event.VisitEvent{}
			if proto.Unmarshal(data, ev) == nil && event.InClear(ev) > 0 {
				*n++
			}
			return nil
		}
	}
	var journaled, copied, stored int
	err := journal.Look(d.c.ConsoleJournalDir(), count(&journaled))
	for _, file := range d.c.CopiesFiles() {
		err = errors.Join(err, copies.Look(file, count(&copied)))
	}
	if s, wrong := d.c.OpenStore(); wrong == nil {
		if s.Ping(ctx) == nil {
			_ = s.EachEvent(ctx, d.c.Studio, count(&stored)) // a store that can't be asked is told of by its own check
		}
		s.Close()
	}
	var in []string
	for _, p := range []struct {
		n     int
		where string
	}{{journaled, "the console's journal"}, {copied, "copies of the bays here"}, {stored, "the store"}} {
		if p.n > 0 {
			in = append(in, fmt.Sprintf("%d in %s", p.n, p.where))
		}
	}
	switch {
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		d.add(check, Warn, err.Error(), "look at the file yourself")
	case len(in) > 0:
		d.add(check, Warn, "events of an earlier version hold what people wrote in clear: "+strings.Join(in, ", "), try)
	default:
		d.add(check, OK, "no visit event holds words in clear", "")
	}
}

// OwnsData says whether what this program writes below the data folder is whose the
// rest is: a file of root's would keep the service out.
func (c *Config) OwnsData() error {
	info, err := os.Stat(c.DataPath())
	if err != nil {
		return fmt.Errorf("the data folder: %w", err)
	}
	if owner, ok := ownerOf(info); ok && runtime.GOOS != "windows" && owner != os.Geteuid() {
		return fmt.Errorf("the data folder %s belongs to another user (number %d): run this as that user, such as `sudo -u fairlead %s`",
			c.DataPath(), owner, SealCommand)
	}
	return nil
}
