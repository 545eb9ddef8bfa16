package sim

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
)

// Feed is one device of a bay and the file that it writes to.
type Feed struct {
	Name   string // as in the studio's configuration
	Device string // as in its field map, see Models
	Map    []byte // the field map that will read it; nil: that of MapFile
	Path   string // a file to append to; a * in its last part stands for the date
}

// feedFile writes a device's lines and knows the shot ids they will get.
type feedFile struct {
	Feed
	*Device
	file   *os.File
	base   string
	parser *feed.Parser
}

// openFeed opens the file. What stands in it already is read, since the ids of
// lines that a device does not number depend on the lines before.
func openFeed(f Feed, seed uint64, bay string, start time.Time) (*feedFile, error) {
	model, err := ModelNamed(f.Device)
	if err != nil {
		return nil, err
	}
	if f.Map == nil {
		if f.Map, err = MapFile(f.Device); err != nil {
			return nil, err
		}
	}
	m, err := feed.ParseMap(f.Device+".yaml", f.Map)
	if err != nil {
		return nil, fmt.Errorf("feed %s: %w", f.Name, err)
	}
	dir, last := filepath.Split(f.Path)
	last = strings.ReplaceAll(last, "*", start.UTC().Format("2006-01-02"))
	if strings.ContainsAny(last, "?[") {
		return nil, fmt.Errorf("feed %s writes to %q: only * may stand for the date", f.Name, f.Path)
	}
	if dir != "" {
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return nil, fmt.Errorf("feed %s: %w", f.Name, err)
		}
	}
	out := &feedFile{Feed: f, base: last, parser: m.Parser(last), Device: NewDevice(model, source(seed, "device", bay, f.Name), start)}
	if out.file, err = os.OpenFile(filepath.Join(dir, last), os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o644); err != nil {
		return nil, fmt.Errorf("feed %s: %w", f.Name, err)
	}
	if err := out.resume(); err != nil {
		return nil, errors.Join(fmt.Errorf("feed %s: %w", f.Name, err), out.file.Close())
	}
	return out, nil
}

func (f *feedFile) resume() error {
	in := bufio.NewReader(f.file)
	empty := true
	for {
		line, err := in.ReadString('\n')
		if line != "" {
			empty = false
			if _, _, err := f.parser.Line([]byte(strings.TrimRight(line, "\r\n"))); err != nil {
				return err
			}
		}
		if err == io.EOF {
			if line != "" { // cut short by an earlier run that was killed
				_, err = f.file.WriteString("\n")
				return err
			}
			break
		}
		if err != nil {
			return err
		}
	}
	if header := f.Header(); empty && header != "" {
		if _, _, err := f.parser.Line([]byte(header)); err != nil {
			return err
		}
		_, err := f.file.WriteString(header + "\n")
		return err
	}
	return nil
}

// write appends a line and returns the entry that it should become.
func (f *feedFile) write(text, studio, bay string, now time.Time) (*event.Entry, error) {
	if _, err := f.file.WriteString(text + "\n"); err != nil {
		return nil, fmt.Errorf("feed %s: %w", f.Name, err)
	}
	d, ok, err := f.parser.Line([]byte(text))
	if err != nil {
		return nil, fmt.Errorf("feed %s: %w", f.Name, err)
	}
	if !ok {
		return nil, fmt.Errorf("feed %s: the map skips the line %q that the device wrote", f.Name, text)
	}
	return d.Finish(feed.Stamp{Studio: studio, Bay: bay, Feed: f.Name, Received: now, Effective: now,
		Certainty: event.Certainty_CERTAINTY_SYNCED}), nil
}
