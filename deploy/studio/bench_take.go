package studio

import (
	"fmt"
	"os"
	"reflect"
	"slices"

	"fairlead/ingest/bay/desk"
)

// begin takes up where the last run of the collector stood.
func (b *feedBench) begin() {
	h, err := b.c.readHeld(b.b.Name)
	if err != nil {
		b.log.Error("what the hub gave can't be read; it gives it anew", "error", err)
	}
	b.held = h
	for _, name := range h.Trial {
		if i := slices.IndexFunc(b.b.given, func(f Feed) bool { return f.Name == name }); i >= 0 {
			b.runs.Put(b.c.tried(&b.b, b.b.given[i], b))
		}
	}
}

// Take implements desk.Bench. A version that can't be used changes nothing, and
// the answer says why; of one that can, only feeds that it changes begin anew.
func (b *feedBench) Take(g desk.Given) (desk.Held, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch {
	case g.Version == b.held.Given.Version || g.Version == b.held.Refused:
		return b.held.Held, nil
	case g.Same(b.held.Given): // the hub took over what was changed here
		h := b.held
		h.Given.Version = g.Version
		return b.keep(h)
	}
	own := b.own()
	given, err := b.c.readGiven(&own, g)
	if err == nil {
		err = b.c.keepMaps(b.b.Name, g)
	}
	if err != nil {
		b.log.Error("the configuration that the hub gave is not used; it goes on as before", "version", g.Version, "error", err)
		h := b.held
		h.Refused, h.Why = g.Version, err.Error()
		return b.keep(h)
	}
	h := held{Held: desk.Held{Given: g}, Before: b.held.Given}
	changed := b.change(given)
	for _, f := range changed {
		if slices.ContainsFunc(b.b.given, func(o Feed) bool { return o.Name == f.Name }) {
			h.Trial = append(h.Trial, f.Name)
		}
	}
	if _, err := b.keep(h); err != nil {
		return desk.Held{}, err // nothing was put to work that would not be there after a restart
	}
	b.follow(given, changed, h.Trial, "")
	b.log.Info("the hub's configuration is in force", "version", g.Version, "was", h.Before.Version, "changed", names(changed))
	return b.held.Held, nil
}

// own is the bay without what the hub gave.
func (b *feedBench) own() Bay {
	own := b.b
	own.Feeds = slices.DeleteFunc(slices.Clone(b.b.Feeds), func(f Feed) bool { return b.gave(f.Name) })
	return own
}

// gave says whether a feed is the hub's.
func (b *feedBench) gave(name string) bool {
	return slices.ContainsFunc(b.b.given, func(f Feed) bool { return f.Name == name })
}

func (b *feedBench) keep(h held) (desk.Held, error) {
	if err := b.c.writeHeld(b.b.Name, h); err != nil {
		return desk.Held{}, fmt.Errorf("the bay can't keep what the hub gave: %w", err)
	}
	b.held = h
	return h.Held, nil
}

// change lists the feeds of a configuration that do not run so already.
func (b *feedBench) change(given *Bay) (out []Feed) {
	for _, f := range given.Feeds {
		if !slices.ContainsFunc(b.b.given, func(o Feed) bool { return reflect.DeepEqual(o, f) }) {
			out = append(out, f)
		}
	}
	return out
}

// follow puts a configuration to work: feeds that are not in it end, those that
// changed begin anew from where they were read to. note is what their states say.
func (b *feedBench) follow(given *Bay, changed []Feed, trial []string, note string) {
	own := b.own()
	for _, o := range b.b.given {
		if !slices.ContainsFunc(given.Feeds, func(f Feed) bool { return f.Name == o.Name }) {
			b.runs.Drop(o.Name)
		}
	}
	b.b.given, b.b.Feeds = given.Feeds, slices.Concat(own.Feeds, given.Feeds)
	if given.Devices != "" {
		b.b.Devices = given.Devices
	}
	whole := b.b
	for _, f := range changed {
		if slices.Contains(trial, f.Name) {
			b.runs.Put(b.c.tried(&whole, f, b))
			continue
		}
		run := b.c.feed(&whole, f, b.log)
		if s, ok := run.Source.(*lazySource); ok {
			s.note = note
		}
		b.runs.Put(run)
	}
}

// passed notes that a feed on trial gave a shot.
func (b *feedBench) passed(name string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	h := b.held
	h.Trial = slices.DeleteFunc(slices.Clone(h.Trial), func(n string) bool { return n == name })
	if len(h.Trial) == len(b.held.Trial) {
		return
	}
	if _, err := b.keep(h); err != nil {
		b.log.Warn("that the feed reads well could not be kept", "feed", name, "error", err)
	}
}

// back goes back to the configuration of before a version that stopped a feed.
func (b *feedBench) back(name, why string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !slices.Contains(b.held.Trial, name) {
		return // it went back already, or another version came
	}
	own := b.own()
	given, err := b.c.readGiven(&own, b.held.Before)
	if err != nil {
		b.log.Error("the configuration of before can't be read, so it stays", "error", err)
		return
	}
	version := b.held.Given.Version
	h := held{Held: desk.Held{Given: b.held.Before, Refused: version, Why: fmt.Sprintf(
		"feed %s stopped parsing with it (%s), so the bay went back to version %d; lines that were refused meanwhile are kept, `fairlead feed "+
			"reread` reads them", name, why, b.held.Before.Version)}}
	if _, err := b.keep(h); err != nil {
		b.log.Error("the bay can't go back to the configuration of before", "error", err)
		return
	}
	b.log.Error("the hub's configuration is taken back", "version", version, "in force", h.Given.Version, "why", h.Why)
	b.follow(given, b.change(given), nil, fmt.Sprintf("the hub's configuration %d was taken back: %s", version, why))
}

// replaceGiven gives a feed of the hub's another map; the hub takes it over as
// the next version when it asks.
func (b *feedBench) replaceGiven(w desk.Work) error {
	i := slices.IndexFunc(b.b.given, func(f Feed) bool { return f.Name == w.Feed })
	if mapVersion(b.c.Path(b.b.given[i].Map)) != w.Was {
		return fmt.Errorf("the feed's map was changed meanwhile: look at it again first")
	}
	file := ""
	text, err := os.ReadFile(b.c.Path(b.b.given[i].Map))
	if err != nil {
		return fmt.Errorf("the map that works now can't be read: %w", err)
	}
	g := desk.Given{Version: b.held.Given.Version, Text: b.held.Given.Text, Maps: map[string]string{}}
	for name, t := range b.held.Given.Maps {
		if g.Maps[name] = t; b.c.givenMap(b.b.Name, name, t) == b.b.given[i].Map && t == string(text) {
			file = name
		}
	}
	g.Maps[file] = w.Map
	own := b.own()
	given, err := b.c.readGiven(&own, g)
	if err == nil {
		err = b.c.keepMaps(b.b.Name, g)
	}
	if err != nil {
		return err
	}
	h := b.held
	h.Given = g
	if _, err := b.keep(h); err != nil {
		return err
	}
	b.follow(given, b.change(given), nil, "")
	b.log.Info("the feed's map was replaced from the console; the hub keeps it as its next version", "feed", w.Feed, "was", w.Was)
	return nil
}

func names(feeds []Feed) (out []string) {
	for _, f := range feeds {
		out = append(out, f.Name)
	}
	return out
}
