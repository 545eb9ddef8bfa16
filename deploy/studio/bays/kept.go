package bays

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairlead/deploy/studio"
	"fairlead/ingest/bay/desk"
	"fairlead/ingest/log/durable"
)

// Kept is what the hub keeps of its bays, a folder each.
type Kept struct {
	Dir string
	Now func() time.Time
}

// Version is one state of a bay's configuration. What was once kept does not
// change: to go back is a new version.
type Version struct {
	desk.Given
	At  time.Time `json:"at"`
	By  string    `json:"by"`  // who: an account, hub, or bay for what was changed there
	Why string    `json:"why"` // in a word or two
}

// Told is what a bay said last of what it goes by.
type Told struct {
	desk.Held
	At time.Time `json:"at"`
	// Away is why the bay could not be asked since; empty: it answers.
	Away string `json:"away,omitempty"`
}

// Of is what a studio's hub keeps.
func Of(c *studio.Config) Kept { return Kept{c.InvitedDir(), time.Now} }

func (k Kept) path(bay string, name string) string { return filepath.Join(k.Dir, bay, name) }

// Bays lists those that the hub keeps something of.
func (k Kept) Bays() (out []string) {
	dirs, _ := os.ReadDir(k.Dir)
	for _, d := range dirs {
		if d.IsDir() {
			out = append(out, d.Name())
		}
	}
	return out
}

func (k Kept) numbers(bay string) (out []int, err error) {
	files, err := os.ReadDir(filepath.Join(k.Dir, bay))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("configurations of bay %s: %w", bay, err)
	}
	for _, f := range files {
		number, ok := strings.CutSuffix(f.Name(), ".version")
		if n, err := strconv.Atoi(number); ok && err == nil {
			out = append(out, n)
		}
	}
	slices.Sort(out)
	return out, nil
}

// Version reads one; 0 is the latest. A bay that has none has version 0.
func (k Kept) Version(bay string, n int) (v Version, err error) {
	if n == 0 {
		numbers, err := k.numbers(bay)
		if err != nil || len(numbers) == 0 {
			return v, err
		}
		n = numbers[len(numbers)-1]
	}
	text, err := os.ReadFile(k.path(bay, versionFile(n)))
	if errors.Is(err, fs.ErrNotExist) {
		return v, fmt.Errorf("bay %s has no version %d: `fairlead bay config list %s` names them", bay, n, bay)
	}
	if err == nil {
		err = json.Unmarshal(text, &v)
	}
	if err != nil {
		return v, fmt.Errorf("version %d of bay %s: %w", n, bay, err)
	}
	return v, nil
}

func versionFile(n int) string { return fmt.Sprintf("%06d.version", n) }

// Versions lists all, the latest first.
func (k Kept) Versions(bay string) (out []Version, err error) {
	numbers, err := k.numbers(bay)
	if err != nil {
		return nil, err
	}
	for _, n := range slices.Backward(numbers) {
		v, err := k.Version(bay, n)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}

// Put keeps a configuration as the next version, once it was checked. was is the
// latest version that the writer had seen: two who change at once are told so.
func (k Kept) Put(bay string, g desk.Given, was int, by, why string) (Version, error) {
	if _, err := studio.ParseGiven(bay, g); err != nil {
		return Version{}, err
	}
	latest, err := k.Version(bay, 0)
	if err != nil {
		return Version{}, err
	}
	if latest.Version != was {
		return Version{}, fmt.Errorf("bay %s has version %d by now, kept by %s: look at it again first", bay, latest.Version, latest.By)
	}
	if latest.Version > 0 && latest.Same(g) {
		return latest, nil
	}
	v := Version{Given: g, At: k.Now().UTC().Truncate(time.Second), By: by, Why: why}
	v.Version = was + 1
	text, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return v, err
	}
	if err := os.MkdirAll(filepath.Join(k.Dir, bay), 0o700); err != nil {
		return v, fmt.Errorf("keep a configuration: %w", err)
	}
	// Written beside, then linked: of two writers of the same number one is refused.
	beside := k.path(bay, fmt.Sprintf(".%d-%d", os.Getpid(), v.At.UnixNano()))
	if err := durable.WriteFile(beside, append(text, '\n'), 0o600); err != nil {
		return v, fmt.Errorf("keep a configuration: %w", err)
	}
	defer os.Remove(beside)
	if err := os.Link(beside, k.path(bay, versionFile(v.Version))); err != nil {
		return v, fmt.Errorf("keep version %d of bay %s: %w: look at it again first", v.Version, bay, err)
	}
	return v, nil
}

// Told is what a bay said last.
func (k Kept) Told(bay string) (Told, error) { return durable.ReadJSON[Told](k.path(bay, "told.json")) }

// Note keeps what a bay said.
func (k Kept) Note(bay string, t Told) error { return durable.WriteJSON(k.path(bay, "told.json"), t) }
