package studio

import (
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairlead/ingest/bay/collector"
	"fairlead/ingest/bay/desk"
)

const benchMap = "map: 1\ndevice: willow\nrole: ball\nformat: csv\nshot_id: {column: No}\nfields:\n  ball_speed: {column: Ball, unit: " +
	"mph}\n"

// TestABenchPutsMapsToWork: a new feed is there after a restart too, a map is
// replaced only by who has seen the one that works, and nothing outside of the
// opened folder can be reached.
func TestABenchPutsMapsToWork(t *testing.T) {
	dir := t.TempDir()
	put := func(name, text string) string {
		t.Helper()
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	file := put("studio.yaml", "studio: harbour-row\nbays:\n  - {name: north, devices: out}\n  - {name: south}\n")
	put("out/willow/shots.csv", "No,Ball\n1,118.4\n")
	put("secret/keys.csv", "No,Ball\n9,9\n")
	if err := os.Symlink(filepath.Join(dir, "secret"), filepath.Join(dir, "out", "way")); err != nil {
		t.Fatal(err)
	}
	load := func() (*Config, desk.Bench, *[]collector.Feed) {
		c, err := Load(file)
		if err != nil {
			t.Fatal(err)
		}
		added := &[]collector.Feed{}
		return c, c.Bench(&c.Bays[0], slog.New(slog.DiscardHandler))(following{added}), added
	}
	_, b, added := load()
	_, folders, err := b.Feeds()
	if err != nil || len(folders) != 2 || folders[0].Path != "willow" || folders[0].Newest != "shots.csv" {
		t.Fatalf("folders %+v, %v", folders, err)
	}
	for _, outside := range []string{"way", "..", "../secret", filepath.Join(dir, "secret"), "willow/../../secret"} {
		if files, err := b.Look("", outside); err == nil {
			t.Errorf("%s shows %v", outside, files)
		}
		if _, err := b.Work(desk.Work{Feed: "x", Map: benchMap, Folder: outside}); err == nil {
			t.Errorf("%s is read", outside)
		}
	}
	if files, err := b.Look("", "willow"); err != nil || len(files) != 1 || string(files[0].Data) != "No,Ball\n1,118.4\n" {
		t.Errorf("look: %v, %v", files, err)
	}
	for _, bad := range []desk.Work{
		{Feed: "Willow!", Map: benchMap, Folder: "willow"}, {Feed: "willow", Map: "map: 1\n", Folder: "willow"},
		{Feed: "willow", Map: benchMap, Was: "abc"},
	} {
		if _, err := b.Work(bad); err == nil {
			t.Errorf("taken: %+v", bad)
		}
	}
	was, err := b.Work(desk.Work{Feed: "willow", Map: benchMap, Folder: "willow", Grows: true, Pattern: "*.csv"})
	if err != nil || len(*added) != 1 || (*added)[0].Name != "willow" {
		t.Fatalf("a new feed: %v, %v", *added, err)
	}
	if _, err := b.Work(desk.Work{Feed: "willow", Map: benchMap, Folder: "willow", Grows: true}); err == nil ||
		!strings.Contains(err.Error(), "already") {
		t.Errorf("a second of its name: %v", err)
	}

	c, b, _ := load() // as after a restart
	if f := c.Bays[0].Feeds; len(f) != 1 || f[0].Tail != filepath.Join(dir, "out", "willow", "*.csv") {
		t.Fatalf("feeds %+v", f)
	}
	if err := c.CheckMaps(); err != nil {
		t.Error(err)
	}
	next := strings.Replace(benchMap, "mph", "m/s", 1)
	if _, err := b.Work(desk.Work{Feed: "willow", Map: next, Was: "of before"}); err == nil ||
		!strings.Contains(err.Error(), "changed meanwhile") {
		t.Errorf("over another's change: %v", err)
	}
	is, err := b.Work(desk.Work{Feed: "willow", Map: next, Was: was})
	if err != nil {
		t.Fatal(err)
	}
	feeds, _, err := b.Feeds()
	if err != nil || len(feeds) != 1 || feeds[0].Version != is || feeds[0].Map != next || feeds[0].Device != "willow" {
		t.Errorf("feeds %+v, %v", feeds, err)
	}
	if old, err := os.ReadFile(c.Bays[0].Feeds[0].Map + "." + was); err != nil || string(old) != benchMap {
		t.Errorf("the map of before: %q, %v", old, err)
	}
	if files, err := b.Look("willow", ""); err != nil || len(files) != 1 {
		t.Errorf("the feed's files: %v, %v", files, err)
	}
}

// following notes the feeds that are put to work.
type following struct{ put *[]collector.Feed }

func (f following) Put(feed collector.Feed) { *f.put = append(*f.put, feed) }
func (f following) Drop(string)             {}
