package studio

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fairlead/ingest/log/stream"
)

func TestBaysWithoutFeedsAreCollectedElsewhere(t *testing.T) {
	file := filepath.Join(t.TempDir(), "studio.yaml")
	text := "studio: harbour-row\nbays: [{name: north}, {name: south, feeds: [{name: alder, map: alder.yaml, tail: shots.csv}]}]\n"
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	c, err := Load(file)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, child := range c.Children("fairlead") {
		names = append(names, child.Name)
	}
	if got := strings.Join(names, " "); got != "engine broker process console collect-south watch" {
		t.Errorf("this machine runs %s", got)
	}
	if got := c.Credentials(); !slices.ContainsFunc(got, func(g stream.Grant) bool { return g.Bay == "north" }) || len(got) != 5 {
		t.Error("a bay elsewhere needs its key all the same")
	}
}
