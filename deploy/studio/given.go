package studio

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"

	"fairlead/ingest/bay/desk"
	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/durable"
	"fairlead/ingest/log/stream"
)

// A bay that was enrolled has its feeds and maps from the hub. They stand below
// the data folder of the bay's machine; the configuration there stays as it was
// written.

// held is what a bay's machine keeps of what the hub gave.
type held struct {
	desk.Held
	Before desk.Given `json:"before"` // what it went by before
}

// InvitedDir is where the hub keeps bays that were added by `fairlead bay add`,
// a folder each, with the versions of their configurations.
func (c *Config) InvitedDir() string { return c.DataPath("bays") }

// GivenDir is where a bay's machine keeps what the hub gave.
func (c *Config) GivenDir(bay string) string { return c.DataPath("given", bay) }

func (c *Config) heldFile(bay string) string { return filepath.Join(c.GivenDir(bay), "held.json") }

// takeInvited adds bays that are no part of the configuration's file.
func (c *Config) takeInvited() error {
	dirs, err := os.ReadDir(c.InvitedDir())
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("bays that were added: %w", err)
	}
	for _, d := range dirs {
		name := d.Name()
		known := slices.ContainsFunc(c.Bays, func(b Bay) bool { return b.Name == name })
		if d.IsDir() && !known && event.CheckName("bay", name) == nil && name != stream.ConsoleBay {
			c.Bays = append(c.Bays, Bay{Name: name})
		}
	}
	return nil
}

// takeGiven adds the feeds that the hub gave to a bay of this machine.
func (c *Config) takeGiven(b *Bay) error {
	h, err := c.readHeld(b.Name)
	if err != nil || h.Given.Version == 0 {
		return err
	}
	given, err := c.readGiven(b, h.Given)
	if err != nil {
		return fmt.Errorf("%s: what the hub gave can't be used: %w: take the file away, and it is given anew", c.heldFile(b.Name), err)
	}
	b.given = given.Feeds
	b.Feeds = slices.Concat(b.Feeds, given.Feeds)
	if b.Devices == "" {
		b.Devices = given.Devices
	}
	return nil
}

func (c *Config) readHeld(bay string) (held, error) {
	h, err := durable.ReadJSON[held](c.heldFile(bay))
	if err != nil {
		return h, fmt.Errorf("%s: %w: take the file away, and the hub gives it anew", c.heldFile(bay), err)
	}
	return h, nil
}

func (c *Config) writeHeld(bay string, h held) error {
	if err := os.MkdirAll(c.GivenDir(bay), 0o700); err != nil {
		return fmt.Errorf("keep what the hub gave: %w", err)
	}
	return durable.WriteJSON(c.heldFile(bay), h)
}

// KeepFirst has a bay's machine begin with what the hub gave when it was enrolled.
func (c *Config) KeepFirst(bay string, g desk.Given) error {
	b, err := c.Bay(bay)
	if err != nil {
		return err
	}
	if _, err := c.readGiven(b, g); err != nil {
		return err
	}
	if err := c.keepMaps(bay, g); err != nil {
		return err
	}
	return c.writeHeld(bay, held{Held: desk.Held{Given: g}})
}

// mostGiven bounds a configuration and its maps in bytes.
const mostGiven = 400_000

var mapNameRule = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{0,99}$`)

// ParseGiven reads a bay's configuration as the hub keeps it, with its maps, and
// says everything that is wrong with it.
func ParseGiven(bay string, g desk.Given) (*Bay, error) {
	var text struct {
		Feeds   []Feed `yaml:"feeds"`
		Devices string `yaml:"devices"`
	}
	size := len(g.Text)
	for _, m := range g.Maps {
		size += len(m)
	}
	if size > mostGiven {
		return nil, fmt.Errorf("configuration and maps have %d bytes together: at most %d can be given to a bay", size, mostGiven)
	}
	if strings.TrimSpace(g.Text) != "" {
		if err := yaml.UnmarshalWithOptions([]byte(g.Text), &text, yaml.Strict()); err != nil {
			return nil, errors.New(yaml.FormatError(err, false, true))
		}
	}
	c := Default()
	c.Studio, c.Bays = "studio", []Bay{{Name: bay, Feeds: text.Feeds, Devices: text.Devices}}
	var problems []error
	if err := c.Check(); err != nil {
		problems = append(problems, errors.New(strings.ReplaceAll(err.Error(), "bays[0].", "")))
	}
	for name, text := range g.Maps {
		if !mapNameRule.MatchString(name) {
			problems = append(problems, fmt.Errorf("map %q: a map goes by a plain file name, such as monitor.yaml", name))
		}
		if _, err := feed.ParseMap(name, []byte(text)); err != nil {
			problems = append(problems, err)
		}
	}
	for i, f := range text.Feeds {
		if _, ok := g.Maps[f.Map]; !ok && f.Map != "" {
			problems = append(problems, fmt.Errorf("feeds[%d].map: %q: this map did not come with the configuration: name the file of one that did",
				i, f.Map))
		}
	}
	return &c.Bays[0], errors.Join(problems...)
}

// readGiven is ParseGiven on the bay's machine: with maps as they stand there, and
// within what the machine lets the hub read.
func (c *Config) readGiven(b *Bay, g desk.Given) (*Bay, error) {
	out, err := ParseGiven(b.Name, g)
	if err != nil {
		return nil, err
	}
	var problems []error
	for i := range out.Feeds {
		f := &out.Feeds[i]
		if slices.ContainsFunc(b.Feeds, func(o Feed) bool { return o.Name == f.Name }) {
			problems = append(problems, fmt.Errorf("feeds[%d].name: %q: a feed of this name stands in the bay's own configuration: take it out "+
				"there first, or choose another name", i, f.Name))
		}
		if kind, place := f.source(); (kind == "tail" || kind == "folder") && !c.allows(b, place) || strings.HasPrefix(f.Lines, "serial:") &&
			!strings.HasPrefix(f.Lines, "serial:///dev/") && !strings.HasPrefix(f.Lines, "serial://COM") {
			problems = append(problems, fmt.Errorf("feeds[%d].%s: %q: the bay's PC lets the hub read below %s only: add the folder to "+
				"allow: in %s there", i, kind, place, strings.Join(b.Allow, ", "), c.file))
		}
		f.Map = c.givenMap(b.Name, f.Map, g.Maps[f.Map])
	}
	if out.Devices != "" && !c.allows(b, out.Devices) {
		problems = append(problems, fmt.Errorf("devices: %q: the bay's PC lets the hub look below %s only: add the folder to allow: in %s there",
			out.Devices, strings.Join(b.Allow, ", "), c.file))
	}
	return out, errors.Join(problems...)
}

// allows says whether the bay's machine lets the hub read at a path.
func (c *Config) allows(b *Bay, path string) bool {
	return slices.ContainsFunc(b.Allow, func(folder string) bool {
		rel, err := filepath.Rel(c.Path(folder), c.Path(path))
		return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
	})
}

// givenMap is where a map of a text stands: another text is another file, so that
// a feed whose map did not change goes on undisturbed.
func (c *Config) givenMap(bay, name, text string) string {
	return filepath.Join(c.GivenDir(bay), "maps", feed.MapVersionOf([]byte(text))+"-"+name)
}

func (c *Config) keepMaps(bay string, g desk.Given) error {
	if err := os.MkdirAll(filepath.Join(c.GivenDir(bay), "maps"), 0o700); err != nil {
		return fmt.Errorf("keep the maps that the hub gave: %w", err)
	}
	for name, text := range g.Maps {
		path := c.givenMap(bay, name, text)
		if isThere(path) {
			continue
		}
		if err := durable.WriteFile(path, []byte(text), 0o600); err != nil {
			return fmt.Errorf("keep the maps that the hub gave: %w", err)
		}
	}
	return nil
}
