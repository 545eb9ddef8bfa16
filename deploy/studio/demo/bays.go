package demo

import (
	"fmt"
	"io"
	"os"

	"fairlead/deploy/studio"
	"fairlead/ingest/bay/feed"
	"fairlead/processors/sim"
)

// Bays finds the feeds of a studio that a simulated device can write
// to, and warns of the others.
func Bays(cfg *studio.Config, warn io.Writer) ([]sim.Bay, error) {
	var out []sim.Bay
	for _, b := range cfg.Bays {
		bay := sim.Bay{Name: b.Name}
		for _, f := range b.Feeds {
			path := cfg.Path(f.Map)
			m, err := feed.LoadMap(path)
			if err != nil {
				return nil, fmt.Errorf("bay %s, feed %s: %w", b.Name, f.Name, err)
			}
			if f.Tail == "" {
				fmt.Fprintf(warn, "fairlead: bay %s, feed %s: not simulated, only tail: feeds are\n", b.Name, f.Name)
				continue
			}
			if _, err := sim.ModelNamed(m.Device()); err != nil {
				fmt.Fprintf(warn, "fairlead: bay %s, feed %s: not simulated: %v\n", b.Name, f.Name, err)
				continue
			}
			text, err := os.ReadFile(path)
			if err != nil {
				return nil, fmt.Errorf("bay %s, feed %s: %w", b.Name, f.Name, err)
			}
			bay.Feeds = append(bay.Feeds, sim.Feed{Name: f.Name, Device: m.Device(), Map: text, Path: cfg.Path(f.Tail)})
		}
		if len(bay.Feeds) > 0 {
			out = append(out, bay)
		}
	}
	return out, nil
}
