package studio

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// A bay's PC is asked for what a bay's PC needs, a hub for what a hub needs.
func TestTheDoctorKnowsWhereItIs(t *testing.T) {
	for want, text := range map[Place]string{
		Hub: "studio: harbour-row\nbays: [{name: north, feeds: [{name: f, map: m.yaml, tail: t}]}]\n",
		BayPC: "studio: harbour-row\nbroker: {url: 'nats://127.0.0.1:1', keys: keys}\nbays: [{name: north, feeds: [{name: f, map: m.yaml, " +
			"tail: t}]}]\n",
	} {
		file := filepath.Join(t.TempDir(), "studio.yaml")
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		c, err := Load(file)
		if err != nil {
			t.Fatal(err)
		}
		if got := c.PlaceHere(); got != want {
			t.Errorf("%s is taken for %s", want, got)
		}
	}
	file := filepath.Join(t.TempDir(), "studio.yaml")
	text := "studio: harbour-row\nbroker: {url: 'nats://10.0.0.1:4222'}\nstore: {dsn: 'clickhouse://a@b/c'}\nbays: [{name: north}]\n"
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if c, err := Load(file); err != nil || c.PlaceHere() != Hub {
		t.Errorf("a hub with broker and store of its own is taken for a bay: %v", err)
	}
}

func TestTheDoctorOnABayWantsItsKeyAndNoEngine(t *testing.T) {
	c, err := parse([]byte("studio: harbour-row\nbroker: {url: 'nats://127.0.0.1:1', keys: keys}\nbays: [{name: north, feeds: [{name: f, "+
		"map: m.yaml, tail: t}]}]\n"), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	findings := c.Doctor(t.Context(), c.PlaceHere())
	for _, f := range findings {
		for _, foreign := range []string{"engine", "store", "console", "backup"} {
			if strings.HasPrefix(f.Check, foreign) {
				t.Errorf("asked on a bay's PC: %+v", f)
			}
		}
	}
	if !slices.ContainsFunc(findings, func(f Finding) bool {
		return f.Check == "key north" && f.State == Bad && strings.Contains(f.Try, "bay-north.seed")
	}) {
		t.Errorf("a key that is not there: %+v", findings)
	}
}
