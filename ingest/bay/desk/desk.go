// Package desk is how a bay's devices are set up from the hub: the console asks
// the bay's collector which feeds it has, what lies in the folders that the bay
// has opened for that, and gives it the field map of a feed, old or new.
//
// Requests and answers are JSON, on the bay's own subject, which the studio's
// console alone may send to. A bay shows no file but those of its feeds and of
// the folder that its configuration names.
package desk

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"time"

	"github.com/nats-io/nats.go"

	"fairlead/ingest/bay/sample"
	"fairlead/ingest/log/stream"
)

// Bench is a bay's side: what it has, and how it is changed. Its methods may be
// called from several goroutines.
type Bench interface {
	// Feeds lists the bay's feeds and the folders in which devices may be found.
	Feeds() ([]Feed, []Folder, error)
	// Look returns the latest files of a feed, or of a folder that Feeds listed.
	Look(feed, folder string) ([]sample.File, error)
	// Work puts a map to work: of a feed that is there, or of a new one.
	Work(w Work) (version string, err error)
	// Take puts to work what the hub keeps of the bay's configuration, and says
	// what the bay goes by then.
	Take(g Given) (Held, error)
}

// Feed is one feed as it runs.
type Feed struct {
	Name    string `json:"name"`
	Kind    string `json:"kind"`  // as its key in the configuration
	Place   string `json:"place"` // a path or an address
	Map     string `json:"map"`   // its text
	Version string `json:"version"`
	Device  string `json:"device"`
	Shared  bool   `json:"shared,omitempty"` // other feeds are read with the same map
}

// Folder is one in which devices may be found, by its path below the folder that
// the bay has opened; "." is that itself.
type Folder struct {
	Path   string    `json:"path"`
	Files  int       `json:"files"`
	Newest string    `json:"newest"` // name of the file written last
	At     time.Time `json:"at"`     // when that was
}

// Work is a map that is to read a feed from now on.
type Work struct {
	Feed string `json:"feed"`
	Map  string `json:"map"`
	// Was is the version of the map that it replaces; empty for a new feed, which
	// needs Folder: where its files appear.
	Was    string `json:"was,omitempty"`
	Folder string `json:"folder,omitempty"`
	// Grows says that the newest file grows by a line a shot; else each is read
	// when it is finished.
	Grows   bool   `json:"grows,omitempty"`
	Pattern string `json:"pattern,omitempty"` // of the files' names; all when empty
}

// Given is a bay's configuration as the hub keeps it.
type Given struct {
	Version int               `json:"version"`        // counts up from 1; 0: there is none
	Text    string            `json:"text"`           // YAML of the bay: feeds and devices
	Maps    map[string]string `json:"maps,omitempty"` // texts of the field maps, by the name that Text gives them
}

// Same says whether two say the same, whatever their numbers.
func (g Given) Same(o Given) bool { return g.Text == o.Text && maps.Equal(g.Maps, o.Maps) }

// Held is what a bay goes by.
type Held struct {
	Given Given `json:"given"`
	// Refused is the version that it does not use, or went back from; 0: none. Why
	// says it in words.
	Refused int    `json:"refused,omitempty"`
	Why     string `json:"why,omitempty"`
	// Trial names feeds that have yet to give a shot since the version was taken up.
	Trial []string `json:"trial,omitempty"`
}

type request struct {
	Look   bool   `json:"look,omitempty"`
	Feed   string `json:"feed,omitempty"`
	Folder string `json:"folder,omitempty"`
	Work   *Work  `json:"work,omitempty"`
	Take   *Given `json:"take,omitempty"`
}

type answer struct {
	Feeds   []Feed        `json:"feeds,omitempty"`
	Folders []Folder      `json:"folders,omitempty"`
	Files   []sample.File `json:"files,omitempty"`
	Version string        `json:"version,omitempty"`
	Held    *Held         `json:"held,omitempty"`
	Error   string        `json:"error,omitempty"`
}

// Serve answers for a bay until the subscription ends.
func Serve(nc *nats.Conn, place stream.Place, b Bench) (*nats.Subscription, error) {
	return nc.Subscribe(place.DeskSubject(), func(m *nats.Msg) {
		if !stream.AnswerTo(m.Reply, place) {
			return
		}
		var r request
		var a answer
		err := json.Unmarshal(m.Data, &r)
		switch {
		case err != nil:
		case r.Work != nil:
			a.Version, err = b.Work(*r.Work)
		case r.Take != nil:
			var h Held
			if h, err = b.Take(*r.Take); err == nil {
				a.Held = &h
			}
		case r.Look:
			a.Files, err = b.Look(r.Feed, r.Folder)
		default:
			a.Feeds, a.Folders, err = b.Feeds()
		}
		if err != nil {
			a = answer{Error: err.Error()}
		}
		if data, err := json.Marshal(a); err == nil {
			m.Respond(data)
		}
	})
}

// Client asks bays.
type Client struct {
	Conn   *nats.Conn
	Studio string
}

// ErrAway says that no collector of the bay answers.
var ErrAway = errors.New("the bay's collector does not answer: look whether its PC is on and `fairlead collect` runs there")

// Refused is why a bay did not do what it was asked.
type Refused struct{ Why string }

func (r *Refused) Error() string { return r.Why }

func (c Client) ask(ctx context.Context, bay string, r request) (a answer, err error) {
	data, err := json.Marshal(r)
	if err != nil {
		return a, err
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	m, err := c.Conn.RequestWithContext(ctx, stream.Place{Studio: c.Studio, Bay: bay}.DeskSubject(), data)
	if err != nil {
		return a, fmt.Errorf("%w (%w)", ErrAway, err)
	}
	if err := json.Unmarshal(m.Data, &a); err != nil {
		return a, fmt.Errorf("the bay's answer can't be read: %w", err)
	}
	if a.Error != "" {
		return a, &Refused{a.Error}
	}
	return a, nil
}

// Feeds is Bench.Feeds of a bay.
func (c Client) Feeds(ctx context.Context, bay string) ([]Feed, []Folder, error) {
	a, err := c.ask(ctx, bay, request{})
	return a.Feeds, a.Folders, err
}

// Look is Bench.Look of a bay.
func (c Client) Look(ctx context.Context, bay, feed, folder string) ([]sample.File, error) {
	a, err := c.ask(ctx, bay, request{Look: true, Feed: feed, Folder: folder})
	return a.Files, err
}

// Work is Bench.Work of a bay.
func (c Client) Work(ctx context.Context, bay string, w Work) (version string, err error) {
	a, err := c.ask(ctx, bay, request{Work: &w})
	return a.Version, err
}

// Take is Bench.Take of a bay.
func (c Client) Take(ctx context.Context, bay string, g Given) (Held, error) {
	a, err := c.ask(ctx, bay, request{Take: &g})
	if err != nil {
		return Held{}, err
	}
	if a.Held == nil {
		return Held{}, &Refused{"the bay's program is of before the hub kept configurations: bring it up to date"}
	}
	return *a.Held, nil
}
