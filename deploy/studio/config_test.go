package studio

import (
	"strings"
	"testing"
	"time"
)

const good = `
studio: harbour-row
journal: {retention: 120d, min_free: 1GiB}
bays:
  - name: north
    feeds:
      - {name: ball, map: maps/alder.yaml, tail: "shots-*.csv"}
  - name: south
    feeds:
      - {name: roll, map: maps/brook.yaml, http: "127.0.0.1:9201"}
`

func TestGoodConfiguration(t *testing.T) {
	c, err := parse([]byte(good), "/srv/studio")
	if err != nil {
		t.Fatal(err)
	}
	if got := time.Duration(c.Journal.Retention); got != 120*24*time.Hour {
		t.Errorf("retention %s", got)
	}
	if got := c.JournalDir("north"); got != "/srv/studio/var/journals/north" {
		t.Errorf("journal folder %s", got)
	}
	if c.BrokerURL() != "nats://127.0.0.1:4222" || c.Console.Listen == "" {
		t.Errorf("defaults: %+v", c)
	}
	if _, err := c.Bay("quay"); err == nil || !strings.Contains(err.Error(), "north, south") {
		t.Errorf("unknown bay: %v", err)
	}
}

func TestBadConfigurationsNameKeyValueAndHint(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"unknown key":   {"studio: a\nbrocker: {}\n", "brocker"},
		"studio name":   {"studio: Harbour Row\n", "studio: \"Harbour Row\": use 1 to 32"},
		"units":         {"studio: a\nunits: cubits\n", "units: \"cubits\": use metric or imperial"},
		"address":       {"studio: a\nconsole: {listen: nowhere}\n", "console.listen: \"nowhere\": write host:port"},
		"size":          {"studio: a\njournal: {min_free: lots}\n", "journal.min_free: \"lots\""},
		"retention":     {"studio: a\njournal: {retention: 10m}\n", "journal.retention"},
		"duration":      {"studio: a\njournal: {retention: soon}\n", "write 90d or 36h"},
		"two bays":      {"studio: a\nbays: [{name: x}, {name: x}]\n", "two bays have this name"},
		"no source":     {"studio: a\nbays: [{name: x, feeds: [{name: f, map: m.yaml}]}]\n", "exactly one of tail, folder, http and lines"},
		"two sources":   {"studio: a\nbays: [{name: x, feeds: [{name: f, map: m, tail: t, folder: d}]}]\n", "exactly one"},
		"links of what": {"studio: a\nbays: [{name: x, feeds: [{name: f, map: m, http: 'localhost:1', links: true}]}]\n", "feeds[0].links"},
		"no map":        {"studio: a\nbays: [{name: x, feeds: [{name: f, tail: t}]}]\n", "feeds[0].map"},
		"not YAML":      {"studio: [", ""},
		"wrong type":    {"studio: a\nbays: 3\n", "bays"},
		"provider":      {"studio: a\nconsole: {provider: {issuer: 'https://x', client: c, claim: n}}\n", "console.provider.claim: \"n\""},
		"log of visits": {"studio: a\nbroker: {visits: 1MiB}\n", "broker.visits: \"1MiB\": write a size from 64MiB"},
		"engine memory": {"studio: a\nstore: {memory: 1MiB}\n", "store.memory"},
	} {
		if _, err := parse([]byte(c.text), "/"); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error does not say %q:\n%v", name, c.want, err)
		}
	}
}
