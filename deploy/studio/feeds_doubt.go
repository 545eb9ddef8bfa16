package studio

import (
	"os"
	"path/filepath"
	"time"

	"fairlead/ingest/bay/feed"
	"fairlead/processors/ask/guess"
)

// doubtedBytes is how much of a device's latest files the doctor reads.
const doubtedBytes = 1 << 20

// doubt reads the latest files of a feed through its map and says what their
// shots say against it; nothing where all is well or nothing was written yet.
func (c *Config) doubt(m *feed.Map, f Feed) (found []string) {
	pattern := c.Path(f.Tail)
	if f.Folder != "" {
		pattern = filepath.Join(c.Path(f.Folder), "*")
	}
	paths, err := filepath.Glob(pattern)
	if err != nil {
		return nil
	}
	var d guess.Doubts
	shots, lines := 0, 0
	for _, path := range paths[max(0, len(paths)-5):] { // the latest by their names
		s, n := readDoubts(m, path, &d)
		shots, lines = shots+s, lines+n
	}
	if lines >= 3 && shots == 0 {
		return []string{"no line of the device's files is a shot by this map"}
	}
	return guess.Words(d.Suspicions(m))
}

func readDoubts(m *feed.Map, path string, d *guess.Doubts) (shots, lines int) {
	if info, err := os.Stat(path); err != nil || !info.Mode().IsRegular() {
		return 0, 0
	}
	r, in, err := feed.OpenReader(m, path, doubtedBytes)
	if err != nil {
		return 0, 0
	}
	defer in.Close()
	now := time.Now()
	for {
		draft, err := r.Next()
		if err != nil {
			return shots, lines
		}
		lines++
		if e := draft.Finish(feed.Stamp{Studio: "doctor", Bay: "doctor", Feed: "doctor", Received: now, Effective: now}); e.Valid() {
			shots++
			d.Add(e)
		}
	}
}
