package studio

import (
	"errors"
	"fmt"

	"fairlead/ingest/bay/feed"
)

// CheckMaps reads every field map that the configuration names, and says all
// that is wrong with them.
func (c *Config) CheckMaps() error {
	var problems []error
	for _, b := range c.Bays {
		for _, f := range b.Feeds {
			if _, err := feed.LoadMap(c.Path(f.Map)); err != nil {
				problems = append(problems, fmt.Errorf("bay %s, feed %s: %w", b.Name, f.Name, err))
			}
		}
	}
	return errors.Join(problems...)
}
