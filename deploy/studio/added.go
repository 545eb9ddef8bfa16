package studio

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"github.com/goccy/go-yaml"

	"fairlead/ingest/log/durable"
)

// Feeds that were put to work from the console stand below the data folder of the
// bay's machine, each with its map beside it; the configuration stays as a
// person wrote it.

func (c *Config) addedDir(bay string) string { return c.DataPath("devices", bay) }

// takeAdded adds them to the bays, and what the hub gave.
func (c *Config) takeAdded() error {
	problems := []error{c.takeInvited()}
	for i := range c.Bays {
		b := &c.Bays[i]
		problems = append(problems, c.takeGiven(b))
		paths, err := filepath.Glob(filepath.Join(c.addedDir(b.Name), "*.feed"))
		if err != nil {
			return err
		}
		for _, path := range paths {
			f, err := readAdded(path)
			if err != nil {
				problems = append(problems, err)
				continue
			}
			if !slices.ContainsFunc(b.Feeds, func(have Feed) bool { return have.Name == f.Name }) {
				b.Feeds = append(b.Feeds, f)
			}
		}
	}
	return errors.Join(problems...)
}

func readAdded(path string) (f Feed, err error) {
	text, err := os.ReadFile(path)
	if err == nil {
		err = yaml.UnmarshalWithOptions(text, &f, yaml.Strict())
	}
	if err != nil {
		return f, fmt.Errorf("%s: a feed that was put to work from the console can't be read: %w: mend it or take the file away", path, err)
	}
	return f, nil
}

// writeAdded keeps a new feed and its map.
func (c *Config) writeAdded(bay string, f Feed, text string) (Feed, error) {
	dir := c.addedDir(bay)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return f, fmt.Errorf("keep the feed: %w", err)
	}
	f.Map = filepath.Join(dir, f.Name+".yaml")
	if err := durable.WriteFile(f.Map, []byte(text), 0o600); err != nil {
		return f, fmt.Errorf("keep the feed's map: %w", err)
	}
	data, err := yaml.Marshal(f)
	if err == nil {
		err = durable.WriteFile(filepath.Join(dir, f.Name+".feed"), data, 0o600)
	}
	if err != nil {
		return f, fmt.Errorf("keep the feed: %w", err)
	}
	return f, nil
}
