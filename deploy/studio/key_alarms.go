package studio

import (
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/health"
	"fairlead/processors/hub/watch"
)

// saysAnew is how long after its old secret ended a bay that has the new one has
// surely said something.
const saysAnew = 15 * time.Second

// cutWithin is how long after the end of a secret the broker has surely cut off who
// goes by it: until then it is heard.
const cutWithin = 10 * time.Second

// keyAlarms name the bays that the broker refuses. Where somebody took a key away, or
// its time is over, the bay's PC and its network are not to be looked at.
func (c *Config) keyAlarms(bays *health.Bays, now time.Time) (out []watch.Alarm) {
	if c.Broker.URL != "" {
		return nil // its keys lie elsewhere
	}
	heard := map[string]time.Time{}
	for _, b := range bays.All() {
		if b.Place.Studio == c.Studio {
			heard[b.Place.Bay] = b.Seen
		}
	}
	keyring := c.Keyring()
	for _, b := range c.Bays {
		name := stream.BayCredential(b.Name)
		add := func(what, text string, args ...any) {
			out = append(out, watch.Alarm{Where: watch.OfBay(b.Name), What: what, Severity: watch.Critical, Text: fmt.Sprintf(text, args...)})
		}
		if !isThere(keyring.GrantFile(name)) {
			if !c.invited(b.Name) {
				add(watch.Revoked, "its key was taken back, so the broker refuses it: `fairlead keys rotate %s` makes another, which is brought "+
					"to its PC; or take the bay out of the configuration. What is hit there stays in its journal", name)
			}
			continue
		}
		since := c.changed(name, now)
		last, quiet := heard[b.Name], since
		if last.After(since) {
			quiet = last
		}
		if !since.IsZero() && !last.IsZero() && last.Before(since.Add(cutWithin)) &&
			(now.Sub(quiet) > saysAnew || now.Sub(last) > health.SilentAfter) {
			add(watch.Expired, "its key has a new secret, the old one is not taken since %s, and its PC has not come with the new one: bring "+
				"%s.seed from the hub's keys there and start the collector anew. What is hit there stays in its journal",
				since.Local().Format("2 Jan 15:04"), name)
		}
	}
	return out
}

// changed is since when none but the newest secret of a key is taken; zero: an older one is.
func (c *Config) changed(name string, now time.Time) time.Time {
	keyring := c.Keyring()
	until, followed := keyring.OldUntil(name)
	switch info, err := os.Stat(keyring.GrantFile(name)); {
	case followed && now.Before(until) || err != nil:
		return time.Time{}
	case followed && until.After(info.ModTime()):
		return until
	default:
		return info.ModTime()
	}
}

// GiveBack makes a new key of a name whose key was revoked; false: it was not.
func (c *Config) GiveBack(name string) (bool, error) {
	keyring := c.Keyring()
	i := slices.IndexFunc(c.Credentials(), func(g stream.Grant) bool { return g.Name == name })
	if i < 0 || isThere(keyring.GrantFile(name)) {
		return false, nil
	}
	if err := os.Remove(keyring.SeedFile(name)); err != nil && !errors.Is(err, os.ErrNotExist) {
		return false, fmt.Errorf("key %s: %w", name, err)
	}
	if err := keyring.Ensure(c.Credentials()[i]); err != nil {
		return false, err
	}
	return true, c.carryAuthority(slog.New(slog.DiscardHandler))
}

// invited says that a bay's PC is yet to come with a key of its own.
func (c *Config) invited(bay string) bool {
	text, err := os.ReadFile(filepath.Join(c.InvitedDir(), bay, "invitation.json"))
	var i struct{ Key string }
	return err == nil && json.Unmarshal(text, &i) == nil && i.Key == ""
}

// oldKeys shows by which old keys somebody still goes.
type oldKeys struct {
	all  []stream.Grant
	list func() []stream.OldKey
}

var spentKey = prometheus.NewDesc("fairlead_broker_old_key_spent_percent",
	"Of a key whose old secret somebody still goes by: how much of the time in which both are taken is over; 0: nobody does.",
	[]string{"key"}, nil)

// Describe implements prometheus.Collector.
func (o oldKeys) Describe(to chan<- *prometheus.Desc) { to <- spentKey }

// Collect implements prometheus.Collector.
func (o oldKeys) Collect(to chan<- prometheus.Metric) {
	now, spent := time.Now(), map[string]float64{}
	for _, g := range o.all {
		spent[g.Name] = 0
	}
	for _, k := range o.list() {
		spent[k.Name] = 100 * k.Spent(now)
	}
	for name, x := range spent {
		to <- prometheus.MustNewConstMetric(spentKey, prometheus.GaugeValue, x, name)
	}
}
