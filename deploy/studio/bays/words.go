package bays

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/dustin/go-humanize"
	"github.com/goccy/go-yaml"

	"fairlead/deploy/studio"
	"fairlead/ingest/bay/desk"
)

// ReadFile reads a configuration of a bay from a file, and the maps that it names
// from beside it.
func ReadFile(bay, file string) (g desk.Given, err error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return g, fmt.Errorf("configuration of the bay: %w", err)
	}
	var named struct {
		Feeds []struct {
			Map string `yaml:"map"`
		} `yaml:"feeds"`
	}
	if err := yaml.Unmarshal(text, &named); err != nil {
		return g, fmt.Errorf("%s: %s", file, yaml.FormatError(err, false, true))
	}
	g = desk.Given{Text: string(text), Maps: map[string]string{}}
	for i, f := range named.Feeds {
		if f.Map == "" {
			continue // said when it is read as a whole
		}
		if f.Map != filepath.Base(f.Map) {
			return g, fmt.Errorf("%s: feeds[%d].map: %q: maps stand beside this file and go by their plain names", file, i, f.Map)
		}
		m, err := os.ReadFile(filepath.Join(filepath.Dir(file), f.Map))
		if err != nil {
			return g, fmt.Errorf("%s: feeds[%d].map: %w", file, i, err)
		}
		g.Maps[f.Map] = string(m)
	}
	if _, err := studio.ParseGiven(bay, g); err != nil {
		return g, fmt.Errorf("%s: %w", file, err)
	}
	return g, nil
}

// Back keeps an earlier version again, as the next one. 0 is the one before the latest.
func (k Kept) Back(bay string, to int, by string) (was, v Version, err error) {
	if was, err = k.Version(bay, 0); err != nil {
		return was, v, err
	}
	if to == 0 {
		to = was.Version - 1
	}
	if to < 1 || to >= was.Version {
		return was, v, fmt.Errorf("bay %s has version %d and no version %d before it", bay, was.Version, to)
	}
	old, err := k.Version(bay, to)
	if err != nil {
		return was, v, err
	}
	v, err = k.Put(bay, old.Given, was.Version, by, fmt.Sprintf("back to version %d", to))
	return was, v, err
}

// Changes says in words what differs between two configurations.
func Changes(was, is desk.Given) (out []string) {
	a, _ := studio.ParseGiven("bay", was)
	b, _ := studio.ParseGiven("bay", is)
	if a == nil || b == nil {
		return nil
	}
	out = append(out, studio.FeedChanges(a.Feeds, b.Feeds)...)
	if a.Devices != b.Devices {
		out = append(out, fmt.Sprintf("devices: %q, was %q", b.Devices, a.Devices))
	}
	names := map[string]bool{}
	for n := range was.Maps {
		names[n] = true
	}
	for n := range is.Maps {
		names[n] = true
	}
	var maps []string
	for n := range names {
		before, had := was.Maps[n]
		after, has := is.Maps[n]
		switch {
		case !had:
			maps = append(maps, "map "+n+": new")
		case !has:
			maps = append(maps, "map "+n+": gone")
		case before != after:
			maps = append(maps, "map "+n+": changed")
		}
	}
	slices.Sort(maps)
	return append(out, maps...)
}

// WriteText says what is to be typed on the bay's PC.
func (l Line) WriteText(w io.Writer) error {
	if _, err := fmt.Fprintf(w, "on the PC of bay %s, as its administrator:\n\n    %s\n\nuntil %s; the code is shown this once and can be "+
		"used once\n", l.Bay, l.Text, l.Until.Local().Format("2006-01-02 15:04")); err != nil {
		return err
	}
	if l.Clear {
		_, err := fmt.Fprintln(w, "tls.by is clear: the code goes over the network as it is, so whoever listens there could use it first")
		return err
	}
	return nil
}

// WriteText shows a version and its maps.
func (v Version) WriteText(w io.Writer) error {
	if v.Version == 0 {
		_, err := fmt.Fprintln(w, "no configuration is kept of this bay: `fairlead bay config put` keeps the first")
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "# version %d, kept %s by %s%s\n%s", v.Version, v.At.Local().Format("2006-01-02 15:04"), v.By, because(v.Why), v.Text)
	names := []string{}
	for n := range v.Maps {
		names = append(names, n)
	}
	slices.Sort(names)
	for _, n := range names {
		fmt.Fprintf(&b, "\n# map %s\n%s", n, v.Maps[n])
	}
	_, err := io.WriteString(w, strings.TrimRight(b.String(), "\n")+"\n")
	return err
}

func because(why string) string {
	if why == "" {
		return ""
	}
	return ": " + why
}

// WriteVersions lists versions.
func WriteVersions(w io.Writer, list []Version) error {
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for i, v := range list {
		what := "the first"
		if i+1 < len(list) {
			what = strings.Join(Changes(list[i+1].Given, v.Given), "; ")
		}
		fmt.Fprintf(t, "%d\t%s\t%s\t%s\t%s\n", v.Version, v.At.Local().Format("2006-01-02 15:04"), v.By, v.Why, what)
	}
	if len(list) == 0 {
		fmt.Fprintln(t, "no configuration is kept of this bay")
	}
	return t.Flush()
}

// Listed is a bay as the hub's list has it.
type Listed struct {
	Bay     string     `json:"bay"`
	Code    Invitation `json:"code"`
	Version int        `json:"version"` // the latest that is kept
	Told    Told       `json:"told"`
}

// List lists the bays that the hub keeps something of.
func (k Kept) List() (out []Listed, err error) {
	for _, bay := range k.Bays() {
		l := Listed{Bay: bay}
		if l.Code, err = k.Invitation(bay); err != nil {
			return nil, err
		}
		l.Code.Sum = ""
		v, err := k.Version(bay, 0)
		if err != nil {
			return nil, err
		}
		l.Version = v.Version
		l.Told, _ = k.Told(bay) // what can't be read is told again
		out = append(out, l)
	}
	return out, nil
}

// Enrolled says in words how far a bay's enrolment is.
func (l Listed) Enrolled(now time.Time) string {
	switch i := l.Code; {
	case i.Key != "":
		return "enrolled " + i.Used.Local().Format("2 Jan 2006 15:04") + " on " + i.Machine
	case i.Until.IsZero():
		return "never enrolled by a code"
	case now.After(i.Until):
		return "its code was not used and is over"
	default:
		return "its code waits until " + i.Until.Local().Format("15:04")
	}
}

// Goes says in words which configuration a bay goes by.
func (l Listed) Goes(now time.Time) string {
	t := l.Told
	switch {
	case l.Version == 0:
		return "no configuration is kept here"
	case t.Refused == l.Version:
		return fmt.Sprintf("goes by version %d, not by %d: %s", t.Given.Version, l.Version, t.Why)
	case t.Given.Version == l.Version:
		return fmt.Sprintf("goes by version %d", l.Version)
	case t.Away != "":
		return fmt.Sprintf("version %d waits: %s", l.Version, t.Away)
	case t.At.IsZero():
		return fmt.Sprintf("version %d waits for the bay", l.Version)
	}
	return fmt.Sprintf("version %d is on its way, %d was in force %s", l.Version, t.Given.Version,
		humanize.RelTime(t.At, now, "ago", "from now"))
}

// WriteList lists bays.
func WriteList(w io.Writer, list []Listed, now time.Time) error {
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, l := range list {
		fmt.Fprintf(t, "%s\t%s\t%s\n", l.Bay, l.Enrolled(now), l.Goes(now))
	}
	if len(list) == 0 {
		fmt.Fprintln(t, "no bay was added here: `fairlead bay add NAME` adds one")
	}
	return t.Flush()
}
