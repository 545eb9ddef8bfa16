package studio

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"os/signal"
	"reflect"
	"slices"
	"strings"
	"syscall"
	"time"
)

// fixed are keys that only a start of its own takes up: all that is kept hangs on them.
var fixed = []string{"studio", "data"}

// readers are the processes that go by a key of the configuration; none named: all.
var readers = map[string][]string{
	"units": {"console"}, "console": {"console", "watch"}, "notify": {"watch", "console"}, "backup": {"backup", "watch"},
	"store":   {"engine", "process", "console", "watch", "backup"},
	"journal": {"process", "console"}, // and collectors, by their own word
}

// Changes says in words what differs between two configurations.
func Changes(was, is *Config) (out []string) {
	a, b := *was, *is
	a.Bays, b.Bays = nil, nil
	out = fields(reflect.ValueOf(a), reflect.ValueOf(b), "")
	for _, n := range is.Bays {
		o, err := was.Bay(n.Name)
		if err != nil {
			out = append(out, "bay "+n.Name+": new")
			continue
		}
		for _, line := range FeedChanges(o.Feeds, n.Feeds) {
			out = append(out, "bay "+n.Name+", "+line)
		}
		own, other := *o, n
		own.Feeds, other.Feeds = nil, nil
		for _, line := range fields(reflect.ValueOf(own), reflect.ValueOf(other), "") {
			out = append(out, "bay "+n.Name+": "+line)
		}
	}
	for _, o := range was.Bays {
		if _, err := is.Bay(o.Name); err != nil {
			out = append(out, "bay "+o.Name+": gone")
		}
	}
	return out
}

// renewed are the processes that have to begin anew for what changed.
func (c *Config) renewed(is *Config, children []Child) (out []string, err error) {
	was, now := reflect.ValueOf(*c), reflect.ValueOf(*is)
	add := func(names ...string) { out = append(out, names...) }
	for i := range was.NumField() {
		f := was.Type().Field(i)
		key := f.Tag.Get("yaml")
		if !f.IsExported() || key == "bays" || reflect.DeepEqual(was.Field(i).Interface(), now.Field(i).Interface()) {
			continue
		}
		if slices.Contains(fixed, key) {
			return nil, fmt.Errorf("%s changed, which only a new start takes up: stop `fairlead up`, and start it again", key)
		}
		if names := readers[key]; names != nil {
			add(names...)
			if key != "journal" {
				continue
			}
		}
		for _, child := range children {
			if readers[key] == nil || strings.HasPrefix(child.Name, "collect-") {
				add(child.Name)
			}
		}
	}
	if !slices.Equal(c.BayNames(), is.BayNames()) {
		add("process", "console", "watch") // each of them expects the bays
	}
	for _, b := range is.Bays {
		if o, err := c.Bay(b.Name); err == nil && !reflect.DeepEqual(*o, b) {
			add("collect-" + b.Name)
		}
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}

// lookedEvery is how often the hub looks whether a bay was added.
const lookedEvery = time.Second

// Reload reads the configuration anew at SIGHUP, and when a bay was added, until
// ctx ends. It says what changed and who begins anew for it; a configuration that
// can't be used changes nothing.
func (c *Config) Reload(ctx context.Context, log *slog.Logger, take func(is *Config, renew []string)) {
	asked := make(chan os.Signal, 1)
	signal.Notify(asked, syscall.SIGHUP)
	defer signal.Stop(asked)
	tick := time.NewTicker(lookedEvery)
	defer tick.Stop()
	was, seen := c, c.invitedNames()
	for {
		told := true
		select {
		case <-ctx.Done():
			return
		case <-asked:
		case <-tick.C:
			now := was.invitedNames()
			if slices.Equal(now, seen) {
				continue
			}
			seen, told = now, false
		}
		is, err := Load(was.file)
		var renew []string
		if err == nil {
			err = is.RefuseClear()
		}
		if err == nil {
			renew, err = was.renewed(is, was.Children(""))
		}
		changes := []string{}
		if err == nil {
			changes = Changes(was, is)
		}
		switch {
		case err != nil:
			log.Error("the configuration was read again and is not taken up; all goes on as before", "error", err)
			continue
		case len(changes) == 0:
			if told {
				log.Info("the configuration was read again: nothing changed")
			}
			continue
		}
		for _, line := range changes {
			log.Info("the configuration changed", "what", line)
		}
		log.Info("the configuration is taken up", "begins anew", strings.Join(renew, ", "))
		take(is, renew)
		was = is
	}
}

// invitedNames are the bays that were added to the configuration's.
func (c *Config) invitedNames() (out []string) {
	dirs, _ := os.ReadDir(c.InvitedDir())
	for _, d := range dirs {
		if d.IsDir() {
			out = append(out, d.Name())
		}
	}
	return out
}

// Live is the feeds of a bay whose collector runs.
type Live struct {
	begun chan struct{}
	bench *feedBench
}

// ReloadFeeds reads the configuration anew at SIGHUP until ctx ends, and takes up
// the feeds that changed; what else did waits for a new start, and is said.
func (c *Config) ReloadFeeds(ctx context.Context, lives []*Live, log *slog.Logger) {
	for _, l := range lives {
		select {
		case <-l.begun:
		case <-ctx.Done():
			return
		}
	}
	c.Reload(ctx, log, func(is *Config, _ []string) {
		for _, l := range lives {
			l.bench.reload(is)
		}
		was, now := *c, *is
		was.Bays, now.Bays = nil, nil
		if rest := fields(reflect.ValueOf(was), reflect.ValueOf(now), ""); len(rest) > 0 {
			log.Warn("this takes effect when the collector is started again; it loses nothing by that", "what", strings.Join(rest, ", "))
		}
	})
}

// reload takes up the feeds of the bay's own configuration.
func (b *feedBench) reload(is *Config) {
	b.mu.Lock()
	defer b.mu.Unlock()
	n, err := is.Bay(b.b.Name)
	if err != nil {
		b.log.Warn("the bay is no part of the configuration any more; it is collected for until this ends")
		return
	}
	own := b.own()
	now := slices.DeleteFunc(slices.Clone(n.Feeds), func(f Feed) bool { return b.gave(f.Name) })
	var put []Feed
	for _, f := range now {
		if !slices.ContainsFunc(own.Feeds, func(o Feed) bool { return reflect.DeepEqual(o, f) }) {
			put = append(put, f)
		}
	}
	for _, o := range own.Feeds {
		if !slices.ContainsFunc(now, func(f Feed) bool { return f.Name == o.Name }) {
			b.runs.Drop(o.Name)
		}
	}
	b.c, b.b.Feeds, b.b.Devices, b.b.Allow = is, slices.Concat(now, b.b.given), n.Devices, n.Allow
	whole := b.b
	for _, f := range put {
		b.runs.Put(is.feed(&whole, f, b.log))
	}
}
