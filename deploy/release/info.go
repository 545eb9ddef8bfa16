// Package release says what a built program is: its version, the commit it was
// made of, and the formats that it writes and reads.
package release

import (
	"fmt"
	"io"
	"runtime"
	"runtime/debug"

	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
)

// Info is what a program says of itself.
type Info struct {
	Version  string `json:"version"` // of the release; of a build between releases with time and commit
	Commit   string `json:"commit"`
	Date     string `json:"date"`     // of the commit, RFC 3339
	Changed  bool   `json:"changed"`  // built with changes that no commit holds
	Go       string `json:"go"`       // version of the compiler
	System   string `json:"system"`   // such as linux/amd64
	Contract int    `json:"contract"` // of messages and journals: a later one is refused
	Schema   int    `json:"schema"`   // of the store: its newest migration
}

// Of reads what the linker wrote into this program.
func Of() Info {
	i := Info{Version: "unknown", Go: runtime.Version(), System: runtime.GOOS + "/" + runtime.GOARCH, Contract: event.Contract}
	if all, err := store.Migrations(); err == nil && len(all) > 0 {
		i.Schema = all[len(all)-1].Number
	}
	built, ok := debug.ReadBuildInfo()
	if !ok {
		return i
	}
	if v := built.Main.Version; v != "" && v != "(devel)" {
		i.Version = v
	}
	for _, s := range built.Settings {
		switch s.Key {
		case "vcs.revision":
			i.Commit = s.Value
		case "vcs.time":
			i.Date = s.Value
		case "vcs.modified":
			i.Changed = s.Value == "true"
		}
	}
	return i
}

// Short is the version for logs and metrics: twelve digits of the commit.
func (i Info) Short() string {
	if len(i.Commit) >= 12 {
		return i.Commit[:12]
	}
	return "development"
}

// String is the version in one line.
func (i Info) String() string {
	changed := ""
	if i.Changed {
		changed = ", with changes"
	}
	return fmt.Sprintf("%s (%s%s, %s)", i.Version, i.Short(), changed, i.System)
}

// Print writes all of it, a line each.
func (i Info) Print(w io.Writer) error {
	_, err := fmt.Fprintf(w, "version   %s\ncommit    %s\ndate      %s\nbuilt by  %s for %s\ncontract  %d: of messages and journals; later "+
		"ones are refused\nschema    %d: the store's newest migration\n",
		i.Version, i.Short(), i.Date, i.Go, i.System, i.Contract, i.Schema)
	if err == nil && i.Changed {
		_, err = fmt.Fprintln(w, "built with changes that no commit holds")
	}
	return err
}
