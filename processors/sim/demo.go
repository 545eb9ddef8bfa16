package sim

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// Addresses are where the processes of a demo studio listen, host:port each;
// an empty one is left to the configuration's default. Metrics may end in
// port 0 for free ports.
type Addresses struct {
	Broker, Store, Console, Metrics string
}

// demoBays are the bays of Harbour Row and their devices: north has a pair of
// devices for ball and club, pier is the putting bay.
var demoBays = []struct {
	name   string
	begins string
	feeds  [][3]string // name, device, file below feeds/
}{
	{"north", "iron", [][3]string{{"ball", "larch", "north-ball.csv"}, {"club", "hazel", "north-club.ndjson"}}},
	{"south", "wedge", [][3]string{{"all", "sorrel", "south.csv"}}},
	{"quay", "driver", [][3]string{{"all", "cinder", "quay.ndjson"}}},
	{"pier", "putter", [][3]string{{"roll", "shoal", "pier.tsv"}}},
}

// DemoConfig writes the demo studio into a folder: studio.yaml, the field maps
// of its devices below maps/, and an empty feeds/ for their files. It returns
// the path of the configuration. An existing studio.yaml is written anew.
func DemoConfig(dir string, at Addresses) (string, error) {
	for _, sub := range []string{"maps", "feeds"} {
		if err := os.MkdirAll(filepath.Join(dir, sub), 0o755); err != nil {
			return "", fmt.Errorf("demo studio: %w", err)
		}
	}
	var b strings.Builder
	b.WriteString("# The demo studio: four bays with simulated devices.\nstudio: harbour-row\ndata: var\n")
	for _, part := range [][2]string{{"broker", at.Broker}, {"store", at.Store}, {"metrics", at.Metrics}} {
		if part[1] != "" {
			fmt.Fprintf(&b, "%s: {listen: %q}\n", part[0], part[1])
		}
	}
	b.WriteString("console:\n  open: true # nobody is asked who they are: names are invented, and loopback alone reaches it\n")
	b.WriteString("  erase_after: 0s # an erasure is carried out at once\n")
	if at.Console != "" {
		fmt.Fprintf(&b, "  listen: %q\n", at.Console)
	}
	b.WriteString("bays:\n")
	for _, bay := range demoBays {
		fmt.Fprintf(&b, "  - name: %s\n    feeds:\n", bay.name)
		for _, f := range bay.feeds {
			fmt.Fprintf(&b, "      - {name: %s, map: maps/%s.yaml, tail: feeds/%s}\n", f[0], f[1], f[2])
			text, err := MapFile(f[1])
			if err != nil {
				return "", fmt.Errorf("demo studio: %w", err)
			}
			if err := os.WriteFile(filepath.Join(dir, "maps", f[1]+".yaml"), text, 0o644); err != nil {
				return "", fmt.Errorf("demo studio: %w", err)
			}
		}
	}
	path := filepath.Join(dir, "studio.yaml")
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		return "", fmt.Errorf("demo studio: %w", err)
	}
	return path, nil
}

// DemoBays are the bays of the demo studio in a folder, as RunBays takes them.
func DemoBays(dir string) []Bay {
	var out []Bay
	for _, bay := range demoBays {
		b := Bay{Name: bay.name, Begins: bay.begins}
		for _, f := range bay.feeds {
			b.Feeds = append(b.Feeds, Feed{Name: f[0], Device: f[1], Path: filepath.Join(dir, "feeds", f[2])})
		}
		out = append(out, b)
	}
	return out
}
